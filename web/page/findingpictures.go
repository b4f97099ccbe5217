package page

import (
	"fmt"
	"strconv"

	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/rhythm"
	"ropewalk.example/web/part"
)

// survivalPicture draws how many runs go past each length.
func survivalPicture(id, what string, r finding.Runs, goal int) part.Curve {
	c := part.Curve{
		ID: id, Title: "Runs that go past a length", Stepped: true,
		Finding: "At each length, the share of runs that go past it. The band is where it likely lies, given so few runs.",
		X:       part.Axis{Name: "Length", Unit: what, Low: 0, High: float64(max(r.Longest, goal, 1))},
		Y:       part.Axis{Name: "Runs that go past it", Unit: "%", Low: 0, High: 100},
		Extra:   []string{"Runs so far", "Caught here"},
	}
	start := part.CurvePoint{Y: 100, Hidden: true}
	c.Points = append(c.Points, start)
	for _, p := range r.Curve {
		c.Points = append(c.Points, part.CurvePoint{X: float64(p.Reps), Y: 100 * p.Survival, Low: 100 * p.Low, High: 100 * p.High,
			Extra: []string{strconv.Itoa(p.AtRisk), strconv.Itoa(p.Caught)}})
	}
	if goal > 0 {
		c.Dots = append(c.Dots, part.Dot{X: float64(goal), Y: 100 * r.Curve.Reach(goal), Text: fmt.Sprintf("gate: %d", goal)})
	}
	return c
}

// heightPicture draws the height that a double needs against the rope's rate,
// with the athlete's dot.
func heightPicture(d finding.Doubles) part.Curve {
	c := part.Curve{
		ID: "height", Title: "Height that a double needs",
		Finding: "The faster the rope, the lower the jump. The dot is where this athlete stands.",
		X:       part.Axis{Name: "Rope", Unit: "rpm"},
		Y:       part.Axis{Name: "Height", Unit: "cm", Text: tenth},
		Goals:   []part.Goal{{Value: 100 * rhythm.MaxHeight, Text: centimetres(rhythm.MaxHeight) + ": higher is not planned"}},
	}
	for _, n := range d.Needs {
		c.Points = append(c.Points, part.CurvePoint{X: n.RopeRPM, Y: 100 * n.Height})
	}
	if d.Known && len(c.Points) > 0 {
		x := min(max(d.RopeRPM, c.Points[0].X), c.Points[len(c.Points)-1].X)
		c.Dots = append(c.Dots, part.Dot{X: x, Y: 100 * d.Advice.Height, Text: fmt.Sprintf("%s rpm, %s", part.Whole(d.RopeRPM), centimetres(d.Advice.Height))})
	}
	return c
}
