package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getPlans shows the plans of a class for a day: the one asked for, or the
// next meeting.
func (s *Server) getPlans(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	v, err := s.plansView(r, id, r.URL.Query().Get("day"))
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.ClassPlans(s.wide(r, "Plans"), v, nil))
}

// plansView reads the plans of class for the day that was asked for, or the next
// meeting's where none was.
func (s *Server) plansView(r *http.Request, class uuid.UUID, asked string) (page.PlansView, error) {
	me := who(r.Context())
	var v page.PlansView
	about := s.Now()
	var typed time.Time
	if asked != "" {
		var err error
		if typed, err = dayTyped(asked); err != nil {
			return v, err
		}
		if typed.Before(about) {
			about = typed
		}
	}
	year, _, err := s.Leading.Year(r.Context(), me, about)
	if err != nil {
		return v, err
	}
	next, err := year.Next(class, s.Now())
	if err != nil {
		return v, err
	}
	day := next.On()
	if asked != "" {
		day = typed
	}
	meeting, met, err := year.On(class, day)
	if err != nil {
		return v, err
	}
	v.Tests, v.Lighter, v.NoMeeting = meeting.Tests, meeting.Lighter, !met && !day.Equal(next.On())
	v.Day, v.DayWord = day.Format(time.DateOnly), part.Day(day)
	var athletes []gym.Athlete
	var plans []gym.Plan
	var results []gym.Result
	var bases []gym.Basis
	err = s.Store.Read(r.Context(), me.GymID, store.Class(class, &v.Class), store.AthletesOf(class, &athletes), store.BasesOf(store.InClass(class), &bases),
		store.PlansOfClass(class, day, &plans), store.ResultsOfClass(class, day.Add(-measuring.Lookback), &results))
	if err != nil {
		return v, err
	}
	planned, err := listPlans(&v, athletes, plans)
	if err != nil {
		return v, err
	}
	tests := groupResults(results)
	for _, athlete := range athletes {
		switch id := athlete.AthleteID; {
		case planned[id]:
		case !allows(bases, id, day):
			v.NoConsent = append(v.NoConsent, athlete)
		case !level.Of(tests[id], day).Planning().Known():
			v.Missing = append(v.Missing, page.MissingLine{Athlete: athlete, Test: planner.TestBase})
		default:
			v.Ready++
		}
	}
	return v, nil
}

// listPlans puts the plans of athletes into v, in the athletes' order, and tells
// who has one.
func listPlans(v *page.PlansView, athletes []gym.Athlete, plans []gym.Plan) (map[uuid.UUID]bool, error) {
	byAthlete := make(map[uuid.UUID]gym.Plan, len(plans))
	for _, plan := range plans {
		byAthlete[plan.AthleteID] = plan
	}
	planned := make(map[uuid.UUID]bool, len(plans))
	for _, athlete := range athletes {
		kept, found := byAthlete[athlete.AthleteID]
		if !found {
			continue
		}
		planned[athlete.AthleteID] = true
		line := page.ClassPlanLine{Athlete: athlete, Kept: kept, Notes: kept.Notes}
		if err := json.Unmarshal(kept.Output, &line.Plan); err != nil {
			return nil, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
		}
		if kept.SentAt == nil {
			v.Unsent++
		}
		v.Lines = append(v.Lines, line)
	}
	return planned, nil
}

// postPlans makes plans for everybody, or sends those made.
func (s *Server) postPlans(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	day, err := dayTyped(r.PostFormValue("day"))
	if err != nil {
		return err
	}
	back := "/classes/" + id.String() + "/plans?day=" + day.Format(time.DateOnly)
	if r.PostFormValue("do") == "send" {
		sent, err := s.Coaching.SendPlans(r.Context(), who(r.Context()), id, day)
		if err != nil {
			return err
		}
		s.say(r, part.Count(sent, "plan is", "plans are")+" on the phones now.")
		return seeOther(w, r, back)
	}
	minutes := 0.0 // as the class meets on that day
	if typed := trimmed(r.PostFormValue("minutes")); typed != "" {
		if minutes, err = strconv.ParseFloat(typed, 64); err != nil {
			minutes = -1
		}
	}
	report, err := s.Coaching.PlanClass(r.Context(), who(r.Context()), coaching.ClassPlan{Class: id, Day: day, Minutes: minutes})
	if err != nil {
		v, viewErr := s.plansView(r, id, day.Format(time.DateOnly))
		if viewErr != nil {
			return viewErr
		}
		v.Minutes = r.PostFormValue("minutes")
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, "Plans")
			meta.Error = true
			return page.ClassPlans(meta, v, messages)
		})
	}
	s.say(r, plannedSentence(report))
	return seeOther(w, r, back)
}

func plannedSentence(report coaching.Report) string {
	made, missing, refused := 0, 0, 0
	for _, athlete := range report.Athletes {
		switch {
		case athlete.NoConsent:
			refused++
		case athlete.Test != "":
			missing++
		default:
			made++
		}
	}
	text := part.Count(made, "plan", "plans") + " made."
	if missing > 0 {
		text += " " + part.Count(missing, "athlete needs", "athletes need") + " a test first."
	}
	if refused > 0 {
		text += " For " + part.Count(refused, "athlete", "athletes") + " a guardian has not agreed."
	}
	return text
}
