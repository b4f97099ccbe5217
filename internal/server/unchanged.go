package server

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"time"
)

// No cache on the way keeps an answer, for most hold names of children. Whoever
// keeps one itself, such as a program that asks each hour, may name it in
// If-None-Match and is told in a few bytes that it is still so: RFC 9110,
// section 13.1.2.

// tagOf is the entity tag of a content, in quotes.
func tagOf(content []byte) string {
	sum := sha256.Sum256(content)
	return `"` + base64.RawURLEncoding.EncodeToString(sum[:15]) + `"`
}

// tagged gives short answers of a handler their entity tag.
func tagged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		held := heldAnswer{ResponseWriter: w, status: http.StatusOK}
		next.ServeHTTP(&held, r)
		if held.status != http.StatusOK {
			w.WriteHeader(held.status)
			_, _ = w.Write(held.body.Bytes()) // whoever asked may have left
			return
		}
		serveTagged(w, r, held.body.Bytes())
	})
}

// serveTagged sends a content, or that it is still so.
func serveTagged(w http.ResponseWriter, r *http.Request, content []byte) {
	w.Header().Set("ETag", tagOf(content))
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(content))
}

// A heldAnswer is an answer that is not sent yet.
type heldAnswer struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

func (h *heldAnswer) WriteHeader(status int)      { h.status = status }
func (h *heldAnswer) Write(b []byte) (int, error) { return h.body.Write(b) }
