package report

import (
	"fmt"
	"math"
	"strconv"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
	"ropewalk.example/internal/rhythm"
)

// A box is where a picture goes.
type box struct{ x, y, width, height float64 }

func (b box) bottom() float64 { return b.y + b.height }

// An axis maps values to places.
type axis struct{ low, high, from, to float64 }

func (a axis) at(v float64) float64 { return a.from + (a.to-a.from)*(v-a.low)/(a.high-a.low) }

// rungs are round values within the axis, about so many.
func (a axis) rungs(about float64) []float64 {
	step := niceStep((a.high - a.low) / about)
	var values []float64
	for v := math.Ceil(a.low/step-1e-9) * step; v <= a.high+step/1e6; v += step {
		values = append(values, v)
	}
	return values
}

// niceStep is the next of 1, 2, 5, 10, 20, 50 … that is not below step.
func niceStep(step float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(step)))
	for _, factor := range []float64{1, 2, 5} {
		if factor*power >= step*(1-1e-9) {
			return factor * power
		}
	}
	return 10 * power
}

// spanning returns an axis over values, widened to round ones and never empty.
func spanning(low, high, from, to float64) axis {
	if high-low < 4 {
		low, high = low-2, high+2
	}
	step := niceStep((high - low) / 4)
	return axis{math.Floor(low/step) * step, math.Ceil(high/step) * step, from, to}
}

const tick = 7.0 // points of the words in pictures

// across draws the rungs of a vertical axis with their values at the left.
func (f frame) across(b box, y axis, side float64, text func(float64) string) {
	for _, v := range y.rungs(4) {
		at := y.at(v)
		f.Line(b.x+side, at, b.x+b.width, at, paper.Stroke{Width: 0.5, Color: hair})
		f.Text(b.x+side-4, at+2.5, quiet(tick), paper.Right, text(v))
	}
}

// survival draws how many clean runs go past each length, with its interval.
func (f frame) survival(b box, r review.Runs) float64 {
	const side, foot = 26.0, 14.0
	curve := r.Clean.Curve
	longest := float64(curve[len(curve)-1].Reps)
	y := axis{0, 100, b.bottom() - foot, b.y + 10}
	x := axis{0, max(1, longest), b.x + side, b.x + b.width - 4}
	alt := fmt.Sprintf("How far %d clean runs go. %s", len(r.Clean.All), r.Sentences()[0])
	f.Element(paper.Figure, alt, func() {
		f.across(b, y, side, figure)
		f.Text(b.x+side-4, b.y+5, quiet(tick), paper.Right, "%")
		for _, v := range x.rungs(5) {
			f.Text(x.at(v), b.bottom()-3, quiet(tick), paper.Center, figure(v))
		}
		line := []float64{x.at(0), y.at(100)}
		var upper, lower []float64
		for _, p := range curve {
			at := x.at(float64(p.Reps))
			line = append(line, at, line[len(line)-1], at, y.at(100*p.Survival))
			if !math.IsNaN(p.Low) {
				if n := len(upper); n > 0 {
					upper, lower = append(upper, at, upper[n-1]), append(lower, at, lower[n-1])
				}
				upper, lower = append(upper, at, y.at(100*p.High)), append(lower, at, y.at(100*p.Low))
			}
		}
		bound := paper.Stroke{Width: 0.7, Color: ink2, Dashes: []float64{1.5, 2}}
		f.Polyline(upper, bound)
		f.Polyline(lower, bound)
		f.Polyline(line, paper.Stroke{Width: 1.6, Color: ink})
		f.TextIn(b.x+side, b.y+5, b.width-side-4, quiet(tick), paper.Right, "runs that go on, with the 95 % interval; jumps below")
	})
	return b.bottom() + 3
}

// heights draws how high a jump a double needs at each rate of the rope, with the
// athlete's dot.
func (f frame) heights(b box, d review.Doubles) float64 {
	const side, foot = 26.0, 14.0
	highest := rhythm.MaxHeight
	for _, n := range d.Needs {
		highest = max(highest, n.Height)
	}
	y := spanning(0, 100*highest, b.bottom()-foot, b.y+10)
	x := axis{d.Needs[0].RopeRPM, d.Needs[len(d.Needs)-1].RopeRPM, b.x + side + 4, b.x + b.width - 8}
	f.Element(paper.Figure, "How high a jump a double needs at each rate of the rope, with a dot for this athlete. "+d.Sentences()[0], func() {
		f.across(b, y, side, figure)
		f.Text(b.x+side-4, b.y+5, quiet(tick), paper.Right, "cm")
		for _, v := range x.rungs(5) {
			f.Text(x.at(v), b.bottom()-3, quiet(tick), paper.Center, figure(v))
		}
		f.Text(b.x+side-4, b.bottom()-3, quiet(tick), paper.Right, "rpm")
		var line []float64
		for _, n := range d.Needs {
			line = append(line, x.at(n.RopeRPM), y.at(100*n.Height))
		}
		f.Polyline(line, paper.Stroke{Width: 1.6, Color: ink})
		limit := y.at(100 * rhythm.MaxHeight)
		f.Line(b.x+side, limit, b.x+b.width, limit, paper.Stroke{Width: 1, Color: ochre, Dashes: []float64{1.5, 2}})
		f.Text(b.x+b.width-8, limit-2.5, paper.Style{Size: tick, Color: ochre}, paper.Right, "higher is not planned")
		at := min(max(d.RopeRPM, x.low), x.high)
		f.Dot(x.at(at), y.at(100*d.Advice.Height), 3.2, blue, paper.Stroke{Width: 0.8, Color: ink})
		f.Text(x.at(at)-6, y.at(100*d.Advice.Height)+6, quiet(tick), paper.Right, figure(d.RopeRPM)+" rpm, "+figure(100*d.Advice.Height)+" cm")
	})
	return b.bottom() + 3
}

// spots draws where the rope stopped and when.
func (f frame) spots(b box, c review.Catches) float64 {
	const side, step, foot = 52.0, 14.0, 12.0
	b.height = step*float64(len(c.Rows)) + foot
	columns := []string{"early", "in time", "late", "not noticed"}
	each := (b.width - side) / float64(len(columns))
	most := 1
	for _, row := range c.Rows {
		most = max(most, row.Early, row.InTime, row.Late, row.Other)
	}
	f.Element(paper.Figure, fmt.Sprintf("Where the rope stopped in %d noted catches, and when the wrists turned.", c.Total), func() {
		for i, row := range c.Rows {
			y := b.y + step*(float64(i)+0.5)
			f.Line(b.x+side, y, b.x+b.width, y, paper.Stroke{Width: 0.5, Color: hair})
			f.TextIn(b.x, y+2.5, side-6, body(8), paper.Left, string(row.Spot))
			for j, n := range []int{row.Early, row.InTime, row.Late, row.Other} {
				if n == 0 {
					continue
				}
				at := b.x + side + each*(float64(j)+0.5)
				f.Dot(at, y, 6*math.Sqrt(float64(n)/float64(most)), blue, paper.Stroke{Width: 0.5, Color: blue})
				f.Text(at+8, y+2.5, body(8), paper.Left, strconv.Itoa(n))
			}
		}
		for j, name := range columns {
			f.Text(b.x+side+each*(float64(j)+0.5), b.bottom()-2, quiet(tick), paper.Center, name)
		}
	})
	return b.bottom() + 3
}

// strip draws the meetings: full squares for here, open ones with a stroke for
// away, dots where nobody noted it.
func (f frame) strip(b box, a review.Attendance) float64 {
	each := b.width / float64(len(a.Meetings))
	size := min(9, 0.7*each)
	y := b.y + 10
	f.Element(paper.Figure, "Meetings in order. "+a.Sentence(), func() {
		f.Line(b.x, y, b.x+b.width, y, paper.Stroke{Width: 0.7, Color: hair})
		for i, m := range a.Meetings {
			x := b.x + each*(float64(i)+0.5)
			switch {
			case m.Here:
				f.FillRect(x-size/2, y-size/2, size, size, ink)
			case m.Noted:
				f.FillRect(x-size/2, y-size/2, size, size, white)
				f.StrokeRect(x-size/2, y-size/2, size, size, paper.Stroke{Width: 0.9, Color: ink})
				f.Line(x-size/2, y+size/2, x+size/2, y-size/2, paper.Stroke{Width: 0.9, Color: ink})
			default:
				f.Dot(x, y, 1.2, ink2, paper.Stroke{Width: 0.5, Color: ink2})
			}
		}
		f.Text(b.x, b.bottom()-6, quiet(tick), paper.Left, review.Day(a.Meetings[0].Day))
		if n := len(a.Meetings); n > 1 {
			f.Text(b.x+b.width, b.bottom()-6, quiet(tick), paper.Right, review.Day(a.Meetings[n-1].Day))
		}
		f.Text(b.x+b.width/2, b.bottom()-6, quiet(tick), paper.Center, "full: here · open: away")
	})
	return b.bottom() + 1
}

// loadBars draws the load of each week.
func (f frame) loadBars(b box, l review.Load) float64 {
	bars := make([]bar, len(l.Weeks))
	for i, w := range l.Weeks {
		bars[i] = bar{value: w.Total, tick: w.Start.Format("2 Jan")}
		if !math.IsNaN(w.Monotony) {
			bars[i].under = strconv.FormatFloat(w.Monotony, 'f', 1, 64)
		}
	}
	return f.bars(b, "Load week by week: effort times minutes. Beneath, how alike the days were (monotony).", "load", bars)
}

// A bar is one week's.
type bar struct {
	value       float64
	under, tick string
}

func (f frame) bars(b box, alt, unit string, bars []bar) float64 {
	const side, foot = 26.0, 22.0
	highest := 0.0
	for _, w := range bars {
		highest = max(highest, w.value)
	}
	if highest == 0 || len(bars) == 0 {
		return b.y
	}
	step := niceStep(highest / 3)
	y := axis{0, math.Ceil(highest/step) * step, b.bottom() - foot, b.y + 10}
	each := (b.width - side) / float64(len(bars))
	f.Element(paper.Figure, alt, func() {
		for v := 0.0; v <= y.high+step/2; v += step {
			f.Line(b.x+side, y.at(v), b.x+b.width, y.at(v), paper.Stroke{Width: 0.5, Color: hair})
			f.Text(b.x+side-4, y.at(v)+2.5, quiet(tick), paper.Right, figure(v))
		}
		f.Text(b.x+side-4, b.y+5, quiet(tick), paper.Right, unit)
		every := (len(bars) + 5) / 6
		for i, w := range bars {
			x := b.x + side + each*float64(i)
			if w.value > 0 {
				f.FillRect(x+0.2*each, y.at(w.value), 0.6*each, y.at(0)-y.at(w.value), blue)
			}
			f.Text(x+each/2, y.at(0)+8, quiet(6.5), paper.Center, w.under)
			if i%max(1, every) == 0 {
				f.Text(x+each/2, y.at(0)+17, quiet(tick), paper.Center, w.tick)
			}
		}
		f.Line(b.x+side, y.at(0), b.x+b.width, y.at(0), paper.Stroke{Width: 1, Color: ink2})
	})
	return b.bottom() + 2
}

// ranges draws how rates lie over a group: from the lowest to the highest, the
// middle marked, at both ends of the term.
func (f frame) ranges(b box, g review.Group) float64 {
	type line struct {
		name   string
		spread review.Spread
		later  bool
	}
	var lines []line
	low, high := math.Inf(1), math.Inf(-1)
	for _, rates := range []struct {
		name string
		ends review.SpreadEnds
	}{{"Whole test", g.Whole}, {"Turning", g.Turning}, {"Burst", g.Burst}} {
		for _, l := range []line{{rates.name + ", start", rates.ends.Start, false}, {rates.name + ", end", rates.ends.End, true}} {
			if l.spread.Shown() {
				lines = append(lines, l)
				low, high = min(low, l.spread.Low), max(high, l.spread.High)
			}
		}
	}
	if len(lines) == 0 {
		return b.y
	}
	const side, step = 78.0, 17.0
	b.height = step*float64(len(lines)) + 16
	x := spanning(low, high, b.x+side, b.x+b.width-8)
	f.Element(paper.Figure, "Rates from the lowest to the highest, with the middle, without names.", func() {
		for _, v := range x.rungs(5) {
			f.Line(x.at(v), b.y, x.at(v), b.bottom()-12, paper.Stroke{Width: 0.5, Color: hair})
			f.Text(x.at(v), b.bottom()-3, quiet(tick), paper.Center, figure(v))
		}
		f.Text(b.x+side-8, b.bottom()-3, quiet(tick), paper.Right, "rpm")
		for i, l := range lines {
			y := b.y + step*(float64(i)+0.5)
			stroke := paper.Stroke{Width: 1.2, Color: blue, Dashes: []float64{3, 2}}
			if l.later {
				stroke = paper.Stroke{Width: 3.5, Color: blue}
			}
			f.TextIn(b.x, y+2.5, side-8, body(8), paper.Left, l.name)
			f.Line(x.at(l.spread.Low), y, x.at(l.spread.High), y, stroke)
			f.Line(x.at(l.spread.Middle), y-5, x.at(l.spread.Middle), y+5, paper.Stroke{Width: 2, Color: ink})
		}
	})
	return b.bottom() + 3
}
