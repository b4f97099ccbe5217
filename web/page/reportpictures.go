package page

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/review"
	"ropewalk.example/web/part"
)

// rateMovement draws the base tests of a term with their uncertainty, and the
// level from which a change is real.
func rateMovement(prefix string, span review.Span, r review.Rates) part.Chart {
	chart := part.Chart{ID: prefix + "rates", Title: "Rates over the term", When: "Day"}
	day := func(d time.Time) float64 { return float64(d.Unix()) / (24 * 3600) }
	point := func(t review.Test, known rate.Rate) part.Point {
		return part.Point{At: day(t.Day), When: part.Day(t.Day), Value: known.RPM, Low: known.RPM - known.Expanded(), High: known.RPM + known.Expanded()}
	}
	var whole, turning []part.Point
	for _, t := range r.Tests {
		whole = append(whole, point(t, t.Whole))
		if t.Turning.RPM > 0 {
			turning = append(turning, point(t, t.Turning))
		}
	}
	for _, series := range []part.Series{{Name: "whole test", Points: whole}, {Name: "turning", Points: turning}} {
		if len(series.Points) > 0 {
			chart.Series = append(chart.Series, series)
		}
	}
	if bar, ok := r.Whole.Bar(); ok {
		chart.Goals = []part.Goal{{Value: bar, Text: "whole test really faster above " + part.Whole(bar)}}
	}
	for week := 1; week <= span.Weeks(); week++ {
		monday := span.WeekStart(week)
		chart.Ticks = append(chart.Ticks, part.Tick{At: day(monday), Text: monday.Format("2 Jan")})
	}
	chart.Finding = joined(r.Finding()...)
	return chart
}

// runSurvival draws how many clean runs go past each length, with its interval.
func runSurvival(prefix string, r review.Runs) part.Curve {
	curve := part.Curve{ID: prefix + "runs", Title: "How far clean runs go", Stepped: true, X: part.Axis{Name: "Jumps", Unit: "jumps"},
		Y: part.Axis{Name: "Runs that go on", Unit: "%", High: 100, Text: part.Whole}, Extra: []string{"Runs so long"}}
	curve.Points = []part.CurvePoint{{X: 0, Y: 100, Hidden: true}}
	for _, p := range r.Clean.Curve {
		point := part.CurvePoint{X: float64(p.Reps), Y: 100 * p.Survival, Low: math.NaN(), High: math.NaN(), Extra: []string{strconv.Itoa(p.AtRisk)}}
		if !math.IsNaN(p.Low) {
			point.Low, point.High = 100*p.Low, 100*p.High
		}
		curve.Points = append(curve.Points, point)
	}
	curve.Finding = "How many clean runs went past each length, with the 95 % interval."
	return curve
}

// heightNeeded draws how high a jump a double needs, with the athlete's dot.
func heightNeeded(prefix string, d review.Doubles) part.Curve {
	c := heightPicture(d.Doubles)
	c.ID, c.Finding = prefix+"height", joined(d.Sentences()...)
	return c
}

// meetings draws which meetings somebody came to.
func meetings(prefix string, a review.Attendance) part.Strip {
	strip := part.Strip{ID: prefix + "here", Title: "Meetings come to", Finding: a.Sentence()}
	for _, m := range a.Meetings {
		mark := part.StripMark{When: part.Day(m.Day)}
		switch {
		case m.Here:
			mark.State = part.WasHere
		case m.Noted:
			mark.State = part.WasAway
		}
		strip.Marks = append(strip.Marks, mark)
	}
	return strip
}

// weeklyLoad draws the load of each week with its monotony beneath.
func weeklyLoad(prefix string, l review.Load) part.Bars {
	bars := part.Bars{ID: prefix + "load", Title: "Load week by week", Unit: "Load", When: "Week from", Under: "mono."}
	heaviest := review.LoadWeek{}
	for _, w := range l.Weeks {
		bar := part.Bar{When: w.Start.Format("2 Jan"), Value: w.Total}
		if !math.IsNaN(w.Monotony) {
			bar.Under = strconv.FormatFloat(w.Monotony, 'f', 1, 64)
		}
		if w.Total > heaviest.Total {
			heaviest = w
		}
		bars.Bars = append(bars.Bars, bar)
	}
	bars.Finding = "No load is known yet: nobody said how sessions went."
	if heaviest.Total > 0 {
		bars.Finding = fmt.Sprintf("Load is effort times minutes. The heaviest week began on %s, with %s.", part.Day(heaviest.Start), part.Whole(heaviest.Total))
	}
	return bars
}

// catchPlaces draws where the rope stopped and when.
func catchPlaces(prefix string, c review.Catches) part.Spots {
	spots := part.Spots{ID: prefix + "catches", Title: "Where the rope stopped", Place: "Where", Times: []string{"early", "in time", "late", "not noticed"}}
	most := review.CatchRow{}
	for _, row := range c.Rows {
		spots.Rows = append(spots.Rows, part.SpotRow{Place: spotWord(row.Spot), Counts: []int{row.Early, row.InTime, row.Late, row.Other}})
		if row.Total() > most.Total() {
			most = row
		}
	}
	spots.Finding = fmt.Sprintf("%s of %d catches noted: %s. The columns say when the wrists turned.", part.Whole(float64(most.Total())), c.Total, spotWord(most.Spot))
	return spots
}

func spotWord(s ladder.Spot) string {
	switch s {
	case ladder.Head:
		return "head, back"
	default:
		return string(s)
	}
}

// spreadOfRates draws how a group's rates lie at both ends of the term.
func spreadOfRates(g review.Group) part.Ranges {
	ranges := part.Ranges{ID: "spread", Title: "Rates from lowest to highest", Unit: "rpm"}
	for _, rates := range []struct {
		name string
		ends review.SpreadEnds
	}{{"Whole test", g.Whole}, {"Turning", g.Turning}, {"Burst", g.Burst}} {
		for _, end := range []struct {
			name   string
			spread review.Spread
			later  bool
		}{{"start", rates.ends.Start, false}, {"end", rates.ends.End, true}} {
			if end.spread.Shown() {
				ranges.Rows = append(ranges.Rows, part.Range{Name: rates.name + ", " + end.name, Count: end.spread.N,
					Low: end.spread.Low, Middle: end.spread.Middle, High: end.spread.High, Later: end.later})
			}
		}
	}
	ranges.Finding = "Each line runs from the lowest to the highest; the upright stroke is the middle. Nobody is named."
	if w := g.Whole; w.Start.Shown() && w.End.Shown() {
		ranges.Finding = fmt.Sprintf("The middle whole-test rate went from %s to %s rpm. Each line runs from lowest to highest, without names.",
			part.Whole(w.Start.Middle), part.Whole(w.End.Middle))
	}
	return ranges
}

// weeklyAttendance draws how many came week by week.
func weeklyAttendance(g review.Group) part.Bars {
	bars := part.Bars{ID: "weeks", Title: "Attendance week by week", Unit: "Came, %", When: "Week from", Under: "came"}
	for _, w := range g.Weeks {
		bar := part.Bar{When: w.Start.Format("2 Jan"), Value: 100 * w.Share()}
		if w.Noted > 0 {
			bar.Under = fmt.Sprintf("%d/%d", w.Here, w.Noted)
		}
		bars.Bars = append(bars.Bars, bar)
	}
	bars.Finding = "Nobody noted who came this term."
	if g.Noted > 0 {
		bars.Finding = fmt.Sprintf("%d of %d possible attendances. A week without a bar had no meeting.", g.Here, g.Noted)
	}
	return bars
}
