package localpg

import (
	"bytes"
	"context"
	"log/slog"
	"strings"
	"sync"
)

// keptLines is how many lines an error about a dead server quotes.
const keptLines = 5

// lineLog passes the server's log on line by line and remembers the last lines.
type lineLog struct {
	log     *slog.Logger
	mu      sync.Mutex
	partial []byte
	kept    []string
}

// Write takes a piece of the log, cut anywhere.
func (l *lineLog) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.partial = append(l.partial, p...)
	for {
		line, rest, found := bytes.Cut(l.partial, []byte("\n"))
		if !found {
			return len(p), nil
		}
		l.keep(string(line))
		l.partial = rest
	}
}

// keep logs one line and adds it to the last ones.
func (l *lineLog) keep(line string) {
	l.log.Log(context.Background(), severity(line), line, "from", "postgres")
	l.kept = append(l.kept, line)
	l.kept = l.kept[max(0, len(l.kept)-keptLines):]
}

// last returns the last lines, joined for use in an error.
func (l *lineLog) last() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Join(l.kept, " | ")
}

// severity maps the word a line starts with. The server's everyday remarks are
// of no interest to a maker, so they count as debugging; so does FATAL, the end
// of one connection, which whoever held that connection is told as well. (A
// server that can not start says FATAL too, and then Start's error quotes it.)
func severity(line string) slog.Level {
	word, _, _ := strings.Cut(line, ":")
	switch word {
	case "PANIC":
		return slog.LevelError
	case "ERROR", "WARNING":
		return slog.LevelWarn
	default:
		return slog.LevelDebug
	}
}
