package ladder

// An Activity is something that only some stages allow.
type Activity string

// The activities. AllOutTest is any test at full effort, burst tests included.
const (
	Bursts       Activity = "bursts"
	AllOutTest   Activity = "all_out"
	SingleHanded Activity = "single_handed"
	Doubles      Activity = "doubles"
	Triples      Activity = "triples"
	GateAttempt  Activity = "gate"
)

// Activities lists the activities by key.
func Activities() []Activity {
	return []Activity{Bursts, AllOutTest, SingleHanded, Doubles, Triples, GateAttempt}
}

// May decides whether a, who stands at s, may do what the activity names, with
// an adult present or not. A stage that does not allow it yet refuses, unless a
// coach takes it over. Unattended minors get no all-out tests, no doubles and no
// gate attempts, and no override makes up for the missing adult.
func (s Stage) May(do Activity, a Athlete, attended bool) Decision {
	var d Decision
	if !s.allows(do) {
		d.refuse("stage_too_low", true, "activity", string(do), "stage", s.Title)
	}
	if a.Minor && !attended && needsAdult(do) {
		d.refuse("unattended", false, "activity", string(do))
	}
	return d
}

func (s Stage) allows(do Activity) bool {
	switch do {
	case Bursts:
		return s.Allows.Bursts
	case AllOutTest:
		return s.Allows.AllOut
	case SingleHanded:
		return s.Allows.SingleHanded
	case Doubles:
		return s.Allows.Doubles
	case Triples:
		return s.Allows.Triples
	}
	return do == GateAttempt
}

// needsAdult reports whether minors may do it only with an adult present.
func needsAdult(do Activity) bool {
	return do == AllOutTest || do == Doubles || do == Triples || do == GateAttempt
}
