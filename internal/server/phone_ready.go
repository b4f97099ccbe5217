package server

import (
	"net/http"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// ready is what a phone keeps for a hall without a signal: numbers, pictures and
// ids, and nobody's name.
type ready struct {
	Now         time.Time       `json:"now"`
	Athlete     uuid.UUID       `json:"athlete"`
	Held        bool            `json:"held"`
	Minor       bool            `json:"minor"` // jumps with an adult present; may shorten, not push
	Plan        *readyPlan      `json:"plan"`
	Rates       string          `json:"rates"`       // HTML
	Corrections string          `json:"corrections"` // HTML
	Tests       []page.Choice   `json:"tests"`
	Setup       page.PhoneSetup `json:"setup"`
}

// readyPlan is a plan as a phone shows and plays it.
type readyPlan struct {
	ID       uuid.UUID    `json:"id"`
	Day      string       `json:"day"` // 2026-11-05
	Sentence string       `json:"sentence"`
	HTML     string       `json:"html"`    // the plan with its reasons
	Picture  string       `json:"picture"` // the step line with its numbers
	Live     string       `json:"live"`    // the step line that moves
	Blocks   []page.Block `json:"blocks"`
	LeadIn   int          `json:"lead_in"` // beats before a set
	Bursty   bool         `json:"bursty"`
}

// getReady answers in JSON what a phone keeps.
func (s *Server) getReady(w http.ResponseWriter, r *http.Request) {
	kept, err := s.readyOf(r)
	if err != nil {
		s.answerPhone(w, r, err)
		return
	}
	writeJSON(w, http.StatusOK, kept)
}

func (s *Server) readyOf(r *http.Request) (ready, error) {
	me := who(r.Context())
	if err := mustBeAthlete(me); err != nil {
		return ready{}, err
	}
	m, err := s.readMine(r)
	if err != nil {
		return ready{}, err
	}
	today := s.today(m.gym)
	out := ready{Now: s.Now(), Athlete: me.AthleteID, Held: m.held(), Minor: m.minor(today), Tests: m.tests(), Setup: m.setup()}
	if l := languageOf(r.Context()); l != nil {
		for i := range out.Tests {
			out.Tests[i].Text = l.Text(out.Tests[i].Text)
		}
	}
	if out.Rates, err = markup(r, page.Record(m.record(today))); err != nil {
		return ready{}, err
	}
	if out.Corrections, err = markup(r, page.Corrections(m.correctable())); err != nil {
		return ready{}, err
	}
	kept, plan, found, err := m.next(today)
	if err != nil || !found || out.Held {
		return out, err
	}
	out.Plan, err = planForPhone(r, kept, plan)
	return out, err
}

func planForPhone(r *http.Request, kept gym.Plan, plan planner.Plan) (*readyPlan, error) {
	out := &readyPlan{ID: kept.PlanID, Day: kept.Day.Format(time.DateOnly), Sentence: page.PlanSentence(plan), Blocks: page.BlocksOf(plan),
		LeadIn: plan.Cue.LeadInBeats, Bursty: plan.Split.Burst > 0}
	for _, piece := range []struct {
		into *string
		from templ.Component
	}{
		{&out.HTML, page.MyPlan(kept, plan)},
		{&out.Picture, part.Steps(page.StillLine(plan))},
		{&out.Live, part.Steps(page.LiveLine(plan))},
	} {
		var err error
		if *piece.into, err = markup(r, piece.from); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// markup renders a piece of a page for a phone to keep.
func markup(r *http.Request, piece templ.Component) (string, error) {
	var text strings.Builder
	err := write(r.Context(), &text, piece)
	return text.String(), err
}
