package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// recently is how far back a hand-over looks for pain and incidents.
const recently = 28 * 24 * time.Hour

// getHandOver hands a class over on one page: where everybody stands, who is on
// hold or was away, what is planned and what to watch.
func (s *Server) getHandOver(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	m, g, err := s.nextMeeting(r, id)
	if err != nil {
		return err
	}
	me := who(r.Context())
	var class gym.Class
	var floors []gym.Floor
	var debriefs []gym.Debrief
	var incidents []gym.Incident
	err = s.Store.Read(r.Context(), me.GymID, store.Class(id, &class), store.FloorOf(id, &floors),
		store.DebriefsOfClass(id, m.On().Add(-recently), &debriefs), store.IncidentsOfClass(id, s.Now().Add(-recently), &incidents))
	if err != nil {
		return err
	}
	need, err := s.needsOf(r, m)
	if err != nil {
		return err
	}
	v := page.SubstituteView{Class: class, When: page.WhenWords(m, s.today(g)), Occasion: page.OccasionWords(m), MayPlan: may(me.Role, planAndDecide),
		Floor: floorWords(floors)}
	if need.last != nil {
		here := len(need.athletes) - len(need.away)
		v.Last = part.Day(need.last.Day) + ": " + page.HereWords(here, len(need.away)) + "."
		v.Note = need.last.Note
	}
	v.Incident = len(incidents)
	if v.Rows, err = substituteRows(need, m, debriefs); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Substitute(s.paper(r, "Hand-over"), v))
}

func floorWords(floors []gym.Floor) string {
	if len(floors) == 0 {
		return ""
	}
	f := floors[0]
	text := part.Count(floor.Space{LengthM: f.LengthM, WidthM: f.WidthM, SpacingM: f.SpacingM}.Fits(), "can", "can") + " jump at once"
	if f.Surface != "" {
		text += ", on " + f.Surface
	}
	if f.Note != "" {
		text += ". " + f.Note
	}
	return strings.TrimSuffix(text, ".") + "."
}

func substituteRows(need needs, m calendar.Meeting, debriefs []gym.Debrief) ([]page.SubstituteRow, error) {
	plans := map[uuid.UUID]gym.Plan{}
	for _, plan := range need.plans {
		plans[plan.AthleteID] = plan
	}
	is := func(among []gym.Athlete, id uuid.UUID) bool {
		return slices.ContainsFunc(among, func(a gym.Athlete) bool { return a.AthleteID == id })
	}
	var rows []page.SubstituteRow
	for _, athlete := range need.athletes {
		id := athlete.AthleteID
		row := page.SubstituteRow{Athlete: athlete, Stage: need.stages[id], Stop: is(need.pain, id)}
		if kept, planned := plans[id]; planned {
			var plan planner.Plan
			if err := json.Unmarshal(kept.Output, &plan); err != nil {
				return nil, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
			}
			row.Plan = page.PlanSentence(plan)
		}
		if !athlete.StartedOn.IsZero() && m.On().Sub(athlete.StartedOn) <= recently {
			row.Watch = append(row.Watch, "New: since "+part.Day(athlete.StartedOn))
		}
		if is(need.away, id) {
			row.Watch = append(row.Watch, "Away last time")
		}
		if is(need.noTest, id) {
			row.Watch = append(row.Watch, "Needs a base test first")
		}
		if is(need.ready, id) {
			row.Watch = append(row.Watch, "Gate met: the coach decides")
		}
		if pain := newestPain(debriefs, id); pain != "" {
			row.Watch = append(row.Watch, pain)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// newestPain says where something hurt lately; debriefs are newest first.
func newestPain(debriefs []gym.Debrief, athlete uuid.UUID) string {
	for _, d := range debriefs {
		if d.AthleteID == athlete && d.Pain > 0 {
			return fmt.Sprintf("Pain %d of 10, %s, on %s", d.Pain, d.PainPlace, part.Day(d.Day))
		}
	}
	return ""
}
