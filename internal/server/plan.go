package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// planning are the pages of whoever plans: one plan, a coach's change to it, and
// the gym's rules.
func (s *Server) planning(r chi.Router) {
	r.Get("/plans/{plan}", s.page(s.getPlan))
	r.Get("/plans/{plan}/tweak", s.page(s.getTweak))
	r.Post("/plans/{plan}/tweak", s.page(s.postTweak))
	r.Get("/rules", s.page(s.getRules))
	r.Post("/rules", s.page(s.postRules))
	r.Get("/athletes/{athlete}/release", s.page(s.getRelease))
	r.Post("/athletes/{athlete}/release", s.page(s.postRelease))
}

// getPlan shows one plan with its reasons, worked out again from its inputs.
func (s *Server) getPlan(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "plan")
	if err != nil {
		return err
	}
	v := page.PlanView{Saved: s.saved(r.Context())}
	var g gym.Gym
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Plan(id, &v.Kept), store.AthleteOfPlan(id, &v.Athlete)); err != nil {
		return err
	}
	again, err := coaching.WorkAgain(v.Kept)
	if err != nil {
		return err
	}
	if again.Err != nil {
		s.Log.WarnContext(r.Context(), "an old plan cannot be worked out again", "plan", id, "error", again.Err)
	}
	v.Plan, v.Parts, v.Same, v.Now = again.Plan, again.Parts, again.Same, again.Now
	if again.Plan.Kind != planner.KindHold { // which says its reason itself
		v.Hour = again.Why
	}
	v.Change = !v.Kept.Day.Before(s.today(g)) && v.Plan.Kind != planner.KindHold
	return render(w, r, http.StatusOK, page.Plan(s.wide(r, "Plan"), v))
}

func planLine(kept gym.Plan) (page.PlanLine, error) {
	plan, err := finding.ReadPlan(kept)
	if err != nil {
		return page.PlanLine{}, err
	}
	return page.PlanLine{Plan: kept, Sentence: page.PlanSentence(plan), Treads: page.TreadsOf(plan)}, nil
}

// tweakFrom reads a coach's change from the address or the form, and returns a
// message per field that is no number.
func tweakFrom(r *http.Request, v *page.TweakView) (coaching.Tweak, map[string]string) {
	messages := map[string]string{}
	field := func(name string) string { return trimmed(r.FormValue(name)) }
	v.Split, v.Step, v.Cycles, v.Sets, v.Rest = field("split"), field("step"), field("cycles"), field("sets"), field("rest")
	decimal := func(name, text string) *float64 {
		if text == "" {
			return nil
		}
		n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil {
			messages[name] = "Type a number, like 25."
			return nil
		}
		return &n
	}
	whole := func(name, text string) int {
		if text == "" {
			return 0
		}
		n, ok := number(text)
		if !ok || n < 1 {
			messages[name] = "Type a whole number from 1 up, like 4."
		}
		return n
	}
	t := coaching.Tweak{StepRPM: decimal("step", v.Step), Sets: planner.Tweak{MostCycles: whole("cycles", v.Cycles), MostSets: whole("sets", v.Sets)}}
	if rest := decimal("rest", v.Rest); rest != nil {
		t.Sets.LeastRestSeconds = *rest
	}
	if v.Split != "" {
		for _, split := range planner.SplitLadder() {
			if page.SplitKey(split) == v.Split {
				t.Split = &split
			}
		}
		if t.Split == nil {
			messages["split"] = "Choose a split from the list."
		}
	}
	return t, messages
}

// readTweak gets the page of a change ready.
func (s *Server) readTweak(r *http.Request) (page.TweakView, coaching.Tweak, map[string]string, error) {
	id, err := idIn(r, "plan")
	if err != nil {
		return page.TweakView{}, coaching.Tweak{}, nil, err
	}
	v := page.TweakView{ID: newID().String()}
	if given, err := uuid.Parse(r.FormValue("id")); err == nil {
		v.ID = given.String() // sent twice, kept once
	}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Plan(id, &v.Kept), store.AthleteOfPlan(id, &v.Athlete)); err != nil {
		return v, coaching.Tweak{}, nil, err
	}
	if v.Before, err = finding.ReadPlan(v.Kept); err != nil {
		return v, coaching.Tweak{}, nil, err
	}
	t, messages := tweakFrom(r, &v)
	t.Plan = id
	return v, t, messages, nil
}

// getTweak shows what a change would do; it keeps nothing.
func (s *Server) getTweak(w http.ResponseWriter, r *http.Request) error {
	v, t, messages, err := s.readTweak(r)
	if err != nil {
		return err
	}
	if r.FormValue("try") == "" {
		return render(w, r, http.StatusOK, page.Tweak(s.wide(r, "Change the plan"), v, nil))
	}
	tweaked := coaching.Tweaked{}
	if err = problem.Form(messages); err == nil {
		tweaked, err = s.Coaching.TryTweak(r.Context(), who(r.Context()), t)
	}
	if err != nil {
		return s.tweakAgain(w, r, err, v)
	}
	v.Tried, v.After = true, tweaked.After.Plan
	return render(w, r, http.StatusOK, page.Tweak(s.wide(r, "Change the plan"), v, nil))
}

// postTweak makes the changed plan the athlete's.
func (s *Server) postTweak(w http.ResponseWriter, r *http.Request) error {
	v, t, messages, err := s.readTweak(r)
	if err != nil {
		return err
	}
	if err = problem.Form(messages); err == nil {
		_, err = s.Coaching.KeepTweak(r.Context(), who(r.Context()), parsed(v.ID), t)
	}
	if err != nil {
		return s.tweakAgain(w, r, err, v)
	}
	said := "Changed. Send it to the phone with the other plans of the class."
	if v.Kept.SentAt != nil {
		said = "Changed, and on the phone now."
	}
	s.say(r, said)
	return seeOther(w, r, fmt.Sprintf("/plans/%s", v.ID))
}

func (s *Server) tweakAgain(w http.ResponseWriter, r *http.Request, err error, v page.TweakView) error {
	return again(w, r, err, func(messages map[string]string) templ.Component {
		meta := s.wide(r, "Change the plan")
		meta.Error = true
		return page.Tweak(meta, v, messages)
	})
}
