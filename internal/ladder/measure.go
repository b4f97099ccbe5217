package ladder

// A Protocol is a way of measuring. Results carry it; clauses ask for one of
// its quantities.
type Protocol string

// The protocols that gates can ask for. The first four and [DoublesRow] are
// timed or counted tests; the rest are counted against a task.
const (
	Base       Protocol = "base"         // a comfortable rate over 60 s, or 30 or 15 s
	Burst      Protocol = "burst"        // a short effort over 10 or 5 s
	AllOut     Protocol = "all_out"      // 30, 60 or 180 s at full effort
	CleanRun   Protocol = "clean_run"    // reps up to the catch
	DoublesRow Protocol = "doubles"      // double unders in a row
	Split      Protocol = "split"        // cycles of steady and burst reps; the task says which
	Pattern    Protocol = "pattern"      // rounds of a pattern of jumps; the task says which
	Tries      Protocol = "tries"        // a fixed number of tries at one task
	Judged     Protocol = "judged"       // a coach's judgement of a task
	InDouble   Protocol = "in_double"    // the turning rate inside a double
	Repeat     Protocol = "repeat_burst" // bouts with short rests
	Flight     Protocol = "flight"       // time in the air
)

// Protocols lists the protocols by key.
func Protocols() []Protocol {
	return []Protocol{Base, Burst, AllOut, CleanRun, DoublesRow, Split, Pattern, Tries, Judged, InDouble, Repeat, Flight}
}

// A Comparison says on which side of the threshold a value counts.
type Comparison string

// The comparisons. The threshold itself counts.
const (
	AtLeast Comparison = "at_least"
	AtMost  Comparison = "at_most"
)

// A quantity is the number of a result that a measure compares.
type quantity int

const (
	byJudgement quantity = iota
	byRPM
	byCatches
	byReps
	bySuccesses
)

// A Measure is one thing that a clause can ask for: a quantity of a protocol.
type Measure struct {
	Key         string
	Protocol    Protocol
	Unit        string       // rpm, catches, reps, doubles, cycles, rounds, tries; "" for a judgement
	Comparisons []Comparison // those that make sense; none for a judgement
	Least, Most float64      // bounds of a threshold
	Task        bool         // a clause must say at what
	quantity    quantity
	longer      bool // a longer window counts as well
}

// CoachJudges is the measure of a clause without numbers.
const CoachJudges = "coach_judges"

// Measures lists what clauses can ask for, one row each, in the order in which
// an editor offers them.
//
// Rates are whole-test rates. The most for a clean run is the common bar of 500
// bounces (common practice, no source); above 600 rpm no rate is accepted.
func Measures() []Measure {
	atLeast, atMost, both := []Comparison{AtLeast}, []Comparison{AtMost}, []Comparison{AtLeast, AtMost}
	return []Measure{
		{Key: "base_catches", Protocol: Base, Unit: "catches", Comparisons: atMost, Most: 20, quantity: byCatches, longer: true},
		{Key: "base_rate", Protocol: Base, Unit: "rpm", Comparisons: both, Least: 1, Most: 600, quantity: byRPM},
		{Key: "burst_rate", Protocol: Burst, Unit: "rpm", Comparisons: both, Least: 1, Most: 600, quantity: byRPM},
		{Key: "all_out_rate", Protocol: AllOut, Unit: "rpm", Comparisons: both, Least: 1, Most: 600, quantity: byRPM},
		{Key: "clean_run", Protocol: CleanRun, Unit: "reps", Comparisons: atLeast, Least: 1, Most: 500, quantity: byReps},
		{Key: "doubles_in_a_row", Protocol: DoublesRow, Unit: "doubles", Comparisons: atLeast, Least: 1, Most: 500, quantity: byReps},
		{Key: "split_cycles", Protocol: Split, Unit: "cycles", Comparisons: atLeast, Least: 1, Most: 60, Task: true, quantity: byReps},
		{Key: "pattern_rounds", Protocol: Pattern, Unit: "rounds", Comparisons: atLeast, Least: 1, Most: 60, Task: true, quantity: byReps},
		{Key: "good_tries", Protocol: Tries, Unit: "tries", Comparisons: atLeast, Least: 1, Most: 20, Task: true, quantity: bySuccesses},
		{Key: CoachJudges, Protocol: Judged, Task: true},
	}
}

// measureOf returns the row of Measures with key, and whether there is one.
func measureOf(key string) (Measure, bool) {
	for _, m := range Measures() {
		if m.Key == key {
			return m, true
		}
	}
	return Measure{}, false
}
