package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getMe shows an athlete today's plan, or the next one that was sent.
func (s *Server) getMe(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	var g gym.Gym
	var plans []gym.Plan
	var results []gym.Result
	var debriefs []gym.Debrief
	var holds []gym.Hold
	now := s.Now()
	v := page.MeView{Saved: s.SignIns.PopString(r.Context(), keySaid)}
	err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Athlete(me.AthleteID, &v.Athlete),
		store.SentPlans(me.AthleteID, gym.DayIn(now, now.UTC().Location()).AddDate(0, 0, -1), &plans),
		store.ResultsOf(me.AthleteID, now.Add(-measuring.Lookback), &results),
		store.DebriefsOf(me.AthleteID, now.Add(-measuring.Lookback), &debriefs), store.HoldsOf(me.AthleteID, &holds))
	if err != nil {
		return err
	}
	today := s.today(g)
	v.Day = part.Day(now.In(g.Zone()))
	v.Held = coaching.CareOf(debriefs, holds).State == progress.Held
	for _, plan := range plans {
		if plan.Day.Before(today) || v.Held {
			continue
		}
		v.Has, v.Kept = true, plan
		if err := json.Unmarshal(plan.Output, &v.Plan); err != nil {
			return fmt.Errorf("reading plan %s: %w", plan.PlanID, err)
		}
		break
	}
	if !v.Has && !level.Of(results, today).Planning().Known() {
		v.Test = planner.TestBase
	}
	return render(w, r, http.StatusOK, page.Me(s.meta(r, "Today"), v))
}

// getMyRates shows an athlete the own results and levels.
func (s *Server) getMyRates(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	var g gym.Gym
	var standing []gym.Result
	var v page.MyRatesView
	err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Athlete(me.AthleteID, &v.Athlete),
		store.ResultsOf(me.AthleteID, s.Now().Add(-measuring.Lookback), &standing))
	if err != nil {
		return err
	}
	v.Levels = level.Of(standing, s.today(g))
	v.Chart = rateChart(standing, v.Athlete.Name)
	v.Results = resultLines(standing, standing)
	return render(w, r, http.StatusOK, page.MyRates(s.meta(r, "My rates"), v))
}

func (s *Server) myTestForm(r *http.Request) (page.TestForm, gym.Gym, error) {
	me := who(r.Context())
	var g gym.Gym
	var history []gym.Result
	form := page.TestForm{ID: newID().String(), Action: "/me/result"}
	err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Athlete(me.AthleteID, &form.Athlete),
		store.ResultsOf(me.AthleteID, s.Now().Add(-measuring.Lookback), &history))
	form.Setup = setupLike(history)
	if form.Setup.CountedBy == "coach" {
		form.Setup.CountedBy = "partner" // a coach counts while recording herself
	}
	return form, g, err
}

func (s *Server) getMyResult(w http.ResponseWriter, r *http.Request) error {
	form, _, err := s.myTestForm(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.RecordTest(s.meta(r, "Enter a result"), form, nil))
}

// postMyResult keeps a result that an athlete enters.
func (s *Server) postMyResult(w http.ResponseWriter, r *http.Request) error {
	form, g, err := s.myTestForm(r)
	if err != nil {
		return err
	}
	form.ID, form.Setup = idFrom(r, "id").String(), setupFrom(r)
	answer, err := s.recordOne(r, &form, g, form.Athlete)
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.meta(r, "Enter a result")
			meta.Error = true
			return page.RecordTest(meta, form, messages)
		})
	}
	s.say(r, savedWords(answer))
	return seeOther(w, r, "/me")
}

func (s *Server) getMyDebrief(w http.ResponseWriter, r *http.Request) error {
	form, _, err := s.debriefForm(r, who(r.Context()), "/me/debrief")
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Debrief(s.meta(r, "How did it go?"), form, nil))
}

func (s *Server) debriefForm(r *http.Request, athlete gym.Who, action string) (page.DebriefForm, gym.Gym, error) {
	var g gym.Gym
	var person gym.Athlete
	var plans []gym.Plan
	err := s.Store.Read(r.Context(), athlete.GymID, store.TheGym(&g), store.Athlete(athlete.AthleteID, &person), store.PlansOf(athlete.AthleteID, &plans))
	form := page.DebriefForm{ID: newID().String(), Action: action, Name: person.Name, Pain: "0"}
	if err != nil {
		return form, g, err
	}
	for _, plan := range plans { // newest first: the last one up to today
		if plan.Day.After(s.today(g)) {
			continue
		}
		form.PlanID = plan.PlanID.String()
		var p planner.Plan
		if err := json.Unmarshal(plan.Output, &p); err != nil {
			return form, g, fmt.Errorf("reading plan %s: %w", plan.PlanID, err)
		}
		form.Bursty = p.Split.Burst > 0
		break
	}
	return form, g, nil
}

// postMyDebrief keeps how it went; pain opens a hold and is said on the page.
func (s *Server) postMyDebrief(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	form, g, err := s.debriefForm(r, me, "/me/debrief")
	if err != nil {
		return err
	}
	return s.keepDebrief(w, r, me, form, g, "/me")
}

func (s *Server) keepDebrief(w http.ResponseWriter, r *http.Request, athlete gym.Who, form page.DebriefForm, g gym.Gym, next string) error {
	debrief, messages := debriefFrom(r, &form)
	debrief.AthleteID, debrief.Day = athlete.AthleteID, s.today(g)
	var heard coaching.Heard
	err := formProblem(messages)
	if err == nil {
		heard, err = s.Coaching.Debrief(r.Context(), who(r.Context()), debrief)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.meta(r, "How did it go?")
			meta.Error = true
			return page.Debrief(meta, form, messages)
		})
	}
	said := "Saved."
	if len(heard.Reasons) > 0 {
		said = "Saved. Stop jumping for now and tell your coach. If it lasts or is bad, see a licensed professional."
	}
	s.say(r, said)
	return seeOther(w, r, next)
}

// debriefFrom reads the form; a field that is no number gets a message.
func debriefFrom(r *http.Request, form *page.DebriefForm) (gym.Debrief, map[string]string) {
	messages := map[string]string{}
	typed := func(field, message string) (string, *int) {
		text := trimmed(r.PostFormValue(field))
		if text == "" {
			return text, nil
		}
		n, ok := number(text)
		if !ok {
			messages[field] = message
			return text, nil
		}
		return text, &n
	}
	var d gym.Debrief
	form.Sets, d.SetsDone = typed("sets", "Sets must be a whole number from 0 to 99.")
	form.Bursts, d.Bursts = typed("bursts", "Bursts must be a whole number from 0 to 999.")
	form.CleanBursts, d.CleanBursts = typed("clean_bursts", "Clean bursts must be a whole number from 0 to 999.")
	form.Catches, d.Catches = typed("catches", "Catches must be a whole number from 0 to 999.")
	form.Effort, d.Effort = typed("effort", "Effort is a whole number from 0 to 10.")
	var pain *int
	if form.Pain, pain = typed("pain", "Pain is a whole number from 0 to 10."); pain != nil {
		d.Pain = *pain
	}
	form.Minutes = trimmed(r.PostFormValue("minutes"))
	if form.Minutes != "" {
		minutes, err := strconv.ParseFloat(strings.Replace(form.Minutes, ",", ".", 1), 64)
		if err != nil {
			messages["minutes"] = "Minutes must be from 0 to 600."
		}
		d.Minutes = &minutes
	}
	form.Place, form.Note, form.Signs = r.PostFormValue("pain_place"), cut(r.PostFormValue("note"), 500), r.PostForm["pain_signs"]
	d.PainPlace, d.Note, d.PainSigns = form.Place, form.Note, form.Signs
	if d.Pain == 0 && len(d.PainSigns) == 0 {
		d.PainPlace = ""
	}
	form.ID, form.PlanID = idFrom(r, "id").String(), r.PostFormValue("plan")
	d.DebriefID, d.PlanID = parsed(form.ID), parsed(form.PlanID)
	return d, messages
}
