package server

import (
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// screens are the pages on which a coach makes links.
func (s *Server) screens(r chi.Router) {
	r.Get("/sessions/{session}/screen", s.page(s.getScreens))
	r.Post("/sessions/{session}/screen", s.page(s.postScreens))
	r.Post("/links/{link}/end", s.page(s.postEndLink))
}

// byLink are the pages that a link leads to, without an account.
func (s *Server) byLink(r chi.Router) {
	r.Get("/screen/{secret}", s.page(s.getScreen))
	r.Get("/screen/{secret}/live", s.page(s.getScreenLive))
}

func (s *Server) screensView(r *http.Request) (page.ScreenLinks, error) {
	var v page.ScreenLinks
	id, err := idIn(r, "session")
	if err != nil {
		return v, err
	}
	scene, err := s.Leading.Scene(r.Context(), who(r.Context()), id)
	if err != nil {
		return v, err
	}
	var links []gym.Link
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Links(gym.ScreenLink, &links)); err != nil {
		return v, err
	}
	v.Class, v.Session = scene.Class, scene.Session
	for _, l := range links {
		if l.SessionID == id && l.Open(s.Now()) && l.ExpiresAt != nil {
			v.Links = append(v.Links, page.ScreenLinkLine{Link: l, Until: part.Clock(l.ExpiresAt.In(scene.Gym.Zone()))})
		}
	}
	return v, nil
}

func (s *Server) getScreens(w http.ResponseWriter, r *http.Request) error {
	v, err := s.screensView(r)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Screens(s.meta(r, "Screen for the hall"), v))
}

// postScreens makes a link and shows it this once.
func (s *Server) postScreens(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	secret, err := s.Leading.NewLink(r.Context(), who(r.Context()), gym.Link{Kind: gym.ScreenLink, SessionID: id, Names: r.PostFormValue("names") == "names"})
	if err != nil {
		return err
	}
	v, err := s.screensView(r)
	if err != nil {
		return err
	}
	v.Fresh = s.addressOf(r) + "/screen/" + secret
	return render(w, r, http.StatusOK, page.Screens(s.meta(r, "Screen for the hall"), v))
}

func (s *Server) postEndLink(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "link")
	if err != nil {
		return err
	}
	if err := s.Leading.EndLink(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "The link leads nowhere any more.")
	return seeOther(w, r, ownPath(r.PostFormValue("back")))
}

// getScreen shows the clock on the hall's screen.
func (s *Server) getScreen(w http.ResponseWriter, r *http.Request) error {
	secret := chi.URLParam(r, "secret")
	gymID, link, err := s.Leading.FollowLink(r.Context(), secret, gym.ScreenLink)
	if err != nil {
		return err
	}
	scene, err := s.Leading.Scene(r.Context(), gym.Who{GymID: gymID}, link.SessionID)
	if err != nil {
		return err
	}
	meta := part.Meta{Title: scene.Class.Name, Path: "/", Theme: themeOf(r), Audience: part.Nobody, Wide: true, Bare: true,
		GymName: scene.Gym.Name, Demo: scene.Gym.Invented, Scripts: []string{boardScript}, Refresh: boardRefresh}
	return render(w, r, http.StatusOK, page.HallScreen(meta, s.screenView(scene, link, secret)))
}

func (s *Server) screenView(scene leading.Scene, link gym.Link, secret string) page.ScreenView {
	now := s.Now()
	v := page.ScreenView{Class: scene.Class.Name, Clock: clockView(scene, now), Names: link.Names, Live: "/screen/" + secret + "/live",
		At: now.In(scene.Gym.Zone()).Format("15:04:05")}
	if !link.Names && v.Clock.Turn != nil {
		v.Clock.Turn.Jumping = nil // nothing to show, nothing to send
	}
	return v
}

// getScreenLive streams the screen for as long as its link is open.
func (s *Server) getScreenLive(w http.ResponseWriter, r *http.Request) error {
	secret := chi.URLParam(r, "secret")
	gymID, link, err := s.Leading.FollowLink(r.Context(), secret, gym.ScreenLink)
	if err != nil {
		return err
	}
	checked := time.Now()
	return s.stream(w, r, gymID, link.SessionID, func(g glimpse) (frame, error) {
		if g.news || time.Since(checked) > heartbeat {
			if _, _, err := s.Leading.FollowLink(r.Context(), secret, gym.ScreenLink); err != nil {
				return frame{}, err
			}
			checked = time.Now()
		}
		return frame{"board", page.Screen(s.screenView(g.scene, link, secret))}, nil
	})
}
