package server

import (
	"context"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"
)

// Health returns the pages that say how a program is that shows no others.
func (s *Server) Health() http.Handler {
	r := chi.NewRouter()
	r.Get("/healthz", Healthz)
	r.Get("/readyz", s.Readyz)
	return r
}

// Healthz says that the process lives. It asks nobody else.
func Healthz(w http.ResponseWriter, _ *http.Request) { plain(w, http.StatusOK, "ok\n") }

// Readyz says whether requests will be answered: the database is there, its
// schema is ours, and we are not stopping.
func (s *Server) Readyz(w http.ResponseWriter, r *http.Request) {
	ctx, cancel := context.WithTimeout(r.Context(), time.Second)
	defer cancel()
	if s.draining.Load() {
		plain(w, http.StatusServiceUnavailable, "stopping\n")
		return
	}
	if err := s.Store.Ping(ctx); err != nil {
		s.Log.WarnContext(r.Context(), "not ready", "error", err)
		w.Header().Set("Retry-After", "5")
		plain(w, http.StatusServiceUnavailable, "not ready\n")
		return
	}
	plain(w, http.StatusOK, "ready\n")
}

func plain(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(text)) // the asker may have left
}
