package server

import (
	"net/http"
	"strconv"
	"strings"

	"ropewalk.example/web"
)

// static serves the files of package web. Their addresses change with their
// content, so browsers may keep them for ever.
func static() http.HandlerFunc {
	files := web.Files()
	return func(w http.ResponseWriter, r *http.Request) {
		file, ok := files[r.URL.Path]
		if !ok {
			http.Error(w, "There is no such file.", http.StatusNotFound)
			return
		}
		h := w.Header()
		h.Set("Content-Type", file.Type)
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
		h.Set("Vary", "Accept-Encoding")
		body := file.Body
		if file.Gzip != nil && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			h.Set("Content-Encoding", "gzip")
			body = file.Gzip
		}
		h.Set("Content-Length", strconv.Itoa(len(body)))
		if r.Method != http.MethodHead {
			_, _ = w.Write(body) // the browser may have left
		}
	}
}
