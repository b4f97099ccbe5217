package part

import (
	"fmt"
	"math"
	"strings"
)

// Curve is a picture of one quantity against another: a line, in steps where it
// falls in steps, how sure it is, levels to compare with, and dots where
// somebody stands. It comes with its finding and its numbers.
type Curve struct {
	ID      string // begins the ids inside the picture; one of its kind on a page
	Title   string
	Finding string // what the picture shows, in a sentence
	X, Y    Axis
	Stepped bool
	Points  []CurvePoint // in order of X
	Dots    []Dot
	Goals   []Goal   // levels across
	Extra   []string // heads of further columns of the table
}

// Axis is one side of a curve. Equal bounds are taken from the points.
type Axis struct {
	Name      string // head of its column in the table
	Unit      string
	Low, High float64
	Text      func(value float64) string // a value in the table; whole numbers if nil
}

func (a Axis) text(value float64) string {
	if a.Text != nil {
		return a.Text(value)
	}
	return Whole(value)
}

// CurvePoint is one value. Low and High bound it; NaN or equal bounds are not
// drawn. Extra are the cells of the further columns.
type CurvePoint struct {
	X, Y      float64
	Low, High float64
	Extra     []string
	Hidden    bool // drawn, not listed
}

func (p CurvePoint) bounded() bool { return p.Low < p.High }

// Dot is where somebody stands, with words beside it.
type Dot struct {
	X, Y float64
	Text string
}

// curveHeight has a line for the unit beneath the words of the lower axis.
const curveHeight = chartHeight + 18

// curveView is a curve ready to be drawn.
type curveView struct {
	line  string
	band  string
	rungs []rung
	goals []rung
	ticks []stepLabel
	dots  []curveDot
}

type curveDot struct {
	stepMark
	anchor string
	textX  float64 // pixels from the dot
	text   string
}

// scale maps values to places in the picture.
type scale struct{ low, high float64 }

func (c Curve) view() curveView {
	xs, ys := c.scales()
	x := func(value float64) float64 { return 0.02 + 0.96*(value-xs.low)/(xs.high-xs.low) }
	y := func(value float64) float64 {
		return chartFloor - (chartFloor-chartTop)*(value-ys.low)/(ys.high-ys.low)
	}
	var v curveView
	step := niceStep((ys.high - ys.low) / mostRungs)
	for value := ys.low; value <= ys.high+step/1e6; value += step {
		v.rungs = append(v.rungs, rung{y(value), Whole(value)})
	}
	for _, goal := range c.Goals {
		v.goals = append(v.goals, rung{y(goal.Value), goal.Text})
	}
	var ticks []Tick
	step = niceStep((xs.high - xs.low) / mostRungs)
	for value := math.Ceil(xs.low/step) * step; value <= xs.high+step/1e6; value += step {
		ticks = append(ticks, Tick{value, Whole(value)})
	}
	v.ticks = placeTicks(ticks, x)
	v.line = c.path(c.Points, x, y, func(p CurvePoint) float64 { return p.Y })
	v.band = c.bandPath(x, y)
	for _, dot := range c.Dots {
		d := curveDot{stepMark{x(dot.X), y(dot.Y)}, "start", 12, dot.Text}
		if d.x > 0.5 {
			d.anchor, d.textX = "end", -12
		}
		v.dots = append(v.dots, d)
	}
	return v
}

// scales returns what the two sides span, never nothing, upward to a round value.
func (c Curve) scales() (xs, ys scale) {
	xs, ys = scale{c.X.Low, c.X.High}, scale{c.Y.Low, c.Y.High}
	if xs.low == xs.high {
		xs = scale{math.Inf(1), math.Inf(-1)}
		for _, p := range c.Points {
			xs.low, xs.high = min(xs.low, p.X), max(xs.high, p.X)
		}
	}
	if ys.low == ys.high {
		ys = scale{0, 1}
		for _, p := range c.Points {
			ys.high = max(ys.high, p.Y)
			if p.bounded() {
				ys.high = max(ys.high, p.High)
			}
		}
		step := niceStep(ys.high / mostRungs)
		ys.high = math.Ceil(ys.high/step) * step
	}
	if !(xs.low < xs.high) {
		xs = scale{0, 1}
	}
	return xs, ys
}

// path draws one value of each point, in steps where the curve is stepped.
func (c Curve) path(points []CurvePoint, x, y func(float64) float64, of func(CurvePoint) float64) string {
	var path strings.Builder
	for i, p := range points {
		at, height := px(x(p.X)*viewWidth), px(y(of(p)))
		switch {
		case i == 0:
			fmt.Fprintf(&path, "M%s %s", at, height)
		case c.Stepped:
			fmt.Fprintf(&path, "H%sV%s", at, height)
		default:
			fmt.Fprintf(&path, "L%s %s", at, height)
		}
	}
	return path.String()
}

// bandPath draws the bounds of the points that have any, out along the upper
// ones and back along the lower ones.
func (c Curve) bandPath(x, y func(float64) float64) string {
	var bounded []CurvePoint
	for i, p := range c.Points {
		if !p.bounded() {
			continue
		}
		bounded = append(bounded, p)
		if c.Stepped && i+1 < len(c.Points) && !c.Points[i+1].bounded() { // a step lasts up to the next
			p.X = c.Points[i+1].X
			bounded = append(bounded, p)
		}
	}
	if len(bounded) < 2 {
		return ""
	}
	var path strings.Builder
	path.WriteString(c.path(bounded, x, y, func(p CurvePoint) float64 { return p.High }))
	for i := len(bounded) - 1; i >= 0; i-- {
		p := bounded[i]
		at, height := px(x(p.X)*viewWidth), px(y(p.Low))
		if c.Stepped && i < len(bounded)-1 {
			fmt.Fprintf(&path, "V%sH%s", height, at)
			continue
		}
		fmt.Fprintf(&path, "L%s %s", at, height)
	}
	path.WriteString("Z")
	return path.String()
}

// listed are the points that the table shows.
func (c Curve) listed() []CurvePoint {
	var points []CurvePoint
	for _, p := range c.Points {
		if !p.Hidden {
			points = append(points, p)
		}
	}
	return points
}

func (c Curve) hasBounds() bool {
	for _, p := range c.Points {
		if p.bounded() {
			return true
		}
	}
	return false
}

func (c Curve) boundsText(p CurvePoint) string {
	if !p.bounded() {
		return "–"
	}
	return c.Y.text(p.Low) + "–" + c.Y.text(p.High)
}

func (a Axis) head() string {
	if a.Unit == "" {
		return a.Name
	}
	return a.Name + ", " + a.Unit
}
