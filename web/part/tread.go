package part

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// TreadKind is how a stretch of a session is turned.
type TreadKind string

const (
	Steady TreadKind = "steady" // one thick line
	Burst  TreadKind = "burst"  // two thin lines
	Double TreadKind = "double" // double unders: a thick line with gaps
	Rest   TreadKind = "rest"   // the line lies on the floor
)

// Tread is a stretch of a session at one rate.
type Tread struct {
	Kind    TreadKind
	RPM     float64 // rotations a minute; 0 for rest
	Seconds float64 // above 0
	Reps    int     // 0: the stretch is told by its seconds
	Part    string  // names what begins here: "Warm-up"; part of the heading
	Label   string  // stands on the tread in place of the rate, such as "84 jumps"
}

// block is a stretch that repeats: times sets, each of a cycle gone through
// cycles times and a rest.
type block struct {
	times  int
	cycles int
	cycle  []Tread
	rest   float64 // seconds; 0: none
}

// fold finds the repeats in treads, so that a session of a hundred stretches
// can be drawn and said as a few.
func fold(treads []Tread) []block {
	var blocks []block
	for len(treads) > 0 {
		work := slices.IndexFunc(treads, func(t Tread) bool { return t.Kind == Rest })
		if work < 0 {
			work = len(treads)
		}
		next := blockOf(treads[:work])
		treads = treads[work:]
		for len(treads) > 0 && treads[0].Kind == Rest {
			next.rest += treads[0].Seconds
			treads = treads[1:]
		}
		if last := len(blocks) - 1; last >= 0 && blocks[last].repeatedBy(next, len(treads) == 0) {
			blocks[last].times++
			continue
		}
		blocks = append(blocks, next)
	}
	return blocks
}

// blockOf is the one set that work makes, with the shortest cycle in it.
func blockOf(work []Tread) block {
	for length := 1; length <= len(work)/2; length++ {
		if len(work)%length != 0 {
			continue
		}
		if slices.EqualFunc(work[length:], work[:len(work)-length], sameTread) {
			return block{times: 1, cycles: len(work) / length, cycle: work[:length]}
		}
	}
	return block{times: 1, cycles: 1, cycle: work}
}

// repeatedBy reports whether next is one more set of b. The last set of a
// session may do without its rest.
func (b block) repeatedBy(next block, isLast bool) bool {
	sameRest := math.Abs(b.rest-next.rest) < 0.5 || isLast && next.rest == 0
	return len(b.cycle) > 0 && sameRest && b.cycles == next.cycles && slices.EqualFunc(b.cycle, next.cycle, sameTread)
}

// sameTread reports whether two treads look and read the same.
func sameTread(a, b Tread) bool {
	return a.Kind == b.Kind && a.Reps == b.Reps && a.Label == b.Label &&
		Whole(a.RPM) == Whole(b.RPM) && math.Abs(a.Seconds-b.Seconds) < 0.1
}

// lasting is how long treads take, in seconds.
func lasting(treads []Tread) float64 {
	var seconds float64
	for _, t := range treads {
		seconds += t.Seconds
	}
	return seconds
}

// StepSentence says what treads ask for: "6 sets: 40 s steady at 140, rest
// 20 s. Then 2 sets: 10 s burst at 170, rest 50 s. 8 minutes."
func StepSentence(treads []Tread) string {
	var said []string
	for i, b := range fold(treads) {
		sentence := b.String()
		switch {
		case len(b.cycle) > 0 && b.cycle[0].Part != "":
			sentence = b.cycle[0].Part + ": " + sentence
		case i > 0:
			sentence = "Then " + lowerFirst(sentence)
		}
		said = append(said, sentence+".")
	}
	return strings.Join(append(said, Minutes(lasting(treads))+"."), " ")
}

// String says one block without the full stop.
func (b block) String() string {
	if len(b.cycle) == 0 {
		return "Rest " + Seconds(b.rest)
	}
	var parts []string
	for _, t := range b.cycle {
		parts = append(parts, t.String())
	}
	said := strings.Join(parts, ", then ")
	if b.cycles > 1 {
		said += ", " + times(b.cycles)
	}
	if b.rest > 0 {
		said += ", rest " + Seconds(b.rest)
	}
	if b.times > 1 {
		return strconv.Itoa(b.times) + " sets: " + said
	}
	return said
}

// String says one tread: "20 steady at 140", "10 s burst at 170".
func (t Tread) String() string {
	amount := Seconds(t.Seconds)
	if t.Reps > 0 {
		amount = strconv.Itoa(t.Reps)
	}
	if t.Kind == Rest {
		return "rest " + amount
	}
	rate := Whole(t.RPM)
	switch {
	case t.Label != "":
		rate = t.Label
	case t.Kind == Double:
		rate = Whole(t.RPM/2) + " jumps a minute"
	}
	return amount + " " + t.noun() + " at " + rate
}

func (t Tread) noun() string {
	switch {
	case t.Kind == Double && t.Reps == 1:
		return "double under"
	case t.Kind == Double:
		return "double unders"
	default:
		return string(t.Kind)
	}
}

func times(n int) string {
	if n == 2 {
		return "twice"
	}
	return strconv.Itoa(n) + " times"
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// often tells how a block repeats, or is empty if it does not.
func (b block) often() string {
	switch {
	case b.times > 1 && b.cycles > 1:
		return strconv.Itoa(b.times) + " sets, each " + times(b.cycles)
	case b.times > 1:
		return Count(b.times, wordSet, wordSets)
	case b.cycles > 1:
		return times(b.cycles)
	default:
		return ""
	}
}

// title is the part that begins with a block and how it repeats, or empty if
// it neither has a name nor repeats.
func (b block) title() string {
	often := b.often()
	if len(b.cycle) == 0 || b.cycle[0].Part == "" {
		return often
	}
	if often == "" {
		return b.cycle[0].Part
	}
	return b.cycle[0].Part + ": " + often
}

// what names a tread in a table: "Steady, 20 reps".
func (t Tread) what() string {
	noun := t.noun()
	what := strings.ToUpper(noun[:1]) + noun[1:]
	if t.Reps > 0 {
		what += ", " + Count(t.Reps, wordRep, wordReps)
	}
	if t.Label != "" {
		what += ", " + t.Label
	}
	return what
}
