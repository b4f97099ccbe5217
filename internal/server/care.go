package server

import (
	"net/http"
	"time"

	"github.com/a-h/templ"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// releaseForm reads what was told of an athlete's pain.
func (s *Server) releaseForm(r *http.Request) (page.ReleaseForm, gym.Gym, error) {
	var form page.ReleaseForm
	var g gym.Gym
	id, err := idIn(r, "athlete")
	if err != nil {
		return form, g, err
	}
	var debriefs []gym.Debrief
	var holds []gym.Hold
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Athlete(id, &form.Athlete),
		store.DebriefsOf(id, s.Now().Add(-coaching.Lookback), &debriefs), store.HoldsOf(id, &holds))
	form.Care = coaching.CareOf(debriefs, holds)
	for _, d := range debriefs {
		if d.Pain > 0 || len(d.PainSigns) > 0 {
			form.Pains = append(form.Pains, d)
		}
	}
	return form, g, err
}

// getRelease asks a coach what is needed to let an athlete go on after pain.
func (s *Server) getRelease(w http.ResponseWriter, r *http.Request) error {
	form, _, err := s.releaseForm(r)
	if err != nil {
		return err
	}
	if err := s.Privacy.Looked(r.Context(), who(r.Context()), form.Athlete.AthleteID); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.ReleasePage(s.meta(r, "Go on after pain"), form, nil))
}

func (s *Server) postRelease(w http.ResponseWriter, r *http.Request) error {
	form, g, err := s.releaseForm(r)
	if err != nil {
		return err
	}
	form.Reason, form.Advised, form.LastPain = cut(trimmed(r.PostFormValue("reason")), 500), r.PostFormValue("advised") == yes, r.PostFormValue("last_pain")
	release := coaching.Release{Athlete: form.Athlete.AthleteID, Reason: form.Reason, Advised: form.Advised, Day: s.today(g)}
	if form.LastPain != "" {
		var day time.Time
		if day, err = time.ParseInLocation(time.DateOnly, form.LastPain, g.Zone()); err != nil || day.After(s.Now()) {
			err = problem.Form(map[string]string{"last_pain": "Choose a day that is not in the future."})
		}
		release.LastPain = day.AddDate(0, 0, 1) // nobody knows the hour: the day's end
	}
	if err == nil {
		err = s.Coaching.Release(r.Context(), who(r.Context()), release)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.ReleasePage(s.metaAgain(r, "Go on after pain"), form, messages)
		})
	}
	s.say(r, "Going on: half the jumps and no doubles until two sessions went without pain.")
	return seeOther(w, r, "/athletes/"+form.Athlete.AthleteID.String())
}

// coachDebrief is the form of one athlete's session for a coach.
type coachDebrief struct {
	gym     gym.Gym
	athlete gym.Athlete
	plans   []gym.Plan // newest first
	form    page.DebriefForm
	day     string
}

func (s *Server) readCoachDebrief(r *http.Request) (coachDebrief, error) {
	var c coachDebrief
	id, err := idIn(r, "athlete")
	if err != nil {
		return c, err
	}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&c.gym), store.Athlete(id, &c.athlete),
		store.RecentPlansOf(id, s.Now().Add(-coaching.Lookback), &c.plans)); err != nil {
		return c, err
	}
	today := s.today(c.gym)
	c.day = today.Format(time.DateOnly)
	c.form = page.DebriefForm{ID: newID().String(), Action: "/athletes/" + id.String() + "/debrief", Name: c.athlete.Name, Pain: "0"}
	if kept, ok := c.planFor(today); ok {
		plan, err := finding.ReadPlan(kept)
		if err != nil {
			return c, err
		}
		c.form.PlanID, c.form.Bursty = kept.PlanID.String(), plan.Split.Burst > 0
	}
	return c, nil
}

// planDays is how many days after the day of a plan a session still counts as
// that plan's (assumed).
const planDays = 3

// planFor returns the plan that a session on a day followed.
func (c coachDebrief) planFor(day time.Time) (gym.Plan, bool) {
	for _, kept := range c.plans {
		if !kept.Day.After(day) {
			return kept, day.Sub(kept.Day) <= planDays*24*time.Hour
		}
	}
	return gym.Plan{}, false
}

// getDebrief asks a coach how a session went for one athlete.
func (s *Server) getDebrief(w http.ResponseWriter, r *http.Request) error {
	c, err := s.readCoachDebrief(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.CoachDebrief(s.meta(r, "How did it go?"), c.form, c.day, nil))
}

func (s *Server) postDebrief(w http.ResponseWriter, r *http.Request) error {
	c, err := s.readCoachDebrief(r)
	if err != nil {
		return err
	}
	body, messages := debriefFrom(r, &c.form)
	c.day = r.PostFormValue("day")
	day, err := time.ParseInLocation(time.DateOnly, c.day, c.gym.Zone())
	if err != nil || day.After(s.Now()) {
		messages["day"] = "Choose a day that is not in the future."
	}
	d := gym.Debrief{DebriefID: parsed(c.form.ID), AthleteID: c.athlete.AthleteID, Day: c.gym.DayOf(day),
		SetsDone: body.Sets, Bursts: body.Bursts, CleanBursts: body.CleanBursts, Catches: body.Catches, Minutes: body.Minutes,
		Effort: body.Effort, Pain: body.Pain, PainPlace: body.PainPlace, PainSigns: body.PainSigns, Note: body.Note}
	if d.Pain == 0 && len(d.PainSigns) == 0 {
		d.PainPlace = ""
	}
	if kept, ok := c.planFor(d.Day); ok {
		d.PlanID = kept.PlanID
	}
	var heard coaching.Heard
	if err = problem.Form(messages); err == nil {
		heard, err = s.Coaching.Debrief(r.Context(), who(r.Context()), d)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.CoachDebrief(s.metaAgain(r, "How did it go?"), c.form, c.day, messages)
		})
	}
	said := "Saved."
	if len(heard.Reasons) > 0 {
		said = "Saved. Impact work is on hold now. Refer to a licensed professional; tell the guardian of a minor today."
	}
	s.say(r, said)
	return seeOther(w, r, "/athletes/"+c.athlete.AthleteID.String())
}
