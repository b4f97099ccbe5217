package part

import (
	"fmt"
	"math"
	"strings"
)

// A canvas maps seconds and rpm to places.
type canvas struct {
	seconds float64 // from edge to edge
	top     float64 // rpm at the highest place
	room    float64 // pixels above it
	rise    float64 // pixels from the floor to it
	gap     float64 // half the distance of the two lines of a burst
}

func (c canvas) floor() float64                { return c.room + c.rise }
func (c canvas) share(seconds float64) float64 { return seconds / c.seconds }
func (c canvas) x(seconds float64) float64     { return c.share(seconds) * viewWidth }

// y is the middle of a tread's line.
func (c canvas) y(t Tread) float64 {
	if t.Kind == Rest {
		return c.floor() - 2
	}
	return math.Round(c.floor() - c.rise*t.RPM/c.top)
}

// crown is the outer edge of a tread's line, to which risers reach.
func (c canvas) crown(t Tread) float64 {
	switch t.Kind {
	case Rest:
		return c.y(t) + 1
	case Burst:
		return c.y(t) - c.gap - 1
	default:
		return c.y(t) - c.gap - .5
	}
}

// levelAt is where the line is at a point in time.
func (c canvas) levelAt(treads []Tread, seconds float64) float64 {
	for _, t := range treads {
		if seconds < t.Seconds {
			return c.y(t)
		}
		seconds -= t.Seconds
	}
	return c.floor()
}

// draw makes the line itself.
func (c canvas) draw(treads []Tread) stepView {
	var steady, burst, double, thin strings.Builder
	at, crown := 0.0, c.floor()
	for _, t := range treads {
		x, y, end := c.x(at), c.y(t), c.x(at+t.Seconds)
		riser(&thin, x, crown, c.crown(t))
		crown = c.crown(t)
		switch t.Kind {
		case Rest:
			level(&thin, x, y, end)
		case Burst:
			level(&burst, x, y-c.gap, end)
			level(&burst, x, y+c.gap, end)
		case Double:
			level(&double, x, y, end)
		default:
			level(&steady, x, y, end)
		}
		at += t.Seconds
	}
	riser(&thin, c.x(at), crown, c.floor())
	return stepView{
		height: c.floor() + 2,
		floor:  c.floor(),
		steady: steady.String(),
		burst:  burst.String(),
		double: double.String(),
		thin:   thin.String(),
	}
}

// plot adds a command of a path with its coordinates, in pixels.
func plot(path *strings.Builder, command byte, at ...float64) {
	var room [48]byte
	text := append(room[:0], command)
	for i, value := range at {
		if i > 0 {
			text = append(text, ' ')
		}
		text = appendPx(text, value)
	}
	path.Write(text)
}

func level(path *strings.Builder, x, y, end float64) {
	plot(path, 'M', x, y)
	plot(path, 'H', end)
}

func riser(path *strings.Builder, x, from, to float64) {
	if from != to {
		plot(path, 'M', x, from)
		plot(path, 'V', to)
	}
}

// minutes are the marks under a whole session. The last one bears the unit
// and goes before the others where there is no room for all.
func (c canvas) minutes() []stepLabel {
	total := c.seconds / 60
	step := 1.0
	for _, wider := range []float64{2, 5, 10, 15, 30, 60} {
		if total/step > 5 {
			step = wider
		}
	}
	var named labels
	unit := noBreak + wordMinute
	for minute := math.Floor(total/step) * step; minute >= 0; minute -= step {
		if named.take(c.fit(minute*60, 0, c.floor()+20, Whole(minute)+unit, "step-time")) {
			unit = ""
		}
	}
	return named.placed
}

// addBalance draws how the reserve falls and fills again, and names its lowest
// point.
func (c canvas) addBalance(v *stepView, balance []Level) {
	top := v.height + 10
	var path strings.Builder
	lowest := balance[0]
	for i, level := range balance {
		command := byte('L')
		if i == 0 {
			command = 'M'
		}
		plot(&path, command, c.x(level.Seconds), top+(1-level.Share)*lowRoom)
		if level.Share < lowest.Share {
			lowest = level
		}
	}
	v.balance = path.String()
	v.empty = top + lowRoom
	v.height = v.empty + labelRoom
	v.labels = append(v.labels, stepLabel{
		x: 0, y: v.height - 4, anchor: "start", class: "step-reserve",
		text: fmt.Sprintf("%s: %s %s", wordReserve, wordLowest, Percent(lowest.Share)),
	})
}
