package server

import (
	"fmt"
	"net/http"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// namesAtOnce is how many names the roster has on one page: a hall's, whole.
const namesAtOnce = 2000

// getAthletes lists everybody in the gym.
func (s *Server) getAthletes(w http.ResponseWriter, r *http.Request) error {
	var athletes []gym.Named
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Names(pageOf(r, namesAtOnce), &athletes)); err != nil {
		return err
	}
	athletes, next := onward(r, "/athletes", athletes, namesAtOnce, func(a gym.Named) uuid.UUID { return a.AthleteID })
	return render(w, r, http.StatusOK, page.Athletes(s.meta(r, "Athletes"), athletes, next))
}

// shownResults and shownPlans are how many rows the page of an athlete has;
// resultsAtOnce is how many the page of all results has.
const (
	shownResults  = 15
	shownPlans    = 6
	resultsAtOnce = 100
)

// getAthlete shows what is known of one athlete, in one round trip.
func (s *Server) getAthlete(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var rows athleteRows
	ground, athlete, err := s.Deciding.LoadOne(r.Context(), me, id, rows.readings(id, s.Now())...)
	if err != nil {
		return err
	}
	v := page.AthleteView{Athlete: athlete.Athlete, Classes: rows.classes, Today: ground.Today,
		MayPlan: may(me.Role, planAndDecide), Owner: may(me.Role, manageGym), NoStage: athlete.Place.Stage == ""}
	v.Saved, v.SavedOf = s.heard(r.Context())
	if v.Stage = "Not on a stage yet"; !v.NoStage {
		if stage, ok := ground.Stage(athlete); ok {
			v.Stage = fmt.Sprintf("%d · %s", stage.Number, stage.Title)
		}
	}
	found, err := rows.find(ground, athlete, s.Now())
	if err != nil {
		return err
	}
	found.show(&v, r.URL.Query().Get("bar"))
	v.Results = resultLines(rows.recorded[:min(shownResults, len(rows.recorded))])
	v.MoreRows = len(rows.recorded) > shownResults
	for _, kept := range rows.plans[:min(shownPlans, len(rows.plans))] {
		line, err := planLine(kept)
		if err != nil {
			return err
		}
		v.Plans = append(v.Plans, line)
	}
	return render(w, r, http.StatusOK, page.Athlete(s.wide(r, v.Athlete.Name), v))
}

// getAthleteResults lists everything that was ever recorded of an athlete.
func (s *Server) getAthleteResults(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	var v page.AthleteResultsView
	var recorded []store.Recorded
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Athlete(id, &v.Athlete), store.RecordedOf(id, pageOf(r, resultsAtOnce), &recorded))
	if err != nil {
		return err
	}
	recorded, v.Earlier = onward(r, "/athletes/"+id.String()+"/results", recorded, resultsAtOnce, func(r store.Recorded) uuid.UUID { return r.ResultID })
	v.Results = resultLines(recorded)
	return render(w, r, http.StatusOK, page.AthleteResults(s.wide(r, "Results of "+v.Athlete.Name), v))
}

// resultLines are the rows of results, replaced ones too.
func resultLines(recorded []store.Recorded) []page.ResultLine {
	lines := make([]page.ResultLine, len(recorded))
	for i, r := range recorded {
		lines[i] = resultLine(r.Result)
		lines[i].Old = r.Replaced
	}
	return lines
}

// resultLine puts the rates beside a result.
func resultLine(r gym.Result) page.ResultLine {
	line := page.ResultLine{Result: r, Test: page.TestName(r), Counted: page.Counted(r)}
	if known, err := level.RateOf(r); err == nil {
		line.Whole = page.RateFigure(known)
	}
	if known, err := level.TurningOf(r); err == nil {
		line.Turning = page.RateFigure(known)
	}
	return line
}

// rateChart draws base tests over time, turning and whole-test rate apart, and
// bursts: those of the newest base test's step and rope, as only these compare.
func rateChart(standing []gym.Result, name string) part.Chart {
	var turning, whole, bursts []part.Point
	step, rope := newestKind(standing)
	for i := len(standing) - 1; i >= 0; i-- { // oldest first
		r := standing[i]
		known, err := level.RateOf(r)
		if err != nil || !level.Counts(r) || r.Step != step || r.RopeKind != rope {
			continue
		}
		at := float64(r.Day.Unix()) / (24 * 3600)
		point := part.Point{At: at, When: part.Day(r.Day), Value: known.RPM, Low: known.RPM - known.Expanded(), High: known.RPM + known.Expanded()}
		switch r.Protocol {
		case rate.Burst:
			bursts = append(bursts, point)
		case rate.Base:
			whole = append(whole, point)
			if t, err := level.TurningOf(r); err == nil {
				turning = append(turning, part.Point{At: at, When: part.Day(r.Day), Value: t.RPM, Low: t.RPM - t.Expanded(), High: t.RPM + t.Expanded()})
			}
		}
	}
	chart := part.Chart{ID: "rates", Title: "Rates of " + name, When: "Day"}
	if len(whole) == 0 {
		return chart
	}
	chart.Finding = findingOf(whole, turning)
	for _, series := range []part.Series{{Name: "turning", Points: turning}, {Name: "whole test", Points: whole}, {Name: "burst", Points: bursts}} {
		if len(series.Points) > 0 {
			chart.Series = append(chart.Series, series)
		}
	}
	first, last := whole[0], whole[len(whole)-1]
	chart.Ticks = []part.Tick{{At: first.At, Text: first.When}}
	if last.At > first.At {
		chart.Ticks = append(chart.Ticks, part.Tick{At: last.At, Text: last.When})
	}
	return chart
}

// newestKind returns step and rope of the newest base test; standing is newest
// first.
func newestKind(standing []gym.Result) (step, rope string) {
	for _, r := range standing {
		if r.Protocol == rate.Base && level.Counts(r) {
			return r.Step, r.RopeKind
		}
	}
	return "", ""
}

func findingOf(whole, turning []part.Point) string {
	first, last := whole[0], whole[len(whole)-1]
	if len(whole) < 2 {
		return fmt.Sprintf("One base test so far: %.0f rpm over the whole test.", first.Value)
	}
	text := fmt.Sprintf("From %s to %s the whole-test rate went from %.0f to %.0f rpm.", first.When, last.When, first.Value, last.Value)
	if len(turning) >= 2 {
		text += fmt.Sprintf(" While the rope turned: %.0f and %.0f.", turning[0].Value, turning[len(turning)-1].Value)
	}
	return text
}
