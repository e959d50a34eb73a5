package localpg

import (
	"log/slog"
	"testing"
)

func TestParseVersion(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]int{
		"postgres (PostgreSQL) 15.8 (Debian 15.8-0+deb12u1)\n": 15,
		"postgres (PostgreSQL) 18beta1\n":                      18,
		"postgres (PostgreSQL) 17":                             17,
		"soap":                                                 0,
		"":                                                     0,
	} {
		got, err := parseVersion(line)
		if got != want || (err != nil) != (want == 0) {
			t.Errorf("parseVersion(%q) = %d, %v, want %d", line, got, err, want)
		}
	}
}

func TestFindInstallationSuitsTheData(t *testing.T) {
	t.Parallel()
	inst := needPostgres(t)
	got, err := findInstallation(t.Context(), "", cluster{major: inst.major})
	if err != nil || got != inst {
		t.Errorf("findInstallation for version %d = %+v, %v", inst.major, got, err)
	}
}

func TestLineLogJoinsPiecesAndRemembersTheLast(t *testing.T) {
	t.Parallel()
	var out logBuffer
	l := &lineLog{log: out.logger()}
	for _, piece := range []string{"LOG:  a\nLO", "G:  b\n", "c\nd\ne\nFATAL:  f\nunfinished"} {
		if n, err := l.Write([]byte(piece)); n != len(piece) || err != nil {
			t.Fatalf("Write = %d, %v", n, err)
		}
	}
	if got, want := l.last(), "LOG:  b | c | d | e | FATAL:  f"; got != want {
		t.Errorf("last = %q, want %q", got, want)
	}
}

func TestSeverity(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]slog.Level{
		"LOG:  checkpoint starting":  slog.LevelDebug,
		"WARNING:  no disk":          slog.LevelWarn,
		"ERROR:  duplicate key":      slog.LevelWarn,
		"FATAL:  out of memory":      slog.LevelDebug,
		"PANIC:  out of memory":      slog.LevelError,
		"PANIC:  could not write":    slog.LevelError,
		"\tcontinued: FATAL":         slog.LevelDebug,
		"initdb: something happened": slog.LevelDebug,
	} {
		if got := severity(line); got != want {
			t.Errorf("severity(%q) = %v, want %v", line, got, want)
		}
	}
}
