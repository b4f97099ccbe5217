package server

import (
	"net/http"
	"strings"
	"unicode"

	"github.com/go-chi/chi/v5/middleware"
)

// policy lets a page load its own files and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'"

// guard sets the headers that every answer carries.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY") // for browsers that do not know frame-ancestors
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=(), screen-wake-lock=(self)")
		h.Set("Cache-Control", "no-store")
		h.Set("Vary", "HX-Request")
		// On localhost it would stick to every other server of this machine.
		if s.Secure && !strings.HasPrefix(r.Host, "localhost") {
			h.Set("Strict-Transport-Security", "max-age=31536000; includeSubDomains")
		}
		next.ServeHTTP(w, r)
	})
}

// onlyForms refuses bodies that are neither forms nor what phones send.
func onlyForms() func(http.Handler) http.Handler {
	return middleware.AllowContentType("application/x-www-form-urlencoded", "multipart/form-data", "application/json")
}

// maxForm bounds a form's bytes; imports raise it for themselves.
const maxForm = 1 << 20

// bounded refuses a request that says it is larger than limit, and cuts off one
// that turns out to be.
func bounded(limit int64) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		cut := cutOff(limit)(next)
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.ContentLength > limit {
				http.Error(w, "That is too much at once. Send less.", http.StatusRequestEntityTooLarge)
				return
			}
			cut.ServeHTTP(w, r)
		})
	}
}

// cutOff lets no more than limit bytes of a request through. Its handler sees an
// [http.MaxBytesError] and says so on the page of the form.
func cutOff(limit int64) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if r.Body != nil {
				r.Body = http.MaxBytesReader(w, r.Body, limit)
			}
			next.ServeHTTP(w, r)
		})
	}
}

// ownPath returns path if it leads to a page of this site, else the first one.
func ownPath(path string) string {
	if !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.Contains(path, "\\") || strings.ContainsFunc(path, unicode.IsControl) {
		return "/"
	}
	return path
}
