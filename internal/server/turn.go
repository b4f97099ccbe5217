package server

import (
	"bytes"
	"io"
	"net/http"
	"strings"
	"time"

	"ropewalk.example/internal/problem"
)

// How many requests go to the database at once, and how long others wait for
// their turn. More at once would not be answered sooner: each goes there several
// times, so that with a thousand at once nobody gets through in time.
const (
	mostAtOnce  = 64
	waitForTurn = 8 * time.Second
)

// inTurn lets so many requests in at once; the others wait, and are told to come
// again where that takes long. What comes slowly is read before its turn, and
// what goes out slowly needs none: neither keeps others waiting.
func (s *Server) inTurn(next http.Handler) http.Handler {
	turns := make(chan struct{}, mostAtOnce)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if isSlow(r.URL.Path) {
			next.ServeHTTP(w, r)
			return
		}
		if unsafe(r.Method) && r.Body != nil {
			body, err := io.ReadAll(r.Body)
			r.Body = io.NopCloser(io.MultiReader(bytes.NewReader(body), cutShort{err}))
		}
		timer := time.NewTimer(waitForTurn)
		defer timer.Stop()
		select {
		case turns <- struct{}{}:
		case <-r.Context().Done():
			return
		case <-timer.C:
			s.answerError(w, r, problem.New(problem.Unavailable, "Many people are here at once. Wait a few seconds, then do it once more."))
			return
		}
		defer func() { <-turns }()
		next.ServeHTTP(w, r)
	})
}

// isSlow tells pages that stay open and files that may take long to send.
func isSlow(path string) bool {
	for _, end := range []string{"/live", "/progress", "/download", ".csv"} {
		if strings.HasSuffix(path, end) {
			return true
		}
	}
	return false
}

// cutShort is the end of a body: the error that it was cut off with, if any.
type cutShort struct{ err error }

// Read reads nothing.
func (b cutShort) Read([]byte) (int, error) {
	if b.err != nil {
		return 0, b.err
	}
	return 0, io.EOF
}
