package ladder

// A State says how a clause or a gate stands today.
type State string

// The states. Expired: enough results reached the threshold once, and too many
// of them are older than the clause allows.
const (
	Met     State = "met"
	NotYet  State = "not_yet"
	Expired State = "expired"
)

// SeenClause is the key of the last row of a [Verdict] whose gate asks that a
// coach has seen one of the results.
const SeenClause = "seen-by-coach"

// A Verdict says how a gate stands for an athlete today. It decides nothing: the
// coach does.
type Verdict struct {
	State   State           `json:"state"`   // Met if all clauses are; else Expired if none is NotYet
	Clauses []ClauseVerdict `json:"clauses"` // in the gate's order, then [SeenClause] if asked for
}

// A ClauseVerdict says how a clause stands and what speaks for it.
type ClauseVerdict struct {
	Clause string `json:"clause"`
	State  State  `json:"state"`

	// Results holds the ids of the results that count now, oldest first; of an
	// expired clause those that met it last.
	Results []string `json:"results,omitempty"`
	Missing Missing  `json:"missing,omitzero"`
}

// A MissingCode says what sort of thing is missing.
type MissingCode string

// What can be missing.
const (
	MissingResults   MissingCode = "results"
	MissingBase      MissingCode = "base"      // a base test to hold a burst against, then results
	MissingJudgement MissingCode = "judgement" // the coach's
	MissingSight     MissingCode = "seen"      // enough results, none seen by a coach
)

// Missing says what a clause still needs; it is zero for a clause that is met.
// [Words.Missing] puts it in a sentence.
type Missing struct {
	Code     MissingCode `json:"code"`
	Results  int         `json:"results,omitempty"`   // more results needed
	Days     int         `json:"days,omitempty"`      // of these, on days that have none yet
	Have     int         `json:"have,omitempty"`      // results that count now
	Target   float64     `json:"target,omitempty"`    // what the next must reach, in the measure's unit; rpm above base rounded up
	NotToday bool        `json:"not_today,omitempty"` // another result today would not help

	Step string   `json:"step,omitempty"` // the next must be in this step, if the clause wants them alike
	Rope RopeKind `json:"rope,omitempty"` // and on this kind of rope

	Tried      int     `json:"tried,omitempty"`      // results of this kind within the weeks that count, good or not
	Best       float64 `json:"best,omitempty"`       // the best of these; meaningless if Tried is 0
	Unlike     int     `json:"unlike,omitempty"`     // good enough, but in another step or on another kind of rope
	Unattended int     `json:"unattended,omitempty"` // good enough, but a minor's with no adult present
	Untimed    int     `json:"untimed,omitempty"`    // good enough, but nobody timed the restarts
	NotYetOn   Day     `json:"not_yet_on,omitzero"`  // the day on which the coach last said not yet
}

// Clause returns the verdict on the clause with key, and whether there is one.
func (v Verdict) Clause(key string) (ClauseVerdict, bool) {
	for _, c := range v.Clauses {
		if c.Clause == key {
			return c, true
		}
	}
	return ClauseVerdict{}, false
}

// settle sets v's state from its clauses.
func (v *Verdict) settle() {
	v.State = Met
	for _, c := range v.Clauses {
		switch c.State {
		case NotYet:
			v.State = NotYet
			return
		case Expired:
			v.State = Expired
		}
	}
}
