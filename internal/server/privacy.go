package server

import (
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// privacy are the owner's pages about what is kept, for how long, and who is to
// be forgotten.
func (s *Server) privacy(r chi.Router) {
	r.Get("/gym", s.page(s.getGym))
	r.Get("/gym/server", s.page(s.getMachine))
	r.Get("/privacy", s.page(s.getPrivacy))
	r.Post("/privacy/consent-age", s.page(s.postConsentAge))
	r.With(s.sure).Post("/privacy/keeping", s.page(s.postKeeping))
	r.Post("/privacy/erasures/{erasure}/undo", s.page(s.postUndoErasure))
	r.With(s.sure).Post("/privacy/people/{former}/erase", s.page(s.postErasePerson))
	r.Get("/athletes/{athlete}/data", s.page(s.getAthleteData))
	r.With(s.sure).Post("/athletes/{athlete}/data", s.page(s.postAthleteData))
	r.With(s.sure).Post("/athletes/{athlete}/erase", s.page(s.postErase))
}

// getGym leads to all that an owner looks after.
func (s *Server) getGym(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, page.Gym(s.meta(r, "Gym")))
}

func (s *Server) getPrivacy(w http.ResponseWriter, r *http.Request) error {
	view, err := s.privacyView(r)
	if err != nil {
		return err
	}
	view.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Privacy(s.meta(r, "Privacy"), view, nil))
}

func (s *Server) privacyView(r *http.Request) (page.PrivacyView, error) {
	ctx := r.Context()
	var view page.PrivacyView
	var g gym.Gym
	var done []gym.Erasure
	err := s.Store.Read(ctx, who(ctx).GymID, store.TheGym(&g), store.TheKeeping(&view.Keeping), store.PendingErasures(&view.Erasures), store.DoneErasures(&done),
		store.Purges(&view.Purges), store.FormerStaff(uuid.Nil, &view.Former), store.ErasureNames(&view.Pending))
	if err != nil {
		return view, err
	}
	view.Erasures = append(view.Erasures, done...)
	view.ConsentAge, view.Zone = g.ConsentAge, g.Zone()
	soon, err := s.Privacy.Soon(ctx, who(ctx).GymID)
	for _, idle := range soon {
		view.Soon = append(view.Soon, page.IdleLine{Athlete: idle.AthleteID, Name: idle.Name, Last: idle.Last})
	}
	return view, err
}

func (s *Server) privacyAgain(w http.ResponseWriter, r *http.Request, err error, change func(*page.PrivacyView)) error {
	view, viewErr := s.privacyView(r)
	if viewErr != nil {
		return viewErr
	}
	change(&view)
	return again(w, r, err, func(messages map[string]string) templ.Component {
		return page.Privacy(s.metaAgain(r, "Privacy"), view, messages)
	})
}

// postConsentAge sets under which age a guardian is asked.
func (s *Server) postConsentAge(w http.ResponseWriter, r *http.Request) error {
	years, ok := number(r.PostFormValue("years"))
	if !ok {
		years = -1
	}
	if err := s.Accounts.AskConsent(r.Context(), who(r.Context()), years); err != nil {
		return s.privacyAgain(w, r, err, func(*page.PrivacyView) {})
	}
	s.say(r, "The age is set, at once.")
	return seeOther(w, r, "/privacy")
}

// postKeeping sets how long things are kept.
func (s *Server) postKeeping(w http.ResponseWriter, r *http.Request) error {
	var k gym.Keeping
	for field, into := range map[string]*int{"keep_athlete": &k.Athlete, "keep_health": &k.Health, "keep_incident": &k.Incident, "keep_audit": &k.Audit} {
		*into, _ = number(r.PostFormValue(field)) // 0 for what is no number, which is refused
	}
	if err := s.Privacy.SetKeeping(r.Context(), who(r.Context()), k); err != nil {
		return s.privacyAgain(w, r, err, func(v *page.PrivacyView) { v.Keeping = k })
	}
	s.say(r, "Kept. The rules run every hour.")
	return seeOther(w, r, "/privacy")
}

// postUndoErasure brings somebody back who is to be forgotten.
func (s *Server) postUndoErasure(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "erasure")
	if err != nil {
		return err
	}
	if err := s.Privacy.Undo(r.Context(), who(r.Context()), id); err != nil {
		return s.privacyAgain(w, r, err, func(*page.PrivacyView) {})
	}
	s.say(r, "Undone. Everything is as it was.")
	return seeOther(w, r, "/privacy")
}

// postErasePerson asks that somebody who worked here be forgotten.
func (s *Server) postErasePerson(w http.ResponseWriter, r *http.Request) error {
	person, err := idIn(r, "former")
	if err != nil {
		return err
	}
	if err := s.Privacy.AskPerson(r.Context(), who(r.Context()), person); err != nil {
		return err
	}
	s.say(r, "In 30 days this person's name is gone. You can undo it until then.")
	return seeOther(w, r, "/privacy")
}

func (s *Server) athleteData(r *http.Request) (page.AthleteDataView, error) {
	view := page.AthleteDataView{ID: newID().String(), Days: privacy.UndoDays}
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return view, err
	}
	var incidents []gym.Incident
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Athlete(athlete, &view.Athlete), store.IncidentsOf(athlete, &incidents),
		store.TheKeeping(&view.Keeping))
	view.Incidents = len(incidents)
	return view, err
}

// getAthleteData shows what can be done with all that is kept of an athlete.
func (s *Server) getAthleteData(w http.ResponseWriter, r *http.Request) error {
	view, err := s.athleteData(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.AthleteData(s.meta(r, "Data"), view, nil))
}

// postAthleteData gives an owner all that is kept of an athlete.
func (s *Server) postAthleteData(w http.ResponseWriter, r *http.Request) error {
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	return s.sendData(w, r, athlete)
}

// postErase asks that an athlete be forgotten.
func (s *Server) postErase(w http.ResponseWriter, r *http.Request) error {
	view, err := s.athleteData(r)
	if err != nil {
		return err
	}
	view.ID, view.For, view.KeepIncidents = idFrom(r, "id").String(), r.PostFormValue("for"), r.PostFormValue("keep_incidents") == yes
	ask := privacy.Asking{ID: uuid.MustParse(view.ID), Athlete: view.Athlete.AthleteID, For: view.For, KeepIncidents: view.KeepIncidents, Sure: r.PostFormValue("sure") == yes}
	if err := s.Privacy.Ask(r.Context(), who(r.Context()), ask); err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.AthleteData(s.metaAgain(r, "Data"), view, messages)
		})
	}
	s.say(r, view.Athlete.Name+" is in no list any more, and is forgotten in 30 days. You can undo it until then.")
	return seeOther(w, r, "/privacy")
}
