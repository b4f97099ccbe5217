package ladder

// A Gate is the evidence that opens the next stage: clauses, all needed.
type Gate struct {
	// SeenByCoach asks that a coach has seen at least one of the results that are
	// good enough for a clause and new enough, on whichever rope it was. A coach's
	// judgement is seen by its nature.
	SeenByCoach bool     `json:"seen_by_coach,omitempty"`
	Clauses     []Clause `json:"clauses"`
}

// A Clause asks for a number of results, on a number of different days, that
// reach a threshold; or for a coach's judgement.
type Clause struct {
	Key      string  `json:"key"`                 // unique in its gate
	Measure  string  `json:"measure"`             // a key of [Measures]
	Task     string  `json:"task,omitempty"`      // key of what is tried or judged, equal to [Evidence.Task]
	TaskText string  `json:"task_text,omitempty"` // the task in words
	Each     Portion `json:"each,omitzero"`       // the reps in one cycle, round or try

	Seconds int    `json:"seconds,omitempty"` // the test's window, 0 for any; for catches a longer one counts as well
	Step    string `json:"step,omitempty"`    // a step's key, [One] or [Any]; "" is Any
	Rope    string `json:"rope,omitempty"`    // a rope kind's key, [One], [Own] or [Any]; "" is One

	Comparison Comparison `json:"comparison,omitempty"`
	Threshold  Threshold  `json:"threshold,omitzero"`
	Of         int        `json:"of,omitempty"` // tries in one attempt, for good tries

	// RestartWithinSeconds is the longest pause after a catch, 0 for no limit. A
	// result with catches whose pauses nobody timed does not count then.
	RestartWithinSeconds float64 `json:"restart_within_seconds,omitempty"`

	Results     int  `json:"results"`                 // how many results, from 1
	Days        int  `json:"days"`                    // on how many different days, 1 to Results
	WithinWeeks int  `json:"within_weeks,omitempty"`  // newest weeks that count, 0 for no limit
	SeenByCoach bool `json:"seen_by_coach,omitempty"` // a coach must see one of this clause's results
}

// Rules for the step and the rope of the results of one clause.
const (
	Any = "any" // they may differ
	One = "one" // all alike, whichever it is: like is counted only with like
	Own = "own" // only on the kind of rope that the athlete uses now
)

// A Portion is how many reps of each sort a task holds, for the odds.
type Portion struct {
	Steady  int `json:"steady,omitempty"`
	Burst   int `json:"burst,omitempty"`
	Doubles int `json:"doubles,omitempty"`
}

// times returns n portions.
func (p Portion) times(n int) Portion { return Portion{p.Steady * n, p.Burst * n, p.Doubles * n} }

// A Threshold is a constant, with other values for the young, or relative to
// the athlete's own base rate.
type Threshold struct {
	Value     float64   `json:"value,omitempty"`
	Under     []Variant `json:"under,omitempty"`     // youngest first
	AboveBase AboveBase `json:"above_base,omitzero"` // instead of Value
}

// A Variant replaces a threshold for athletes younger than Age, in years.
type Variant struct {
	Age   int     `json:"age"`
	Value float64 `json:"value"`
}

// AboveBase sets the threshold to a base rate plus the larger of RPM and Percent
// of that base.
//
// A burst is held against the base tests of the same step and rope on its own
// day and in the WithinWeeks before, those with at most two catches; it counts
// when it reaches the threshold of one of them. So a later, faster base test
// never takes back a burst that counted.
type AboveBase struct {
	RPM         float64 `json:"rpm"`
	Percent     float64 `json:"percent"`
	WithinWeeks int     `json:"within_weeks"` // from 1
}

// baseCatchesMost is the number of catches above which a base test is too
// broken to hold a burst against: the bar of the steady minute (common practice,
// no source).
const baseCatchesMost = 2

// over returns the rpm that a burst must reach above base, in rpm.
func (a AboveBase) over(base float64) float64 {
	return base + max(a.RPM, base*a.Percent/100)
}

// For returns the constant threshold for an athlete of age, in years; an
// unknown age, 0, gets the plain value.
func (t Threshold) For(age int) float64 {
	if age > 0 {
		for _, v := range t.Under {
			if age < v.Age {
				return v.Value
			}
		}
	}
	return t.Value
}
