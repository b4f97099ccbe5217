package server

import (
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// incidents are pages for coaches and the owner alone.
func (s *Server) incidents(r chi.Router) {
	r.Get("/incidents", s.page(s.getIncidents))
	r.Get("/incidents/new", s.page(s.getNewIncident))
	r.Post("/incidents", s.page(s.postIncident))
}

// incidentsAtOnce is how many incidents a page shows.
const incidentsAtOnce = 50

// getIncidents lists what happened; the look itself is noted.
func (s *Server) getIncidents(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	all, athletes, err := s.Leading.Incidents(r.Context(), me, pageOf(r, incidentsAtOnce))
	if err != nil {
		return err
	}
	var g gym.Gym
	var staff []store.Staff
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.StaffOf(&staff)); err != nil {
		return err
	}
	v := page.IncidentsView{Saved: s.saved(r.Context())}
	all, v.Earlier = onward(r, "/incidents", all, incidentsAtOnce, func(i gym.Incident) uuid.UUID { return i.IncidentID })
	for _, i := range all {
		at := i.HappenedAt.In(g.Zone())
		line := page.IncidentLine{Incident: i, When: part.Day(at) + ", " + part.Clock(at), By: "somebody who left"}
		for _, p := range staff {
			if p.PersonID == i.RecordedBy {
				line.By = p.Name
			}
		}
		line.By += ", " + part.Day(i.RecordedAt.In(g.Zone()))
		for _, athlete := range athletes {
			if athlete.AthleteID == i.AthleteID {
				line.Athlete = &athlete
				line.Untold = i.GuardianTold == "" && athlete.Under(g.AdultAge, at.Year())
			}
		}
		v.Lines = append(v.Lines, line)
	}
	return render(w, r, http.StatusOK, page.Incidents(s.meta(r, "Incidents"), v))
}

func (s *Server) incidentForm(r *http.Request) (page.IncidentForm, gym.Gym, error) {
	var g gym.Gym
	form := page.IncidentForm{ID: newID().String()}
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Athletes(&form.Athletes))
	return form, g, err
}

// getNewIncident asks what happened: now, in the hour it is called from, or in
// the place of an earlier entry.
func (s *Server) getNewIncident(w http.ResponseWriter, r *http.Request) error {
	form, g, err := s.incidentForm(r)
	if err != nil {
		return err
	}
	at := s.Now()
	if id := parsed(r.URL.Query().Get("corrects")); id != uuid.Nil {
		var old gym.Incident
		if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Incident(id, &old)); err != nil {
			return err
		}
		at, form.Corrects = old.HappenedAt, id.String()
		form.Class, form.Session, form.Athlete = idText(old.ClassID), idText(old.SessionID), idText(old.AthleteID)
		form.Place, form.What, form.SeenBy, form.Done, form.Told = old.Place, old.What, old.SeenBy, old.Done, old.GuardianTold
	}
	if id := parsed(r.URL.Query().Get("session")); id != uuid.Nil {
		var session gym.Session
		if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Session(id, &session)); err != nil {
			return err
		}
		form.Session, form.Class = id.String(), session.ClassID.String()
	}
	local := at.In(g.Zone())
	form.Day, form.Time = local.Format(time.DateOnly), part.Clock(local)
	return render(w, r, http.StatusOK, page.NewIncident(s.meta(r, "Record an incident"), form, nil))
}

func idText(id uuid.UUID) string {
	if id == uuid.Nil {
		return ""
	}
	return id.String()
}

// postIncident keeps what happened.
func (s *Server) postIncident(w http.ResponseWriter, r *http.Request) error {
	form, g, err := s.incidentForm(r)
	if err != nil {
		return err
	}
	value := func(name string) string { return trimmed(r.PostFormValue(name)) }
	form.ID, form.Corrects = idFrom(r, "id").String(), value("corrects")
	form.Class, form.Session, form.Athlete = value("class"), value("session"), value("athlete")
	form.Day, form.Time, form.Place, form.What = value("day"), value("time"), value("place"), value("what")
	form.SeenBy, form.Done, form.Told = value("seen_by"), value("done"), value("told")
	incident := gym.Incident{IncidentID: parsed(form.ID), Corrects: parsed(form.Corrects), ClassID: parsed(form.Class), SessionID: parsed(form.Session),
		AthleteID: parsed(form.Athlete), Place: form.Place, What: form.What, SeenBy: form.SeenBy, Done: form.Done, GuardianTold: cut(form.Told, 500)}
	if at, err := time.ParseInLocation("2006-01-02 15:04", form.Day+" "+form.Time, g.Zone()); err == nil {
		incident.HappenedAt = at
	}
	if err := s.Leading.RecordIncident(r.Context(), who(r.Context()), incident); err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.NewIncident(s.metaAgain(r, "Record an incident"), form, messages)
		})
	}
	s.say(r, "Kept.")
	return seeOther(w, r, "/incidents")
}
