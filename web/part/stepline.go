package part

import "slices"

// StepLine is the picture of a session: one line, time from left to right,
// rate upward, rests on the floor. Repeats are drawn once, large, above the
// whole session, small.
type StepLine struct {
	ID       string // begins the ids inside the picture; one of its kind on a page
	Title    string
	Sentence string // what the session asks for; StepSentence of Treads if empty
	Treads   []Tread
	Gates    []Moment  // gate attempts: notches in the floor
	Catches  []float64 // seconds from the start at which the rope caught
	Balance  []Level   // how much of the reserve is left, drawn beneath the floor
	Live     bool      // going on: the part before Now is ink
	Now      float64   // seconds from the start
}

// Moment is a point in time within a session.
type Moment struct {
	Seconds float64 // from the start
	Label   string
}

// Level is a share from 0 to 1 at a point in time.
type Level struct {
	Seconds float64 // from the start
	Share   float64
}

// Heights in CSS pixels. Along the time axis pictures are fluid: positions are
// shares of the width, so that words keep their shape at any width.
const (
	figureRoom = 26.0 // above the highest tread, for its figure
	riseLarge  = 92.0
	riseSmall  = 44.0
	riseThumb  = 19.0
	labelRoom  = 24.0 // under the floor
	lowRoom    = 44.0 // for the balance line
	viewWidth  = 1000.0
	// narrowest is the width at which figures must not meet: a phone of
	// 320 pixels less its margins.
	narrowest = 284.0
	digit     = 9.4 // width of a figure at 16 pixels
)

// stepView is a step line ready to be drawn.
type stepView struct {
	height  float64
	floor   float64
	steady  string // paths, in viewWidth by height
	burst   string
	double  string
	thin    string // risers and rests
	balance string
	empty   float64 // where the reserve is used up
	labels  []stepLabel
	ticks   []stepMark // catches
	notches []stepMark // gates
	breaks  []stepMark // where a long rest is cut short
}

type stepLabel struct {
	x      float64 // share of the width
	y      float64
	anchor string
	class  string
	text   string
}

type stepMark struct{ x, y float64 }

func (s StepLine) sentence() string {
	if s.Sentence != "" {
		return s.Sentence
	}
	return StepSentence(s.Treads)
}

// repeats are the blocks to draw large, or none if the whole session is short
// enough to be drawn large itself.
func (s StepLine) repeats() []block {
	blocks := fold(s.Treads)
	for _, b := range blocks {
		if b.times > 1 || b.cycles > 1 || len(s.Treads) > 8 {
			return worked(blocks)
		}
	}
	return nil
}

// worked leaves out blocks that are rest alone: there is nothing to draw.
func worked(blocks []block) []block {
	var kept []block
	for _, b := range blocks {
		if len(b.cycle) > 0 {
			kept = append(kept, b)
		}
	}
	return kept
}

// heading names a block and tells how often it comes.
func (b block) heading() string {
	if title := b.title(); title != "" {
		return title
	}
	return wordOnce
}

// fastest is the highest rate of treads, in rpm, at least 1.
func fastest(treads []Tread) float64 {
	top := 1.0
	for _, t := range treads {
		top = max(top, t.RPM)
	}
	return top
}

// length is how long treads take, never nothing: a picture has a width.
func length(treads []Tread) float64 {
	if seconds := lasting(treads); seconds > 0 {
		return seconds
	}
	return 1
}

// view draws one set of b with its rest; top is the rate that reaches highest.
// Of a cycle gone through many times it draws as many as leave room for every
// figure.
func (b block) view(top float64) stepView {
	for cycles := b.cycles; cycles > 1; cycles-- {
		if v, complete := b.shown(cycles, top); complete {
			return v
		}
	}
	v, _ := b.shown(1, top)
	return v
}

// shown draws a set of b with fewer cycles. A rest longer than a quarter of
// the work is cut short; what is left out is marked by a break in the floor.
// It is complete if every tread of the cycle has its figure.
func (b block) shown(cycles int, top float64) (v stepView, complete bool) {
	treads := slices.Repeat(b.cycle, cycles)
	work := lasting(treads)
	rest := min(b.rest, work/4)
	if cycles < b.cycles {
		rest = work / 4
	}
	if rest > 0 {
		treads = append(treads, Tread{Kind: Rest, Seconds: rest})
	}
	c := canvas{seconds: work + rest, top: top, room: figureRoom, rise: riseLarge, gap: 2}
	v = c.draw(treads)
	v.height += labelRoom
	var named labels
	at := 0.0
	complete = true
	for i, t := range b.cycle {
		complete = named.add(c, treads, i, at) && complete
		named.under(c, at, t.Seconds, t.amounts()...)
		at += t.Seconds
	}
	if b.rest > 0 {
		named.under(c, work, rest, Seconds(b.rest))
	}
	if rest != b.rest {
		v.breaks = []stepMark{{c.share(work + rest/2), c.floor()}}
	}
	v.labels = named.placed
	return v, complete
}

// whole draws the session from end to end: large if nothing is drawn above it.
func (s StepLine) whole(large bool) stepView {
	c := canvas{seconds: length(s.Treads), top: fastest(s.Treads), room: 8, rise: riseSmall, gap: 2}
	if large {
		c.room, c.rise = figureRoom, riseLarge
	}
	v := c.draw(s.Treads)
	v.height += labelRoom
	if large {
		v.labels = c.nameAll(s.Treads, s.Gates)
	} else {
		v.labels = c.minutes()
	}
	for _, gate := range s.Gates {
		v.notches = append(v.notches, stepMark{c.share(gate.Seconds), c.floor()})
	}
	for _, seconds := range s.Catches {
		v.ticks = append(v.ticks, stepMark{c.share(seconds), c.levelAt(s.Treads, seconds)})
	}
	if len(s.Balance) > 0 {
		c.addBalance(&v, s.Balance)
	}
	return v
}

// thumbView is the skyline of a session at 24 pixels.
func thumbView(treads []Tread) stepView {
	c := canvas{seconds: length(treads), top: fastest(treads), room: 3, rise: riseThumb, gap: 1.5}
	return c.draw(treads)
}

// nowShare is how much of the session is over.
func (s StepLine) nowShare() float64 {
	return min(1, max(0, s.Now/length(s.Treads)))
}
