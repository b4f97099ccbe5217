package server

import (
	"net/http"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// feeds are what calendar programs ask for, without an account.
func (s *Server) feeds(r chi.Router) {
	r.Get("/calendar/{secret}.ics", s.page(s.getFeed))
	r.Head("/calendar/{secret}.ics", s.page(s.getFeed))
}

// calendarLinks are a coach's pages of links to calendars.
func (s *Server) calendarLinks(r chi.Router) {
	r.Get("/classes/{class}/calendar/links", s.page(s.getClassLinks))
	r.Post("/classes/{class}/calendar/links", s.page(s.postClassLinks))
	r.Get("/athletes/{athlete}/calendar", s.page(s.getAthleteLinks))
	r.Post("/athletes/{athlete}/calendar", s.page(s.postAthleteLinks))
}

// ownCalendar are the pages on which athletes, and guardians for one, make links
// of their own. below is "/me" or "/child".
func (s *Server) ownCalendar(r chi.Router, below string) {
	r.Get(below+"/calendar", s.page(s.getOwnLinks(below)))
	r.Post(below+"/calendar", s.page(s.postOwnLinks(below)))
	r.Post(below+"/calendar/{calendar}/end", s.page(s.postEndOwnLink(below)))
}

// allLinks is the owner's list of what leads in without an account.
func (s *Server) allLinks(r chi.Router) {
	r.Get("/links", s.page(s.getLinks))
}

// getFeed sends a calendar. Programs ask every few hours, mostly for what they
// have: the answer to those is empty.
func (s *Server) getFeed(w http.ResponseWriter, r *http.Request) error {
	feed, err := s.Leading.Feed(r.Context(), chi.URLParam(r, "secret"), page.OccasionWords)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `inline; filename="classes.ics"`)
	w.Header().Set("Cache-Control", "private, no-cache")
	serveTagged(w, r, []byte(feed))
	return nil
}

// showLinks shows the open links of a class or an athlete; secret is one just
// made, shown this once.
func (s *Server) showLinks(w http.ResponseWriter, r *http.Request, v page.CalendarLinks, class, athlete uuid.UUID, secret string, wrong error) error {
	var g gym.Gym
	links, err := s.Leading.Calendars(r.Context(), who(r.Context()), class, athlete)
	if err != nil {
		return err
	}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g)); err != nil {
		return err
	}
	for _, l := range links {
		v.Links = append(v.Links, page.CalendarLinkLine{Link: l, Made: page.LongMoment(l.MadeAt, g.Zone()), Own: l.MadeBy == who(r.Context()).ID()})
	}
	if secret != "" {
		v.Fresh = s.addressOf(r) + "/calendar/" + secret + ".ics"
		_, rest, _ := strings.Cut(v.Fresh, "://")
		v.Open = "webcal://" + rest
		if v.Code, err = part.QR(v.Open); err != nil {
			return err
		}
	}
	v.Saved = s.saved(r.Context())
	if wrong != nil {
		return again(w, r, wrong, func(messages map[string]string) templ.Component {
			v.Messages = messages
			return page.CalendarSharing(s.metaAgain(r, "Share as a calendar"), v)
		})
	}
	return render(w, r, http.StatusOK, page.CalendarSharing(s.meta(r, "Share as a calendar"), v))
}

func (s *Server) classLinks(r *http.Request) (v page.CalendarLinks, class uuid.UUID, err error) {
	if class, err = idIn(r, "class"); err != nil {
		return v, class, err
	}
	var there gym.Class
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(class, &there))
	at := "/classes/" + class.String() + "/calendar"
	return page.CalendarLinks{Above: there.Name, Says: page.SharesClass, Action: at + "/links", End: "/links", Back: at, BackText: "Back to the calendar"}, class, err
}

func (s *Server) getClassLinks(w http.ResponseWriter, r *http.Request) error {
	v, class, err := s.classLinks(r)
	if err != nil {
		return err
	}
	return s.showLinks(w, r, v, class, uuid.Nil, "", nil)
}

func (s *Server) postClassLinks(w http.ResponseWriter, r *http.Request) error {
	v, class, err := s.classLinks(r)
	if err != nil {
		return err
	}
	secret, wrong := s.Leading.NewCalendar(r.Context(), who(r.Context()), class, uuid.Nil)
	return s.showLinks(w, r, v, class, uuid.Nil, secret, wrong)
}

func (s *Server) athleteLinks(r *http.Request) (v page.CalendarLinks, athlete uuid.UUID, err error) {
	if athlete, err = idIn(r, "athlete"); err != nil {
		return v, athlete, err
	}
	var there gym.Athlete
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Athlete(athlete, &there))
	at := "/athletes/" + athlete.String()
	return page.CalendarLinks{Above: there.Name, Says: page.SharesAthlete, Action: at + "/calendar", End: "/links", Back: at, BackText: "Back to the athlete"}, athlete, err
}

func (s *Server) getAthleteLinks(w http.ResponseWriter, r *http.Request) error {
	v, athlete, err := s.athleteLinks(r)
	if err != nil {
		return err
	}
	return s.showLinks(w, r, v, uuid.Nil, athlete, "", nil)
}

func (s *Server) postAthleteLinks(w http.ResponseWriter, r *http.Request) error {
	v, athlete, err := s.athleteLinks(r)
	if err != nil {
		return err
	}
	secret, wrong := s.Leading.NewCalendar(r.Context(), who(r.Context()), uuid.Nil, athlete)
	return s.showLinks(w, r, v, uuid.Nil, athlete, secret, wrong)
}

func ownLinks(below string) page.CalendarLinks {
	v := page.CalendarLinks{Says: page.SharesOwn, Action: below + "/calendar", End: below + "/calendar", Back: below, BackText: "Back to Today"}
	if below != "/me" {
		v.Says, v.BackText = page.SharesChild, "Back"
	}
	return v
}

func (s *Server) getOwnLinks(below string) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		return s.showLinks(w, r, ownLinks(below), uuid.Nil, who(r.Context()).AthleteID, "", nil)
	}
}

func (s *Server) postOwnLinks(below string) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		me := who(r.Context())
		secret, wrong := s.Leading.NewCalendar(r.Context(), me, uuid.Nil, me.AthleteID)
		return s.showLinks(w, r, ownLinks(below), uuid.Nil, me.AthleteID, secret, wrong)
	}
}

func (s *Server) postEndOwnLink(below string) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := idIn(r, "calendar")
		if err != nil {
			return err
		}
		if err := s.Leading.EndOwnCalendar(r.Context(), who(r.Context()), id); err != nil {
			return err
		}
		s.say(r, "The link leads nowhere any more.")
		return seeOther(w, r, below+"/calendar")
	}
}

// getLinks lists every open link of the gym.
func (s *Server) getLinks(w http.ResponseWriter, r *http.Request) error {
	var g gym.Gym
	var calendars, screens []gym.Link
	var classes []gym.Class
	var athletes []gym.Athlete
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Links(gym.CalendarLink, &calendars), store.Links(gym.ScreenLink, &screens),
		store.Classes(&classes), store.AthletesAmong(store.Everybody(), &athletes))
	if err != nil {
		return err
	}
	names := map[uuid.UUID]string{}
	for _, class := range classes {
		names[class.ClassID] = class.Name
	}
	langs := map[uuid.UUID]string{}
	for _, athlete := range athletes {
		names[athlete.AthleteID], langs[athlete.AthleteID] = athlete.Name, athlete.Lang
	}
	v := page.AllLinks{Saved: s.saved(r.Context())}
	for _, l := range append(calendars, screens...) {
		if !l.Open(s.Now()) {
			continue
		}
		line := page.CalendarLinkLine{Link: l, Made: page.LongMoment(l.MadeAt, g.Zone()), Of: "Screen in the hall"}
		if l.Kind == gym.CalendarLink {
			line.Of, line.Lang = names[l.ClassID]+names[l.AthleteID], langs[l.AthleteID] // one of the names is empty
		}
		v.Lines = append(v.Lines, line)
	}
	return render(w, r, http.StatusOK, page.Links(s.meta(r, "Open links"), v))
}
