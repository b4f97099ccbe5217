package part

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestNiceStep(t *testing.T) {
	tests := map[string]struct{ step, want float64 }{
		"small":   {0.7, 1},
		"exact":   {10, 10},
		"between": {11, 20},
		"large":   {260, 500},
		"tenths":  {0.13, 0.2},
		"over 5":  {6, 10},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			if got := niceStep(test.step); math.Abs(got-test.want) > 1e-9 {
				t.Errorf("niceStep(%g) = %g, want %g", test.step, got, test.want)
			}
		})
	}
}

func TestChartStaysInItsFrame(t *testing.T) {
	point := rapid.Custom(func(t *rapid.T) Point {
		value := rapid.Float64Range(0, 300).Draw(t, "value")
		spread := rapid.Float64Range(0, 30).Draw(t, "spread")
		return Point{At: rapid.Float64Range(0, 100).Draw(t, "at"), Value: value, Low: value - spread, High: value + spread}
	})
	rapid.Check(t, func(t *rapid.T) {
		c := Chart{ID: "c", Goals: []Goal{{rapid.Float64Range(0, 300).Draw(t, "goal"), "Gate"}}}
		for range rapid.IntRange(0, 4).Draw(t, "series") {
			c.Series = append(c.Series, Series{Name: "A", Points: rapid.SliceOfN(point, 0, 12).Draw(t, "points")})
		}
		v := c.view()
		inside := func(what string, y float64) {
			if y < chartTop-0.01 || y > chartFloor+0.01 || math.IsNaN(y) {
				t.Errorf("%s is at %g, outside %g to %g", what, y, chartTop, chartFloor)
			}
		}
		for _, rung := range v.rungs {
			inside("a line across", rung.y)
		}
		for _, goal := range v.goals {
			inside("the goal", goal.y)
		}
		if len(v.rungs) < 2 || len(v.rungs) > 9 {
			t.Errorf("%d lines across, want 2 to 9", len(v.rungs))
		}
		for _, line := range v.lines {
			for _, m := range line.markers {
				inside("a point", m.y)
				if m.x < 0 || m.x > 1 {
					t.Errorf("a point is at %g of the width", m.x)
				}
			}
		}
		for i, a := range v.lines {
			for _, b := range v.lines[i+1:] {
				if math.Abs(a.nameY-b.nameY) < endGap-0.01 {
					t.Errorf("names at the ends of lines are %g apart, want %g", math.Abs(a.nameY-b.nameY), endGap)
				}
			}
		}
	})
}

func TestChartTellsSeriesApartWithoutColour(t *testing.T) {
	dots := map[string]bool{}
	var c Chart
	for _, name := range []string{"A", "B", "C", "D"} {
		c.Series = append(c.Series, Series{Name: name, Points: []Point{{At: 1, Value: 100}, {At: 2, Value: 110}}})
	}
	for _, line := range c.view().lines {
		if dots[line.marker] {
			t.Errorf("two series share a marker")
		}
		dots[line.marker] = true
	}
}

func TestChartNumbers(t *testing.T) {
	page := render(t, RateChart(termChart()))
	for _, want := range []string{"<th scope=\"col\">Week</th>", "112–124", "Whole test", "Gate to stage 6", `role="img"`} {
		if !strings.Contains(page, want) {
			t.Errorf("the chart lacks %q", want)
		}
	}
	alone := termChart()
	alone.Series = alone.Series[1:]
	page = render(t, RateChart(alone))
	if strings.Contains(page, wordLikely) {
		t.Error("a column for the range is shown though no point has one")
	}
}

func TestTicksKeepApart(t *testing.T) {
	var ticks []Tick
	for i := range 12 {
		ticks = append(ticks, Tick{float64(i), "Thu 5 Nov"})
	}
	placed := placeTicks(ticks, func(at float64) float64 { return at / 11 })
	if len(placed) == 0 || len(placed) > 3 {
		t.Errorf("%d of 12 long ticks placed, want 1 to 3", len(placed))
	}
}
