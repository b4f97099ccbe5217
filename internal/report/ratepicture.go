package report

import (
	"math"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
)

// A rateSeries is one line of the rates of a term.
type rateSeries struct {
	name  string
	of    func(review.Test) (rpm, u float64)
	color paper.Color
	dash  []float64
	round bool // marks: dots, else open squares
}

func rateSeriesOfTerm() []rateSeries {
	return []rateSeries{
		{"whole test", func(t review.Test) (float64, float64) { return t.Whole.RPM, t.Whole.Expanded() }, ink, nil, true},
		{"turning", func(t review.Test) (float64, float64) { return t.Turning.RPM, t.Turning.Expanded() }, blue, []float64{5, 2.5}, false},
	}
}

// rateRange is from where to where the rates of a term reach with all that they
// may be off by, and the level from which a change is real.
func rateRange(r review.Rates) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, t := range r.Tests {
		for _, series := range rateSeriesOfTerm() {
			if rpm, u := series.of(t); rpm > 0 {
				low, high = min(low, rpm-u), max(high, rpm+u)
			}
		}
	}
	if bar, judged := r.Whole.Bar(); judged {
		low, high = min(low, bar), max(high, bar)
	}
	return low, high
}

// rateChart draws base tests over the weeks of the term with how sure each is,
// and the level from which a change is real.
func (f frame) rateChart(b box, s review.Span, r review.Rates) float64 {
	const side, foot, names = 26.0, 14.0, 46.0
	low, high := rateRange(r)
	y := spanning(low, high, b.bottom()-foot, b.y+12)
	x := axis{0, float64(7 * max(1, s.Weeks())), b.x + side + 4, b.x + b.width - names}
	day := func(t review.Test) float64 { return x.at(t.Day.Sub(s.WeekStart(1)).Hours() / 24) }
	alt := "Rates over the term. " + r.Sentences()[0]
	f.Element(paper.Figure, alt, func() {
		plot := b
		plot.width -= names - 4
		f.across(plot, y, side, figure)
		f.Text(b.x+side-4, b.y+6, quiet(tick), paper.Right, "rpm")
		f.weekTicks(s, x, b.bottom()-3)
		var ends []seriesEnd
		for _, series := range rateSeriesOfTerm() {
			line := f.rateLine(series, r.Tests, day, y)
			if n := len(line); n > 0 {
				ends = append(ends, seriesEnd{line[n-2], line[n-1], series.name, series.color})
			}
		}
		f.nameEnds(ends, b.x+b.width)
		if bar, judged := r.Whole.Bar(); judged {
			at := y.at(bar)
			f.Line(b.x+side, at, plot.x+plot.width, at, paper.Stroke{Width: 1, Color: ochre, Dashes: []float64{1.5, 2}})
			f.Text(b.x+side+3, at-2.5, paper.Style{Size: tick, Color: ochre}, paper.Left, "real above "+figure(bar))
		}
	})
	return b.bottom() + 3
}

// rateLine draws one line with its marks and intervals, and returns its points.
func (f frame) rateLine(series rateSeries, tests []review.Test, day func(review.Test) float64, y axis) []float64 {
	var line []float64
	for _, t := range tests {
		rpm, u := series.of(t)
		if rpm <= 0 {
			continue
		}
		at := day(t)
		f.Line(at, y.at(rpm-u), at, y.at(rpm+u), paper.Stroke{Width: 0.7, Color: series.color})
		line = append(line, at, y.at(rpm))
	}
	f.Polyline(line, paper.Stroke{Width: 1.6, Color: series.color, Dashes: series.dash})
	for i := 0; i+1 < len(line); i += 2 {
		if series.round {
			f.Dot(line[i], line[i+1], 2.2, series.color, paper.Stroke{Width: 0.8, Color: series.color})
		} else {
			f.FillRect(line[i]-2.4, line[i+1]-2.4, 4.8, 4.8, series.color)
			f.FillRect(line[i]-1.2, line[i+1]-1.2, 2.4, 2.4, white)
		}
	}
	return line
}

// A seriesEnd is where a line ends, with its name.
type seriesEnd struct {
	x, y  float64
	name  string
	color paper.Color
}

// nameEnds writes names beside the ends of lines, kept apart.
func (f frame) nameEnds(ends []seriesEnd, right float64) {
	const apart = 9.0
	if len(ends) == 2 && math.Abs(ends[0].y-ends[1].y) < apart {
		middle := (ends[0].y + ends[1].y) / 2
		upper, lower := 0, 1
		if ends[0].y > ends[1].y {
			upper, lower = 1, 0
		}
		ends[upper].y, ends[lower].y = middle-apart/2, middle+apart/2
	}
	for _, e := range ends {
		f.TextIn(e.x+6, e.y+2.5, right-e.x-6, paper.Style{Size: tick + 0.5, Color: e.color}, paper.Left, e.name)
	}
}

// weekTicks writes the Mondays of the term under a picture, as many as fit.
func (f frame) weekTicks(s review.Span, x axis, y float64) {
	weeks := s.Weeks()
	every := (weeks + 5) / 6
	for w := 1; w <= weeks; w += max(1, every) {
		f.Text(x.at(float64(7*(w-1))), y, quiet(tick), paper.Left, s.WeekStart(w).Format("2 Jan"))
	}
}
