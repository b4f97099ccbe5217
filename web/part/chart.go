package part

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Chart is a picture of values over time: a line with its own dash and marker
// for each series, how sure each value is, and the finding in a sentence.
type Chart struct {
	ID      string // begins the ids inside the picture; one of its kind on a page
	Title   string
	Finding string // what the picture shows, in a sentence
	Unit    string // "rpm" if empty
	When    string // head of the table's first column: "Week", "Day"
	Series  []Series
	Ticks   []Tick // along the time axis
	Goals   []Goal // levels to compare with, such as a gate
}

// Series is one line of a chart. At most four are told apart.
type Series struct {
	Name   string
	Points []Point // in order of At
}

// Point is one value. Low and High bound it; equal or zero bounds are not
// drawn.
type Point struct {
	At        float64 // along the time axis, in the unit of the ticks
	When      string  // the same in words: "Thu 5 Nov"
	Value     float64
	Low, High float64
}

// Tick is a mark on the time axis.
type Tick struct {
	At   float64
	Text string
}

// Goal is a level drawn across a chart.
type Goal struct {
	Value float64
	Text  string
}

const (
	chartHeight = 232.0
	chartTop    = 28.0
	chartFloor  = 196.0
	endGap      = 40.0 // between the names at the ends of lines
	mostRungs   = 4    // about as many lines across as this
	longer      = 1.4  // as long as that can a word get in another language
)

// chartView is a chart ready to be drawn.
type chartView struct {
	lines []chartLine
	rungs []rung
	goals []rung
	ticks []stepLabel
}

type chartLine struct {
	class   string
	path    string
	band    string
	marker  string
	markers []stepMark
	end     stepMark
	name    string
	value   string
	nameY   float64
}

type rung struct {
	y    float64
	text string
}

// markers are a dot, a square, a triangle and a diamond, 10 pixels wide.
var markers = [4]string{
	"M-5 0a5 5 0 1 0 10 0a5 5 0 1 0-10 0",
	"M-4.5-4.5h9v9h-9z",
	"M0-6l5.5 10h-11z",
	"M0-6.5l5.5 6.5L0 6.5L-5.5 0z",
}

func (c Chart) unit() string {
	if c.Unit == "" {
		return wordRPM
	}
	return c.Unit
}

// view works out where everything goes.
func (c Chart) view() chartView {
	low, high := c.bounds()
	step := niceStep((high - low) / mostRungs)
	low, high = math.Floor(low/step)*step, math.Ceil(high/step)*step
	first, last := c.span()
	x := func(at float64) float64 { return 0.02 + 0.96*(at-first)/(last-first) }
	y := func(value float64) float64 {
		return chartFloor - (chartFloor-chartTop)*(value-low)/(high-low)
	}

	var v chartView
	for value := low; value <= high+step/2; value += step {
		v.rungs = append(v.rungs, rung{y(value), Whole(value)})
	}
	for _, goal := range c.Goals {
		v.goals = append(v.goals, rung{y(goal.Value), goal.Text})
	}
	v.ticks = placeTicks(c.Ticks, x)
	for i, s := range c.Series {
		if len(s.Points) > 0 {
			v.lines = append(v.lines, lineOf(s, i%len(markers), x, y))
		}
	}
	spread(v.lines)
	return v
}

// lineOf draws one series.
func lineOf(s Series, i int, x, y func(float64) float64) chartLine {
	line := chartLine{class: fmt.Sprintf("series-%d", i+1), marker: markers[i], name: s.Name}
	var path, band strings.Builder
	bounded := false
	command := byte('M')
	for _, p := range s.Points {
		mark := stepMark{x(p.At), y(p.Value)}
		plot(&path, command, mark.x*viewWidth, mark.y)
		line.markers = append(line.markers, mark)
		low, high := p.bounds()
		bounded = bounded || low < high
		plot(&band, command, mark.x*viewWidth, y(high))
		command = 'L'
		line.end, line.value = mark, Whole(p.Value)
	}
	line.path = path.String()
	if bounded && len(s.Points) > 1 {
		for _, p := range slices.Backward(s.Points) {
			low, _ := p.bounds()
			plot(&band, 'L', x(p.At)*viewWidth, y(low))
		}
		line.band = band.String() + "Z"
	}
	line.nameY = line.end.y + 5
	return line
}

// bounds are Low and High where they are given.
func (p Point) bounds() (low, high float64) {
	if p.Low >= p.High {
		return p.Value, p.Value
	}
	return p.Low, p.High
}

// bounds are the lowest and highest value to show, never equal.
func (c Chart) bounds() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, s := range c.Series {
		for _, p := range s.Points {
			below, above := p.bounds()
			low, high = min(low, below), max(high, above)
		}
	}
	for _, goal := range c.Goals {
		low, high = min(low, goal.Value), max(high, goal.Value)
	}
	if low > high {
		return 0, 1
	}
	if high-low < 4 {
		return low - 2, high + 2
	}
	return low, high
}

// span is the time from the first mark to the last, never nothing.
func (c Chart) span() (first, last float64) {
	first, last = math.Inf(1), math.Inf(-1)
	for _, s := range c.Series {
		for _, p := range s.Points {
			first, last = min(first, p.At), max(last, p.At)
		}
	}
	for _, tick := range c.Ticks {
		first, last = min(first, tick.At), max(last, tick.At)
	}
	switch {
	case first > last:
		return 0, 1
	case first == last:
		return first - 1, last + 1
	default:
		return first, last
	}
}

// niceStep is the next of 1, 2, 5, 10, 20, 50 … that is not below step.
func niceStep(step float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(step)))
	for _, factor := range []float64{1, 2, 5} {
		if factor*power >= step {
			return factor * power
		}
	}
	return 10 * power
}

// placeTicks keeps the words on the time axis apart on the narrowest screen.
func placeTicks(ticks []Tick, x func(float64) float64) []stepLabel {
	const room = narrowest - 96 // less the words at both sides
	var placed []stepLabel
	free := math.Inf(-1)
	for _, tick := range ticks {
		width := float64(len([]rune(tick.Text))) * digit
		left := x(tick.At)*room - width/2
		if left < free {
			continue
		}
		free = left + width + 8
		anchor := "middle"
		if left < 0 { // a wide word at the edge must not reach the words beside it
			anchor, free = "start", x(tick.At)*room+width+8
		} else if left+width > room {
			anchor = "end"
		}
		placed = append(placed, stepLabel{x: x(tick.At), y: chartFloor + 24, anchor: anchor, class: "chart-tick", text: tick.Text})
	}
	return placed
}

// spread moves the names at the ends of lines apart, keeping their order.
func spread(lines []chartLine) {
	order := make([]*chartLine, len(lines))
	for i := range lines {
		order[i] = &lines[i]
	}
	slices.SortStableFunc(order, func(a, b *chartLine) int { return cmp.Compare(a.nameY, b.nameY) })
	floor := chartTop + 4
	for _, line := range order {
		line.nameY = max(line.nameY, floor)
		floor = line.nameY + endGap
	}
	ceiling := chartFloor + 8
	for i := len(order) - 1; i >= 0; i-- {
		order[i].nameY = min(order[i].nameY, ceiling)
		ceiling = order[i].nameY - endGap
	}
}

// nameRoom is the width the names need, in pixels. A narrow picture has them
// beneath it.
func (c Chart) nameRoom() float64 {
	longest := 0
	for _, s := range c.Series {
		longest = max(longest, len([]rune(short(s.Name))))
	}
	return max(44, float64(longest)*digit*longer+8)
}

// short keeps a name at the end of a line short; the table has the whole.
func short(name string) string {
	const limit = 12
	runes := []rune(name)
	if len(runes) <= limit {
		return name
	}
	return strings.TrimSpace(string(runes[:limit-1])) + "…"
}

// boundsText is how sure a point is: "121–135", or empty.
func (p Point) boundsText() string {
	if p.Low >= p.High {
		return ""
	}
	return Whole(p.Low) + "–" + Whole(p.High)
}

// hasBounds reports whether any point has bounds to show.
func (c Chart) hasBounds() bool {
	for _, s := range c.Series {
		for _, p := range s.Points {
			if p.boundsText() != "" {
				return true
			}
		}
	}
	return false
}
