package server

import (
	"context"
	"crypto/rand"
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"ropewalk.example/internal/metrics"
)

// requestHeader carries what names a request in the log.
const requestHeader = "X-Request-Id"

// reference is where a request's name stands in its context.
type reference struct{}

// referenceOf returns the name of the request behind ctx, "" outside of one.
func referenceOf(ctx context.Context) string {
	name, _ := ctx.Value(reference{}).(string)
	return name
}

var wellFormed = regexp.MustCompile(`^[A-Za-z0-9_.-]{6,64}$`)

// newReference takes the name that a proxy gave the request, or makes one that
// a person can read out.
func newReference(r *http.Request) string {
	if given := r.Header.Get(requestHeader); wellFormed.MatchString(given) {
		return given
	}
	text := rand.Text()
	return text[:4] + "-" + text[4:8]
}

// observe names each request, counts it and writes a line of the log. Addresses
// hold ids and secrets, so it is the pattern of the route that is written.
func (s *Server) observe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began, name := time.Now(), newReference(r)
		w.Header().Set(requestHeader, name)
		ctx, tally := metrics.Count(context.WithValue(r.Context(), reference{}, name))
		seen := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		end := s.Metrics.Begin()
		defer func() {
			end()
			took, status, route := time.Since(began), seen.Status(), routeOf(ctx)
			if status == 0 { // nothing was written: net/http says 200
				status = http.StatusOK
			}
			s.Metrics.Answered(route, r.Method, status, took)
			s.Log.Log(ctx, levelOf(route), "request", "route", route, "method", methodOf(r), "status", status, "bytes", seen.BytesWritten(),
				"seconds", took.Seconds(), "trips", tally.Trips(), "database_seconds", tally.Time().Seconds())
		}()
		next.ServeHTTP(seen, r.WithContext(ctx))
	})
}

// routeOf returns the pattern that a request fits, "" for none.
func routeOf(ctx context.Context) string {
	if route := chi.RouteContext(ctx); route != nil {
		return route.RoutePattern()
	}
	return ""
}

// methodOf is the method for the log, where nobody may write what they like.
func methodOf(r *http.Request) string {
	switch r.Method {
	case http.MethodGet, http.MethodHead, http.MethodPost:
		return r.Method
	}
	return "other"
}

// levelOf keeps out of the log what is asked every few seconds.
func levelOf(route string) slog.Level {
	switch {
	case route == "/healthz", route == "/readyz", route == "/time", strings.HasPrefix(route, "/static/"):
		return slog.LevelDebug
	}
	return slog.LevelInfo
}

// WithReference returns a log's handler that adds the request's name to what is
// logged about it.
func WithReference(h slog.Handler) slog.Handler { return referenced{h} }

type referenced struct{ slog.Handler }

// Handle adds the name of the request behind ctx.
func (h referenced) Handle(ctx context.Context, record slog.Record) error {
	if name := referenceOf(ctx); name != "" {
		record = record.Clone()
		record.AddAttrs(slog.String("request_id", name))
	}
	return h.Handler.Handle(ctx, record)
}

// WithAttrs implements slog.Handler.
func (h referenced) WithAttrs(attrs []slog.Attr) slog.Handler {
	return referenced{h.Handler.WithAttrs(attrs)}
}

// WithGroup implements slog.Handler.
func (h referenced) WithGroup(name string) slog.Handler {
	return referenced{h.Handler.WithGroup(name)}
}
