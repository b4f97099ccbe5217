package server

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"ropewalk.example/internal/store"
	"ropewalk.example/web"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// me are an athlete's own pages.
func (s *Server) me(r chi.Router) {
	r = r.With(small)
	r.Get("/me", s.page(s.getMe))
	r.Get("/me/ready", s.getReady)
	r.Get("/me/session", s.page(s.getSession))
	r.Get("/me/test", s.page(s.getTimedTest))
	r.Get("/me/result", s.page(s.getMyResult))
	r.Post("/me/result", s.page(s.postMyResult))
	r.Get("/me/results", s.page(s.getMyResults))
	r.Post("/me/results", s.page(s.postMyResults))
	r.Get("/me/debrief", s.page(s.getMyDebrief))
	r.Post("/me/debrief", s.page(s.postMyDebrief))
	r.Get("/me/rates", s.page(s.getMyRates))
	r.Get("/me/unsent", s.page(s.getUnsent))
}

// phone is what an athlete's phone asks for whoever is signed in.
func (s *Server) phone(r chi.Router) {
	r.With(small).Get("/sw.js", s.serviceWorker())
	for name := range offline(&http.Request{}) {
		r.With(small).Get("/offline/"+name, s.page(s.getOffline(name)))
	}
	r.Post("/me/outbox", s.postOutbox)
}

// small packs answers: halls have half a signal. These pages repeat nothing that
// was sent to them beside a secret, so their length tells nobody anything.
func small(next http.Handler) http.Handler {
	return middleware.Compress(5, "text/html", "text/javascript", "application/json")(next)
}

// phoneOf says whose page it is.
func phoneOf(r *http.Request) page.Phone { return page.Phone{Athlete: who(r.Context()).AthleteID} }

// phoneMeta is the meta of an athlete's page; scripts beside the one that all of
// them have.
func (s *Server) phoneMeta(r *http.Request, title string, scripts ...string) part.Meta {
	meta := s.meta(r, title)
	meta.Plain = true
	meta.Scripts = append([]string{"js/phone.js"}, scripts...)
	return meta
}

// storedMeta is the meta of a page that phones keep: it names nobody.
func storedMeta(r *http.Request, title, path string, scripts ...string) part.Meta {
	return part.Meta{Title: title, Path: path, Theme: themeOf(r), Audience: part.Athlete, Nav: athleteNav(path), Plain: true,
		Scripts: append([]string{"js/phone.js"}, scripts...)}
}

// sessionMeta leaves everything out that is not the session.
func sessionMeta(meta part.Meta) part.Meta {
	meta.Bare = true
	meta.Scripts = []string{"js/session.js"}
	return meta
}

func (s *Server) getSession(w http.ResponseWriter, r *http.Request) error {
	m, err := s.readMine(r)
	if err != nil {
		return err
	}
	_, plan, found, err := m.next(s.today(m.gym))
	if err != nil {
		return err
	}
	if !found || m.held() {
		return render(w, r, http.StatusOK, page.Session(sessionMeta(s.phoneMeta(r, "Session")), phoneOf(r), nil))
	}
	return render(w, r, http.StatusOK, page.Session(sessionMeta(s.phoneMeta(r, "Session")), phoneOf(r), &plan))
}

func (s *Server) getTimedTest(w http.ResponseWriter, r *http.Request) error {
	v := page.TimedTestView{Phone: phoneOf(r)}
	readMates := store.Classmates(v.Phone.Athlete, &v.Mates)
	m, err := s.readMine(r, readMates)
	if err != nil {
		return err
	}
	v.Tests, v.Setup, v.Minor = m.tests(), m.setup(), m.minor(s.today(m.gym))
	return render(w, r, http.StatusOK, page.TimedTest(s.phoneMeta(r, "Count a test", "js/test.js"), v))
}

func (s *Server) getUnsent(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, page.Unsent(s.phoneMeta(r, "Not sent yet", "js/unsent.js"), phoneOf(r)))
}

// offline are the empty pages by name.
func offline(r *http.Request) map[string]templ.Component {
	meta := func(title, path string, scripts ...string) part.Meta { return storedMeta(r, title, path, scripts...) }
	return map[string]templ.Component{
		"today":   page.Me(meta("Today", "/me"), page.MeView{}),
		"session": page.Session(sessionMeta(meta("Session", "/me/session")), page.Phone{}, nil),
		"test":    page.TimedTest(meta("Count a test", "/me/test", "js/test.js"), page.TimedTestView{}),
		"result":  page.EnterResult(meta("Enter a result", "/me/result"), page.ResultForm{}, nil),
		"results": page.MyResults(meta("Change a result", "/me/results"), page.MyResultsView{}),
		"debrief": page.Debrief(meta("How did it go?", "/me/debrief"), page.DebriefForm{Action: "/me/debrief", Pain: "0", Bursty: true}, nil),
		"rates":   page.MyRates(meta("My rates", "/me/rates"), page.MyRatesView{}),
		"unsent":  page.Unsent(meta("Not sent yet", "/me/unsent", "js/unsent.js"), page.Phone{}),
	}
}

// getOffline gives a phone an empty page to keep.
func (s *Server) getOffline(name string) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		return render(w, r, http.StatusOK, offline(r)[name])
	}
}

// serviceWorker serves the script that keeps the athlete's pages on a phone. Its
// text changes with the empty pages, so that phones notice new ones.
func (s *Server) serviceWorker() http.HandlerFunc {
	var all bytes.Buffer
	script := web.Named("js/sw.js").Body
	all.Write(script)
	pages := offline(&http.Request{})
	for _, name := range slices.Sorted(maps.Keys(pages)) {
		if err := pages[name].Render(context.Background(), &all); err != nil {
			panic(fmt.Errorf("rendering the empty page %s: %w", name, err)) // a page of ours without any data
		}
	}
	sum := sha256.Sum256(all.Bytes())
	body := bytes.Replace(script, []byte("@version"), []byte(hex.EncodeToString(sum[:5])), 1)
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
		w.Header().Set("Cache-Control", "no-cache")
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
	}
}
