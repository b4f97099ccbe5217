package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/web/page"
)

// What an athlete types is an entry like those that phones keep; these forms are
// the way in without scripts.

func (s *Server) resultForm(r *http.Request) (page.ResultForm, error) {
	m, err := s.readMine(r)
	form := page.ResultForm{Phone: phoneOf(r), ID: newID().String(), Tests: m.tests(), Setup: m.setup(), Minor: m.minor(s.today(m.gym))}
	return form, err
}

func (s *Server) getMyResult(w http.ResponseWriter, r *http.Request) error {
	form, err := s.resultForm(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EnterResult(s.phoneMeta(r, "Enter a result"), form, nil))
}

// postMyResult keeps a result that an athlete enters.
func (s *Server) postMyResult(w http.ResponseWriter, r *http.Request) error {
	form, err := s.resultForm(r)
	if err != nil {
		return err
	}
	body, messages := resultFrom(r, &form)
	said := ""
	if err = problem.Form(messages); err == nil {
		said, err = s.Receiving.Keep(r.Context(), who(r.Context()), parsed(form.ID), receiving.Result, body)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.phoneMeta(r, "Enter a result")
			meta.Error = true
			return page.EnterResult(meta, form, messages)
		})
	}
	s.say(r, strings.TrimSpace("Saved. "+said))
	return seeOther(w, r, "/me")
}

// resultFrom reads the form; what is no number gets a message.
func resultFrom(r *http.Request, form *page.ResultForm) (receiving.ResultBody, map[string]string) {
	form.ID = idFrom(r, "id").String()
	form.Setup = page.PhoneSetup{Test: r.PostFormValue("test"), Step: r.PostFormValue("step"), RopeKind: r.PostFormValue("rope"),
		Surface: r.PostFormValue("surface"), CountedBy: r.PostFormValue("counted_by")}
	form.Adult = r.PostFormValue("adult") != ""
	typed := typing{r: r, messages: map[string]string{}}
	protocol, window, _ := strings.Cut(form.Setup.Test, " ")
	body := receiving.ResultBody{Protocol: protocol, Step: form.Setup.Step, RopeKind: form.Setup.RopeKind, Surface: form.Setup.Surface,
		CountedBy: form.Setup.CountedBy, Timing: string(rate.ByHand), Adult: form.Adult}
	if seconds, err := strconv.ParseFloat(window, 64); err == nil && seconds > 0 {
		body.Seconds = &seconds
	}
	form.Rotations, body.Rotations = typed.whole("rotations", "The count must be a whole number, like 87.")
	if form.Rotations == "" {
		typed.messages["rotations"] = "Type how many there were, like 87."
	}
	var catches *int
	if form.Catches, catches = typed.whole("catches", "Catches must be a whole number from 0 to 99."); catches != nil {
		body.Catches = *catches
	}
	form.Lost, body.Lost = typed.decimal("lost", "The seconds lost must be a number, like 2.5.")
	return body, typed.messages
}

// typing reads numbers out of a form and collects what is wrong with them.
type typing struct {
	r        *http.Request
	messages map[string]string
}

func (t typing) whole(field, message string) (text string, n *int) {
	text = trimmed(t.r.PostFormValue(field))
	if text == "" {
		return text, nil
	}
	value, ok := number(text)
	if !ok {
		t.messages[field] = message
		return text, nil
	}
	return text, &value
}

func (t typing) decimal(field, message string) (text string, n *float64) {
	text = trimmed(t.r.PostFormValue(field))
	if text == "" {
		return text, nil
	}
	value, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		t.messages[field] = message
		return text, nil
	}
	return text, &value
}

func (s *Server) debriefForm(r *http.Request) (page.DebriefForm, error) {
	m, err := s.readMine(r)
	form := page.DebriefForm{Phone: phoneOf(r), ID: newID().String(), Action: "/me/debrief", Pain: "0"}
	if err != nil {
		return form, err
	}
	for _, kept := range m.plans { // newest first: the last one up to today
		if kept.Day.After(s.today(m.gym)) {
			continue
		}
		form.PlanID = kept.PlanID.String()
		var plan planner.Plan
		if err := json.Unmarshal(kept.Output, &plan); err != nil {
			return form, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
		}
		form.Bursty = plan.Split.Burst > 0
		break
	}
	return form, nil
}

func (s *Server) getMyDebrief(w http.ResponseWriter, r *http.Request) error {
	form, err := s.debriefForm(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Debrief(s.phoneMeta(r, "How did it go?"), form, nil))
}

// postMyDebrief keeps how it went; pain opens a hold and is said on the page.
func (s *Server) postMyDebrief(w http.ResponseWriter, r *http.Request) error {
	form, err := s.debriefForm(r)
	if err != nil {
		return err
	}
	body, messages := debriefFrom(r, &form)
	said := ""
	if err = problem.Form(messages); err == nil {
		said, err = s.Receiving.Keep(r.Context(), who(r.Context()), parsed(form.ID), receiving.Debrief, body)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.phoneMeta(r, "How did it go?")
			meta.Error = true
			return page.Debrief(meta, form, messages)
		})
	}
	s.say(r, strings.TrimSpace("Saved. "+said))
	return seeOther(w, r, "/me")
}

// debriefFrom reads the form; a field that is no number gets a message.
func debriefFrom(r *http.Request, form *page.DebriefForm) (receiving.DebriefBody, map[string]string) {
	typed := typing{r: r, messages: map[string]string{}}
	var b receiving.DebriefBody
	form.Sets, b.Sets = typed.whole("sets", "Sets must be a whole number from 0 to 99.")
	form.Bursts, b.Bursts = typed.whole("bursts", "Bursts must be a whole number from 0 to 999.")
	form.CleanBursts, b.CleanBursts = typed.whole("clean_bursts", "Clean bursts must be a whole number from 0 to 999.")
	form.Catches, b.Catches = typed.whole("catches", "Catches must be a whole number from 0 to 999.")
	form.Effort, b.Effort = typed.whole("effort", "Effort is a whole number from 0 to 10.")
	form.Minutes, b.Minutes = typed.decimal("minutes", "Minutes must be from 0 to 600.")
	var pain *int
	if form.Pain, pain = typed.whole("pain", "Pain is a whole number from 0 to 10."); pain != nil {
		b.Pain = *pain
	}
	form.Place, form.Note, form.Signs = r.PostFormValue("pain_place"), cut(r.PostFormValue("note"), 500), r.PostForm["pain_signs"]
	b.PainPlace, b.Note, b.PainSigns = form.Place, form.Note, form.Signs
	form.ID, form.PlanID = idFrom(r, "id").String(), r.PostFormValue("plan")
	b.Plan = parsed(form.PlanID)
	return b, typed.messages
}

// getMyResults lists the results that an athlete may correct.
func (s *Server) getMyResults(w http.ResponseWriter, r *http.Request) error {
	m, err := s.readMine(r)
	if err != nil {
		return err
	}
	v := page.MyResultsView{Phone: phoneOf(r), Results: m.correctable(), Saved: s.saved(r.Context())}
	return render(w, r, http.StatusOK, page.MyResults(s.phoneMeta(r, "Change a result"), v))
}

// postMyResults corrects a result, or takes it out.
func (s *Server) postMyResults(w http.ResponseWriter, r *http.Request) error {
	typed := typing{r: r, messages: map[string]string{}}
	body := receiving.CorrectionBody{Corrects: parsed(r.PostFormValue("corrects")), Void: r.PostFormValue("do") == "void"}
	_, body.Rotations = typed.whole("rotations", "The count must be a whole number, like 87.")
	_, body.Catches = typed.whole("catches", "Catches must be a whole number from 0 to 99.")
	if body.Corrects == uuid.Nil {
		return problem.New(problem.Invalid, "Choose a result from the list and change it there.")
	}
	err := problem.Form(typed.messages)
	said := ""
	if err == nil {
		said, err = s.Receiving.Keep(r.Context(), who(r.Context()), newID(), receiving.Correction, body)
	}
	if sentences := problem.FieldsOf(err); sentences != nil {
		for _, sentence := range sentences {
			return problem.New(problem.Invalid, "%s Go back and type it again.", sentence)
		}
	}
	if err != nil {
		return err
	}
	s.say(r, strings.TrimSpace("Changed. The first count stays in the history. "+said))
	return seeOther(w, r, "/me/results")
}
