package app

import (
	"io"
	"log"
	"log/slog"
	"regexp"

	"ropewalk.example/internal/server"
)

// newLog returns a log of JSON lines in UTC, each with the name of the request
// that it is about. Names of people, what they typed, addresses of pages and of
// browsers do not go in.
func newLog(to io.Writer, level slog.Level) *slog.Logger {
	inUTC := func(_ []string, a slog.Attr) slog.Attr {
		if a.Key == slog.TimeKey && a.Value.Kind() == slog.KindTime {
			a.Value = slog.TimeValue(a.Value.Time().UTC())
		}
		return a
	}
	return slog.New(server.WithReference(slog.NewJSONHandler(to, &slog.HandlerOptions{Level: level, ReplaceAttr: inUTC})))
}

// connectionLog is where net/http tells of connections that went wrong, without
// whose they were.
func connectionLog(to *slog.Logger) *log.Logger {
	return log.New(anonymous{slog.NewLogLogger(to.Handler(), slog.LevelWarn).Writer()}, "", 0)
}

// anonymous leaves out the address of who was connected.
type anonymous struct{ io.Writer }

var peer = regexp.MustCompile(`(\[[0-9a-fA-F:.%\w]+\]|\b\d{1,3}(?:\.\d{1,3}){3}):\d+`)

// Write writes a line.
func (a anonymous) Write(line []byte) (int, error) {
	if _, err := a.Writer.Write(peer.ReplaceAll(line, []byte("a browser"))); err != nil {
		return 0, err
	}
	return len(line), nil
}
