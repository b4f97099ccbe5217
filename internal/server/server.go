// Package server answers HTTP requests: it reads a request into a typed
// command, calls a use case or the store, and renders a page. It is the only
// package that knows HTTP. One file per thing that people do.
package server

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
	"ropewalk.example/web/tongue"
)

// Server holds what handlers need.
type Server struct {
	Store     *store.Store
	Accounts  *account.Accounts
	Roster    *roster.Roster
	Measuring *measuring.Measuring
	Deciding  *deciding.Deciding
	Coaching  *coaching.Coaching
	Leading   *leading.Leading
	Receiving *receiving.Receiving
	Reporting *reporting.Reporting
	Privacy   *privacy.Privacy
	SignIns   *scs.SessionManager
	Log       *slog.Logger
	Now       func() time.Time            // the only clock; tests and the demo fix it
	Secure    bool                        // behind TLS, own or a proxy's
	Proxies   []netip.Prefix              // of the proxies in front, whose word on addresses counts
	Trust     *Trust                      // the gym's own certificate authority, nil without one
	Demo      []page.DemoSignIn           // ways into the demo gym, shown at its door
	Metrics   *metrics.Metrics            // nil: nothing is counted
	Languages map[string]*tongue.Language // to choose from beside English, by tag
	Machine   func() Machine              // looks at where this runs; nil: nothing is known of it

	draining atomic.Bool
	live     live
	letters  letters
	shelf    shelf
}

// Drain makes /readyz say no, so that a balancer sends nobody here any more.
func (s *Server) Drain() {
	s.draining.Store(true)
	s.live.close()
}

// A handler writes its response or returns an error, never both.
type handler func(w http.ResponseWriter, r *http.Request) error

// page adapts h to net/http. It is the only place where errors become
// responses: the person sees a sentence, the log gets the whole chain.
func (s *Server) page(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.answerError(w, r, err)
		}
	}
}

func (s *Server) answerError(w http.ResponseWriter, r *http.Request, err error) {
	kind := problem.KindOf(err)
	if kind == problem.SignedOut && r.Method == http.MethodGet {
		http.Redirect(w, r, "/sign-in?next="+url.QueryEscape(r.URL.Path), http.StatusSeeOther)
		return
	}
	if kind == problem.Internal && r.Context().Err() == nil {
		s.Log.ErrorContext(r.Context(), "request went wrong", "method", methodOf(r), "route", routeOf(r.Context()), "error", err)
	}
	if kind == problem.Forbidden {
		me := who(r.Context())
		s.Log.WarnContext(r.Context(), "refused", "method", methodOf(r), "route", routeOf(r.Context()), "role", me.Role, "by", me.ID(), "address", s.addressBehind(r))
	}
	if kind == problem.Unavailable {
		s.Log.WarnContext(r.Context(), "database away", "route", routeOf(r.Context()), "error", err)
		w.Header().Set("Retry-After", "5")
	}
	meta := s.metaAgain(r, headingOf(kind))
	if err := render(w, r, statusOf(kind), page.Problem(meta, problem.MessageOf(err), referenceOf(r.Context()))); err != nil {
		s.Log.ErrorContext(r.Context(), "error page went wrong", "error", err)
	}
}

func statusOf(kind problem.Kind) int {
	switch kind {
	case problem.Invalid, problem.Evidence:
		return http.StatusUnprocessableEntity
	case problem.NotFound:
		return http.StatusNotFound
	case problem.Gone:
		return http.StatusGone
	case problem.Forbidden:
		return http.StatusForbidden
	case problem.Conflict:
		return http.StatusConflict
	case problem.TooMany:
		return http.StatusTooManyRequests
	case problem.TooLarge:
		return http.StatusRequestEntityTooLarge
	case problem.Unavailable:
		return http.StatusServiceUnavailable
	case problem.SignedOut:
		return http.StatusUnauthorized
	default:
		return http.StatusInternalServerError
	}
}

func headingOf(kind problem.Kind) string {
	switch kind {
	case problem.NotFound:
		return "Not here"
	case problem.Gone:
		return "No longer here"
	case problem.Forbidden:
		return "Not for you"
	case problem.TooMany:
		return "Wait a little"
	case problem.Unavailable:
		return "Not answering"
	case problem.SignedOut:
		return "You are signed out"
	case problem.Internal:
		return "Something went wrong"
	default:
		return "There is a problem"
	}
}

// seeOther answers a form that did its work: the browser asks for to next.
func seeOther(w http.ResponseWriter, r *http.Request, to string) error {
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// idIn returns the id in the address under name; what is no id is not found.
func idIn(r *http.Request, name string) (uuid.UUID, error) {
	id, err := uuid.Parse(chi.URLParam(r, name))
	if err != nil {
		return uuid.Nil, problem.New(problem.NotFound, "There is nothing at this address. Check it, or start from the first page.")
	}
	return id, nil
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// identity is the one value that a request's context carries.
type identity struct{}

// who returns the identity behind r; the zero Who is nobody.
func who(ctx context.Context) gym.Who {
	w, _ := ctx.Value(identity{}).(gym.Who)
	return w
}

// meta returns what the layout needs for this request.
func (s *Server) meta(r *http.Request, title string) part.Meta {
	me := who(r.Context())
	meta := part.Meta{Title: title, Path: r.URL.Path, Theme: themeOf(r), Audience: part.Nobody, Who: me.Name, Tongues: s.tongues(r)}
	switch {
	case me.Role == gym.Jumper:
		meta.Audience = part.Athlete
		meta.Nav = athleteNav(r.URL.Path)
	case me.Role.Staff():
		meta.Audience, meta.Account = part.Coach, "/account"
		meta.Nav = staffNav(me.Role, r.URL.Path)
	}
	if me.Role != "" {
		meta.GymName = s.SignIns.GetString(r.Context(), keyGymName)
		meta.Demo = s.SignIns.GetString(r.Context(), keyInvented) == yes
	}
	return meta
}
