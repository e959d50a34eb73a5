package civil

import (
	"fmt"
	"strings"
	"time"
	_ "time/tzdata" // the fallback where the system has no zone files; the system's own are read first
)

// LoadZone returns the time zone of an IANA name such as Europe/Lisbon, or UTC.
//
// It refuses what time.LoadLocation would take silently but a workshop can not
// mean: the empty name, "Local" (the server's zone is not the workshop's), and
// anything that looks like a path.
func LoadZone(name string) (*time.Location, error) {
	if !plausibleZone(name) {
		return nil, unknownZone(name)
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, unknownZone(name)
	}
	return loc, nil
}

func unknownZone(name string) error {
	const longest = 64
	if len(name) > longest {
		name = strings.ToValidUTF8(name[:longest], "") + "…"
	}
	return fmt.Errorf("unknown time zone %q; use a name like Europe/Lisbon", name)
}

// plausibleZone reports whether name is made of the characters IANA uses and
// is neither a path outside the database nor one of the files in it that hold
// something other than a civil zone.
func plausibleZone(name string) bool {
	if name == "" || name == "Local" || len(name) > 64 || strings.Contains(name, "//") {
		return false
	}
	for _, special := range []string{"posix/", "right/", "posixrules", "localtime", "Factory", "leapseconds"} {
		if strings.HasPrefix(name, special) {
			return false
		}
	}
	for _, r := range name {
		if !zoneRune(r) {
			return false
		}
	}
	return name[0] != '/' && name[len(name)-1] != '/'
}

func zoneRune(r rune) bool {
	return r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || strings.ContainsRune("/_+-", r)
}
