package civil_test

import (
	"strings"
	"testing"
	"time"

	"ripeline/schedule/civil"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := civil.LoadZone(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func TestLoadZone(t *testing.T) {
	for _, name := range []string{"UTC", "Europe/Lisbon", "America/Argentina/Buenos_Aires", "Etc/GMT+3", "America/Port-au-Prince", "CET"} {
		loc, err := civil.LoadZone(name)
		if err != nil || loc.String() != name {
			t.Errorf("LoadZone(%q) = %v, %v", name, loc, err)
		}
	}
}

func TestLoadZoneRefuses(t *testing.T) {
	for _, name := range []string{
		"", "Local", "localtime", "posixrules", "Factory", "posix/Europe/Paris", "right/Europe/Paris", "Europe", "Europe/", "/Europe/Paris",
		"../zoneinfo/Europe/Paris", "Europe/../Europe/Paris", "Europe//Paris", `Europe\Paris`, "Europe/Atlantis", "tzdata.zi", "zone.tab",
		"+VERSION", "Europe/Paris\x00", "Europe/Paris\r\nX-EVIL:1", "Central European Time", strings.Repeat("Europe/", 5000),
	} {
		loc, err := civil.LoadZone(name)
		if err == nil {
			t.Errorf("LoadZone(%.30q) = %v, want an error", name, loc)
			continue
		}
		if msg := err.Error(); !strings.Contains(msg, "use a name like Europe/Lisbon") || len(msg) > 200 || strings.ContainsAny(msg, "\r\n\x00") {
			t.Errorf("LoadZone(%.30q): unhelpful error %.300q", name, msg)
		}
	}
}
