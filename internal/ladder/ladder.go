// Package ladder answers where an athlete stands on a ladder of skills, why not
// yet, and what to do next: ladders and their files, gates and the evidence for
// them, the class seen at once, coach's checks, the catch diary and the rules
// for ropes. It is pure computation, embeds its texts as files that can be
// translated, and imports only the standard library.
package ladder

// A Ladder is an ordered list of skills. It is data: the one that ships, a
// gym's copy of it, or one read from a file (see [Parse]).
//
// Editing makes a new Version. A stage is retired by leaving it out of the next
// version; [Place] says where its athletes stand then.
type Ladder struct {
	Key     string  `json:"key"`
	Name    string  `json:"name"`
	Version int     `json:"version"` // from 1
	Lang    string  `json:"lang"`    // BCP 47 tag of the texts, such as "en"
	Stages  []Stage `json:"stages"`  // lowest first
}

// A Stage is one skill, with the gate to leave it. Key stays the same when the
// stage is renamed or moved, and in every language.
type Stage struct {
	Number      int        `json:"-"` // from 1, its place in the ladder
	Key         string     `json:"key"`
	Title       string     `json:"title"`
	Purpose     string     `json:"purpose"`
	LookFor     []string   `json:"look_for,omitempty"`
	Faults      []Fault    `json:"faults,omitempty"` // the usual ones
	Drill       Drill      `json:"drill,omitzero"`
	RopeAdvice  string     `json:"rope_advice,omitempty"`
	Caution     string     `json:"caution,omitempty"`
	Checks      []Check    `json:"checks,omitempty"` // what a coach looks at here
	Allows      Allows     `json:"allows,omitzero"`
	AlsoMeasure []Protocol `json:"also_measure,omitempty"` // worth measuring here, beside the gate
	Gate        Gate       `json:"gate"`
}

// A Fault is a usual mistake with the one cue that mends it most often.
type Fault struct {
	Fault string `json:"fault"`
	Cue   string `json:"cue"`
}

// Allows says what a stage permits beyond steady turning. See [Stage.May].
type Allows struct {
	Bursts       bool `json:"bursts,omitempty"`        // blocks above base rate
	AllOut       bool `json:"all_out,omitempty"`       // tests at full effort, burst tests too
	SingleHanded bool `json:"single_handed,omitempty"` // both handles in one hand, two turns a jump
	Doubles      bool `json:"doubles,omitempty"`
	Triples      bool `json:"triples,omitempty"`
}

// Stage returns the stage with key, and whether there is one.
func (l Ladder) Stage(key string) (Stage, bool) {
	if i := l.index(key); i >= 0 {
		return l.Stages[i], true
	}
	return Stage{}, false
}

// Next returns the stage after the one with key, and whether there is one.
func (l Ladder) Next(key string) (Stage, bool) { return l.neighbour(key, 1) }

// Previous returns the stage before the one with key, and whether there is one.
func (l Ladder) Previous(key string) (Stage, bool) { return l.neighbour(key, -1) }

func (l Ladder) neighbour(key string, step int) (Stage, bool) {
	i := l.index(key)
	if i < 0 || i+step < 0 || i+step >= len(l.Stages) {
		return Stage{}, false
	}
	return l.Stages[i+step], true
}

func (l Ladder) index(key string) int {
	for i := range l.Stages {
		if l.Stages[i].Key == key {
			return i
		}
	}
	return -1
}

// Numbered returns l with every stage's Number set to its place, from 1.
func (l Ladder) Numbered() Ladder {
	stages := make([]Stage, len(l.Stages))
	for i, s := range l.Stages {
		s.Number = i + 1
		stages[i] = s
	}
	l.Stages = stages
	return l
}
