package server

import (
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// hours are the pages of a class hour, for all staff.
func (s *Server) hours(r chi.Router) {
	r.Get("/classes/{class}/check-in", s.page(s.getCheckIn))
	r.Post("/classes/{class}/check-in", s.page(s.postCheckIn))
	r.Get("/sessions/{session}", s.page(s.getHour))
	r.Post("/sessions/{session}/here", s.page(s.postHere))
	r.Post("/sessions/{session}/not-started", s.page(s.postNotStarted))
}

// hourPlans are what a coach alone may do in a class hour.
func (s *Server) hourPlans(r chi.Router) {
	r.Post("/sessions/{session}/plans", s.page(s.postHourPlans))
}

// getCheckIn asks who is here at the next meeting of a class.
func (s *Server) getCheckIn(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	m, g, err := s.nextMeeting(r, id)
	if err != nil {
		return err
	}
	var class gym.Class
	var athletes []gym.Athlete
	var holds []gym.Hold
	var session []gym.Session
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(id, &class), store.AthletesOf(id, &athletes), store.HoldsOfClass(id, &holds),
		store.SessionStarting(id, m.Starts, &session))
	if err != nil {
		return err
	}
	if len(session) > 0 && session[0].OpenedAt != nil { // somebody started it already
		return seeOther(w, r, "/sessions/"+session[0].SessionID.String())
	}
	v := page.CheckInView{Class: class, When: page.WhenWords(m, s.today(g)), Starts: m.Starts.Format(time.RFC3339)}
	if !m.On().Equal(s.today(g)) {
		v.Early = "The class does not meet today. Started now, it counts as this meeting."
	}
	for _, athlete := range athletes {
		row := page.CheckInRow{Athlete: athlete}
		if onHold(athlete.AthleteID, holds) {
			row.Notes = append(row.Notes, "On hold: pain")
		}
		if days := m.On().Sub(athlete.StartedOn); !athlete.StartedOn.IsZero() && days <= firstTime {
			row.Notes = append(row.Notes, "New here")
		}
		v.Athletes = append(v.Athletes, row)
	}
	meta := s.wide(r, "Who is here?")
	meta.Scripts = append(meta.Scripts, rollScript)
	return render(w, r, http.StatusOK, page.CheckIn(meta, v))
}

// rollScript counts names while they are tapped.
const rollScript = "js/hall.js"

// firstTime is how long somebody counts as new at check-in.
const firstTime = 7 * 24 * time.Hour

// postCheckIn opens the class hour.
func (s *Server) postCheckIn(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	m, err := s.meetingFrom(r, id)
	if err != nil {
		return err
	}
	check := leading.CheckIn{Class: id, Day: m.On(), Starts: m.Starts, Minutes: m.Minutes()}
	for _, text := range r.PostForm["away"] {
		check.Away = append(check.Away, parsed(text))
	}
	session, err := s.Leading.CheckIn(r.Context(), who(r.Context()), check)
	if err != nil {
		return err
	}
	return seeOther(w, r, "/sessions/"+session.String())
}

// earliest is how far ahead of its start a meeting may be checked in.
const earliest = 14 * 24 * time.Hour

// meetingFrom returns the meeting that a check-in form is for.
func (s *Server) meetingFrom(r *http.Request, class uuid.UUID) (calendar.Meeting, error) {
	var there gym.Class
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(class, &there)); err != nil {
		return calendar.Meeting{}, err
	}
	starts, err := time.Parse(time.RFC3339, r.PostFormValue("starts"))
	if away := starts.Sub(s.Now()); err != nil || away > earliest || away < -24*time.Hour {
		return calendar.Meeting{}, problem.New(problem.Conflict, "This meeting is over or far away. Start the class again from Today.")
	}
	year, _, err := s.Leading.Year(r.Context(), who(r.Context()), starts)
	if err != nil {
		return calendar.Meeting{}, err
	}
	return year.At(class, starts)
}

// getHour shows a class hour: what is done, and the next thing to do.
func (s *Server) getHour(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	v, err := s.hourView(r, id)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Hour(s.wide(r, v.Class.Name), v))
}

func (s *Server) hourView(r *http.Request, id uuid.UUID) (page.HourView, error) {
	me := who(r.Context())
	scene, err := s.Leading.Scene(r.Context(), me, id)
	if err != nil {
		return page.HourView{}, err
	}
	year, g, err := s.Leading.Year(r.Context(), me, scene.Session.StartsAt)
	if err != nil {
		return page.HourView{}, err
	}
	meeting, err := year.At(scene.Class.ClassID, scene.Session.StartsAt)
	if err != nil {
		return page.HourView{}, err
	}
	now := s.Now()
	v := page.HourView{Class: scene.Class, Session: scene.Session, When: page.WhenWords(meeting, s.today(g)), Occasion: page.OccasionWords(meeting),
		MayPlan: may(me.Role, planAndDecide), Started: scene.Clock.Started && !scene.Clock.Course.Test, Over: scene.Clock.Over(now),
		Running: scene.Clock.Running && !scene.Clock.Over(now), Fits: scene.Fits()}
	for _, athlete := range scene.Athletes {
		row := page.HourRow{Athlete: athlete, Here: scene.Here[athlete.AthleteID]}
		kept, planned := scene.Kept[athlete.AthleteID]
		_, row.Held = scene.Holds[athlete.AthleteID]
		row.Planned, row.Sent = planned, planned && kept.SentAt != nil
		if planned {
			row.PlanID, row.Plan = kept.PlanID, scene.Plans[athlete.AthleteID]
		}
		v.Rows = append(v.Rows, row)
	}
	return v, s.fillTests(r, &v, scene)
}

// fillTests adds how far the tests of the hour are.
func (s *Server) fillTests(r *http.Request, v *page.HourView, scene leading.Scene) error {
	var tests []gym.ClassTest
	var results []gym.Result
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.ClassTests(scene.Class.ClassID, s.todayOf(scene), &tests),
		store.ResultsOfClass(scene.Class.ClassID, s.todayOf(scene), &results))
	if err != nil {
		return err
	}
	byAthlete := groupResults(results)
	for _, test := range tests {
		line := page.HourTest{Test: test}
		for _, athlete := range scene.Present() {
			line.Of++
			if len(leading.CountsOf(test, byAthlete[athlete.AthleteID])) > 0 {
				line.In++
			}
		}
		v.Tests = append(v.Tests, line)
	}
	return nil
}

// postNotStarted takes a class back that was started by mistake.
func (s *Server) postNotStarted(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	if err := s.Leading.TakeBackCheckIn(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "The class is not started. Start it when it begins.")
	return seeOther(w, r, "/today")
}

// postHere notes that somebody is here or away after all. Somebody who comes
// late gets a plan, and a place among the turns where one suits.
func (s *Server) postHere(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	me := who(r.Context())
	athlete, err := athleteFrom(r)
	if err != nil {
		return err
	}
	back := ownPath(r.PostFormValue("back"))
	if back == "/" {
		back = "/sessions/" + id.String()
	}
	if r.PostFormValue("here") != yes {
		if err := s.Leading.SetHere(r.Context(), me, id, athlete, false); err != nil {
			return err
		}
		return seeOther(w, r, back)
	}
	if !may(me.Role, planAndDecide) {
		if err := s.Leading.SetHere(r.Context(), me, id, athlete, true); err != nil {
			return err
		}
		return seeOther(w, r, back)
	}
	placed, missing, err := s.Leading.Late(r.Context(), me, id, athlete)
	if err != nil {
		return err
	}
	switch {
	case missing != "":
		s.say(r, "Here now, without a plan. First: "+page.NextTest(missing)+".")
	case placed:
		s.say(r, "Here now, and among the turns from the next set on.")
	default:
		s.say(r, "Here now.")
	}
	return seeOther(w, r, back)
}

// postHourPlans makes plans for whoever is here and has none yet, or for
// everybody here anew, and sends them to the phones: one action.
func (s *Server) postHourPlans(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	me, back := who(r.Context()), "/sessions/"+id.String()
	scene, err := s.Leading.Scene(r.Context(), me, id)
	if err != nil {
		return err
	}
	said := ""
	if r.PostFormValue("do") != "send" {
		ask := coaching.ClassPlan{Class: scene.Class.ClassID, Day: scene.Session.Day, Minutes: float64(scene.Session.Minutes)}
		for _, athlete := range scene.Present() {
			if _, planned := scene.Plans[athlete.AthleteID]; !planned || r.PostFormValue("do") == "anew" {
				ask.Only = append(ask.Only, athlete.AthleteID)
			}
		}
		if len(ask.Only) == 0 {
			s.say(r, "Everybody here has a plan.")
			return seeOther(w, r, back)
		}
		report, err := s.Coaching.PlanClass(r.Context(), me, ask)
		if err != nil {
			if fields := problem.FieldsOf(err); fields != nil {
				return problem.New(problem.Invalid, "%s", fields["minutes"])
			}
			return err
		}
		said = plannedSentence(report)
	}
	sent, err := s.Coaching.SendPlans(r.Context(), me, scene.Class.ClassID, scene.Session.Day)
	if err != nil {
		return err
	}
	if sent > 0 || said == "" {
		said += " " + part.Count(sent, "plan is", "plans are") + " on the phones now."
	}
	s.say(r, trimmed(said))
	return seeOther(w, r, back)
}

// todayOf is the day on which a scene's tests are typed: today, as the results'
// own day is when they were counted.
func (s *Server) todayOf(scene leading.Scene) time.Time {
	if scene.Session.OpenedAt == nil {
		return scene.Session.Day
	}
	return scene.Gym.DayOf(*scene.Session.OpenedAt)
}
