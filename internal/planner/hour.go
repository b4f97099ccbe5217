package planner

import "math"

// Hour is what one athlete's class hour is put together from.
type Hour struct {
	Minutes         int      `json:"minutes"`                    // of the whole hour, 10–240
	WarmUpMinutes   *int     `json:"warm_up_minutes,omitzero"`   // nil: an eighth, 3–8
	CoolDownMinutes *int     `json:"cool_down_minutes,omitzero"` // nil: a twelfth, 2–5
	Tests           []Test   `json:"tests,omitempty"`
	Drill           *Drill   `json:"drill,omitzero"` // of the athlete's stage
	Gate            *Attempt `json:"gate,omitzero"`  // the gate out of that stage
	Athlete         Input    `json:"athlete"`        // its minutes are worked out here
}

// A Drill is what to practise at a stage.
type Drill struct {
	Name      string  `json:"name"`
	Reps      int     `json:"reps,omitzero"`
	Seconds   int     `json:"seconds,omitzero"` // of practice, pauses included; 0: as the hour allows
	Contacts  int     `json:"contacts,omitzero"`
	PerMinute float64 `json:"per_minute,omitzero"` // cadence of its cue; 0: none
}

// An Attempt is one go at a gate.
type Attempt struct {
	Name     string  `json:"name"`
	Chance   float64 `json:"chance"` // of success, 0–1
	Seconds  int     `json:"seconds"`
	Contacts int     `json:"contacts,omitzero"`
}

// A Part is one stretch of a class hour. Cue is zero where nothing is cued.
type Part struct {
	Kind    PartKind `json:"kind"`
	Name    string   `json:"name,omitzero"` // of the drill, the test or the gate
	Reps    int      `json:"reps,omitzero"`
	Seconds int      `json:"seconds"`
	Cue     Cue      `json:"cue,omitzero"`
}

// PartKind says what a part is for.
type PartKind string

// The parts of an hour, in order.
const (
	PartWarmUp    PartKind = "warm_up"
	PartTest      PartKind = "test"
	PartTechnique PartKind = "technique"
	PartSets      PartKind = "sets"
	PartGate      PartKind = "gate"
	PartSpare     PartKind = "spare" // no jumping: count for a partner, ask, drink
	PartCoolDown  PartKind = "cool_down"
	PartHold      PartKind = "hold" // no impact work
)

// Composed is a class hour in parts, whose seconds add up to the hour exactly,
// with the plan of its sets. Athlete is what that plan was solved from: the
// hour's athlete with the minutes and jumps that are left for the sets. Why holds
// what shaped the parts; the plan has reasons of its own.
type Composed struct {
	Parts   []Part   `json:"parts"`
	Plan    Plan     `json:"plan"`
	Athlete Input    `json:"athlete"`
	Why     []Reason `json:"why"`
}

// Compose puts an hour together: warm-up, tests, technique, sets, one attempt at
// a gate that is likely (odds of 0.3 or more), cool-down. What the sets leave of
// their time is spare. Where the hour is too short, technique and then the gate
// give way; drill and gate come out of the contacts that are left, and are left
// out where these do not suffice. Minors without an adult get no tests at full
// effort and no gate; such tests also wait for the stage with bursts. On a pain
// hold the whole hour is free of impact.
//
// It returns an [*InputError] for an hour outside its bounds, and the errors of
// [Solve].
func Compose(h Hour) (Composed, error) {
	if err := h.check(); err != nil {
		return Composed{}, err
	}
	if h.Athlete.Caution.Hold {
		return Composed{
			Parts: []Part{{Kind: PartHold, Seconds: 60 * h.Minutes}},
			Plan:  holdPlan(), Athlete: h.Athlete, Why: []Reason{{RuleHold, Values{}}},
		}, nil
	}
	c := composer{hour: &h, in: h.Athlete, why: newWhy()}
	if err := c.allot(); err != nil {
		return Composed{}, err
	}
	c.in.Minutes = new(max(float64(c.sets), momentSeconds) / 60)
	plan, err := Solve(c.in)
	if err != nil {
		return Composed{}, err
	}
	return Composed{Parts: c.parts(plan), Plan: plan, Athlete: c.in, Why: c.why.reasons}, nil
}

func (h *Hour) check() error {
	if h.Minutes < shortestHour || h.Minutes > longestHour {
		return &InputError{Field: "minutes", Problem: "must be 10 to 240"}
	}
	third := func(minutes *int) bool { return minutes == nil || (*minutes >= 0 && *minutes <= h.Minutes/3) }
	if !third(h.WarmUpMinutes) {
		return &InputError{Field: "warm_up_minutes", Problem: "must be 0 to a third of the hour"}
	}
	if !third(h.CoolDownMinutes) {
		return &InputError{Field: "cool_down_minutes", Problem: "must be 0 to a third of the hour"}
	}
	if d := h.Drill; d != nil && (min(d.Reps, d.Seconds, d.Contacts) < 0 || !(d.PerMinute >= 0 && d.PerMinute <= highestRPM)) {
		return &InputError{Field: "drill", Problem: "must have no number below 0"}
	}
	if g := h.Gate; g != nil && (!share(g.Chance) || g.Seconds < 1 || g.Contacts < 0) {
		return &InputError{Field: "gate", Problem: "must have a chance of 0 to 1 and a length"}
	}
	return nil
}

// momentSeconds stands for no time at all: too short for a single jump.
const momentSeconds = 1e-3

// composer allots the seconds of one hour.
type composer struct {
	hour *Hour
	in   Input
	why  why

	warmUp, coolDown, technique, gate, sets int // seconds
	tests                                   []Test
	drill                                   bool
}

// allot decides how long each part lasts.
func (c *composer) allot() error {
	h := c.hour
	c.warmUp = 60 * portion(h.WarmUpMinutes, h.Minutes, 8, 3, 8)
	c.coolDown = 60 * portion(h.CoolDownMinutes, h.Minutes, 12, 2, 5)
	left := 60*h.Minutes - c.warmUp - c.coolDown
	for _, test := range h.Tests {
		if !c.mayTest(test) {
			continue
		}
		c.tests = append(c.tests, test)
		left -= testSeconds(test)
	}
	if left < 0 {
		return &InputError{Field: "minutes", Problem: "are too few for these tests"}
	}
	if c.takeDrill() {
		c.technique = min(left, max(h.Drill.Seconds, 60*portion(nil, h.Minutes, 5, 2, 12)))
	}
	if c.takeGate(left) {
		c.gate = h.Gate.Seconds
		c.technique = min(c.technique, left-c.gate)
	}
	c.sets = left - c.technique - c.gate
	return nil
}

// portion returns the minutes that are set, or one part in so many of the hour,
// between least and most.
func portion(set *int, minutes, oneIn, least, most int) int {
	if set != nil {
		return *set
	}
	return min(max((minutes+oneIn/2)/oneIn, least), most)
}

// mayTest reports whether the athlete does a test of the class.
func (c *composer) mayTest(test Test) bool {
	if test == TestBase || test == TestCleanRun {
		return true
	}
	stage := c.in.Stage
	return !c.in.Caution.UnattendedMinor && (stage == nil || stage.Bursts)
}

// testSeconds returns the time a test takes in class with partners counting in
// turn (assumed).
func testSeconds(test Test) int {
	switch test {
	case TestAllOut:
		return testSeconds(TestAllOut30) + testSeconds(TestAllOut180)
	case TestAllOut180:
		return 480
	case TestCleanRun:
		return 300
	case TestBurst:
		return 180
	default:
		return 240
	}
}

// takeDrill reports whether the drill's jumps are left, and takes them.
func (c *composer) takeDrill() bool {
	d := c.hour.Drill
	if d == nil {
		return false
	}
	if !c.takeContacts(d.Contacts) {
		c.why.add(RuleDrillContacts, Value{"contacts", float64(d.Contacts)})
		return false
	}
	c.drill = true
	return true
}

// takeGate reports whether the gate is tried, with the given seconds left, and
// takes its jumps.
func (c *composer) takeGate(left int) bool {
	g := c.hour.Gate
	switch {
	case g == nil:
		return false
	case g.Chance < likelyGate-slack:
		c.why.add(RuleGateUnlikely, Value{"chance", g.Chance}, Value{"least", likelyGate})
		return false
	case c.in.Caution.UnattendedMinor:
		c.why.add(RuleGateUnattended)
		return false
	case g.Seconds > left:
		c.why.add(RuleGateTime, Value{"seconds", float64(g.Seconds)})
		return false
	case !c.takeContacts(g.Contacts):
		c.why.add(RuleGateContacts, Value{"contacts", float64(g.Contacts)})
		return false
	}
	c.why.add(RuleGateLikely, Value{"chance", g.Chance}, Value{"least", likelyGate})
	return true
}

// takeContacts takes jumps from those left this session and week, unless there
// are too few.
func (c *composer) takeContacts(jumps int) bool {
	for _, left := range []*int{c.in.ContactsLeft, c.in.WeekContactsLeft} {
		if left != nil && *left < jumps {
			return false
		}
	}
	if left := c.in.ContactsLeft; left != nil {
		c.in.ContactsLeft = new(*left - jumps)
	}
	if left := c.in.WeekContactsLeft; left != nil {
		c.in.WeekContactsLeft = new(*left - jumps)
	}
	return true
}

// parts lists what is in the hour, in order.
func (c *composer) parts(plan Plan) []Part {
	work := int(math.Ceil(plan.Seconds - slack*max(1, plan.Seconds)))
	list := []Part{{Kind: PartWarmUp, Seconds: c.warmUp}}
	for _, test := range c.tests {
		list = append(list, Part{Kind: PartTest, Name: string(test), Seconds: testSeconds(test)})
	}
	if d := c.hour.Drill; c.drill {
		part := Part{Kind: PartTechnique, Name: d.Name, Reps: d.Reps, Seconds: c.technique}
		if d.PerMinute > 0 {
			part.Cue = Cue{SteadyPerMinute: d.PerMinute, LeadInBeats: leadInBeats}
		}
		list = append(list, part)
	}
	list = append(list, Part{Kind: PartSets, Reps: plan.Reps, Seconds: work, Cue: plan.Cue})
	if c.gate > 0 {
		list = append(list, Part{Kind: PartGate, Name: c.hour.Gate.Name, Seconds: c.gate})
	}
	list = append(list,
		Part{Kind: PartSpare, Seconds: c.sets - work},
		Part{Kind: PartCoolDown, Seconds: c.coolDown})
	kept := list[:0]
	for _, part := range list {
		if part.Seconds > 0 {
			kept = append(kept, part)
		}
	}
	return kept
}
