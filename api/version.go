package api

import (
	"context"
	"net/http"
	"strconv"
	"strings"
)

// etag is a record's version as an entity tag.
func etag(version int) string { return `"` + strconv.Itoa(version) + `"` }

// seenVersion reads the If-Match header of a change: the version the caller
// saw, as ETag gave it. A weakened tag is accepted since proxies that compress
// weaken tags, and a version is exact either way.
func seenVersion(ctx context.Context, ifMatch string) (int, error) {
	const location = "header.If-Match"
	if ifMatch == "" {
		return 0, newProblem(ctx, http.StatusPreconditionRequired,
			"Nothing was changed: say which version you saw, so that nobody's change is lost.",
			Fault{location, `is missing; send the ETag of the record as you read it, such as "3"`})
	}
	tag := strings.TrimPrefix(strings.TrimSpace(ifMatch), "W/")
	bare, opened := strings.CutPrefix(tag, `"`)
	bare, closed := strings.CutSuffix(bare, `"`)
	version, err := strconv.Atoi(bare)
	if err != nil || !opened || !closed || version < 1 {
		return 0, newProblem(ctx, http.StatusUnprocessableEntity, "Nothing was changed: the version can not be read.",
			Fault{location, `must be one ETag as it was received, such as "3"`})
	}
	return version, nil
}
