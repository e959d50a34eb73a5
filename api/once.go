package api

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

	"ripeline/orders"
)

// Bounds of an idempotency key, in characters.
const (
	onceHeader = "Idempotency-Key"
	minOnceKey = 8
	maxOnceKey = 200
)

// once makes an operation happen once for each idempotency key, when the
// request carries one. The key stands for method, path and body together.
func (s *server) once(ctx huma.Context, next func(huma.Context)) {
	key := ctx.Header(onceHeader)
	if key == "" {
		next(ctx)
		return
	}
	if !fitsOnce(key) {
		s.stop(ctx, newProblem(ctx.Context(), http.StatusUnprocessableEntity, "Nothing was changed: the idempotency key can not be accepted.",
			Fault{"header." + onceHeader, fmt.Sprintf("must be %d to %d letters, digits and signs without blanks; a random UUID does well", minOnceKey, maxOnceKey)}))
		return
	}
	r, _ := humachi.Unwrap(ctx)
	hash, err := hashRequest(r)
	if err != nil {
		s.stop(ctx, unread(ctx.Context(), err))
		return
	}
	next(huma.WithContext(ctx, orders.WithOnce(ctx.Context(), key, hash)))
}

func fitsOnce(key string) bool {
	for _, c := range []byte(key) {
		if c <= ' ' || c > '~' {
			return false
		}
	}
	return len(key) >= minOnceKey && len(key) <= maxOnceKey
}

// hashRequest reads the request's body, puts it back, and returns the hash of
// method, path and body. Paths hold no line break, so the parts stay apart.
func hashRequest(r *http.Request) ([]byte, error) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return nil, err
	}
	r.Body = io.NopCloser(bytes.NewReader(body))
	h := sha256.New()
	_, _ = fmt.Fprintf(h, "%s\n%s\n", r.Method, r.URL.EscapedPath()) // a hash never fails to write
	_, _ = h.Write(body)
	return h.Sum(nil), nil
}

// unread says why a body could not be read to its end.
func unread(ctx context.Context, err error) *Problem {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return tooLarge(ctx)
	}
	return newProblem(ctx, http.StatusBadRequest, "The body did not arrive in full. Send the request again.")
}
