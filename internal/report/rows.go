package report

import (
	"math"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/review"
)

// A row is the cells of one row: string, int, float64, bool, time.Time, or nil
// for what is not known.
type row []any

// rowsOf are an athlete's rows, by table.
func rowsOf(a review.Athlete, f review.Facts) [5][]row {
	var all [5][]row
	id, name := a.AthleteID.String(), a.Name
	all[athletes] = []row{athleteRow(a)}
	for _, r := range f.Results {
		all[results] = append(all[results], resultRow(id, name, r))
	}
	for _, m := range a.Attendance.Meetings {
		was := ""
		switch {
		case m.Here:
			was = "here"
		case m.Noted:
			was = "away"
		}
		all[meetings] = append(all[meetings], row{id, name, m.Day, was})
	}
	for _, m := range a.Climb.Moves {
		all[stages] = append(all[stages], row{id, name, m.Day, m.From.String(), m.To.String(), m.Up})
	}
	for _, w := range a.Load.Weeks {
		if w.Sessions > 0 || w.Contacts > 0 {
			all[weeks] = append(all[weeks], row{id, name, w.Start, w.Sessions, w.Total, known(w.Monotony), w.Contacts})
		}
	}
	return all
}

func athleteRow(a review.Athlete) row {
	r := a.Rates
	cells := row{a.AthleteID.String(), a.Name, len(r.Tests), r.Step, r.Rope}
	cells = append(cells, movementCells(r.Whole)...)
	cells = append(cells, movementCells(r.Turning)...)
	cells = append(cells, when(r.Split.Known, r.Split.FewerCatches), when(r.Split.Known, r.Split.TurningFaster),
		when(r.PerMinute.KnownStart, r.PerMinute.Start), when(r.PerMinute.KnownEnd, r.PerMinute.End))
	cells = append(cells, movementCells(r.Burst)...)
	best, row := a.Runs.Best, a.Runs.BestRow
	return append(cells, when(best.Reps > 0, best.Reps), when(best.Reps > 0, best.Day), when(a.Runs.Clean.HasMedian, a.Runs.Clean.Median),
		when(row.Reps > 0, row.Reps), when(a.Climb.Start.Known(), a.Climb.Start.String()), when(a.Climb.End.Known(), a.Climb.End.String()),
		a.Climb.Ups(), a.Attendance.Here, a.Attendance.Noted, a.Load.Sessions, a.Load.Minutes, known(a.Load.Effort), a.Load.Total, a.Load.Contacts,
		a.LeftOut, a.Comment, a.Aim.Words)
}

func movementCells(m review.Movement) row {
	cells := row{}
	for _, e := range []review.End{m.Start, m.End} {
		cells = append(cells, when(e.Known(), e.RPM), when(e.Known(), e.Low), when(e.Known(), e.High))
	}
	return append(cells, when(m.Judged(), m.Gain()), known(m.Change.Needed), m.Words())
}

func resultRow(id, name string, r gym.Result) row {
	cells := row{r.ResultID.String(), id, name, r.Day, r.Protocol, orNone(r.Seconds), orNone(r.Rotations), r.Catches, orNone(r.LostSeconds)}
	cells = append(cells, rateCells(level.RateOf(r))...)
	cells = append(cells, rateCells(level.TurningOf(r))...)
	return append(cells, r.Step, r.RopeKind, r.Surface, r.CountedBy, r.SeenByCoach, r.StoppedClean, r.KeptOdd, r.Note)
}

func rateCells(known rate.Rate, err error) row {
	return row{when(err == nil, known.RPM), when(err == nil, known.Expanded())}
}

// when returns v if it is known, else nothing.
func when[T any](is bool, v T) any {
	if !is {
		return nil
	}
	return v
}

// known returns a number, or nothing for one that is not.
func known(v float64) any { return when(!math.IsNaN(v) && !math.IsInf(v, 0), v) }

// orNone returns what v points at, or nothing.
func orNone[T any](v *T) any {
	if v == nil {
		return nil
	}
	return *v
}
