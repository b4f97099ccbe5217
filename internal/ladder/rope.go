package ladder

import "strconv"

// A RopeKind is a kind of rope by key.
type RopeKind string

// The kinds of rope. Steel is a coated steel cable.
const (
	Beaded  RopeKind = "beaded"
	Cord    RopeKind = "cord" // PVC
	Steel   RopeKind = "steel"
	Cloth   RopeKind = "cloth" // cotton or nylon
	Leather RopeKind = "leather"
)

// RopeKinds lists the kinds of rope, slowest first: thin PVC and steel turn
// fastest, leather, cotton and nylon are slower and load the grip (common
// practice, no source).
func RopeKinds() []RopeKind { return []RopeKind{Cloth, Leather, Beaded, Cord, Steel} }

// A Rope is one rope of the gym.
type Rope struct {
	Kind      RopeKind
	CheckedOn Day // when its coating, ends and handles were last looked at; 0 for never
}

// A Borrower is what the rope rules need to know of who would use a rope.
type Borrower struct {
	Athlete
	SteelApproved bool       // a coach has approved steel for this athlete
	ClassKinds    []RopeKind // the kinds that the class may use, empty for all
	SkillRope     RopeKind   // the kind on which the present stage was begun, "" for none
	Tested        bool       // there is a base test within six weeks
	Catches       float64    // in a minute of the newest base test
}

// Limits of the steel rules. Common practice, no source: steel hurts, so it is
// not for people who still catch often; a rope that moves fast is looked at often.
const (
	steelCatchesMost = 2 // in a minute, the bar of the steady minute
	steelCheckDays   = 7
)

// Lend decides whether b may use r today. A kind that the class does not use, and
// steel for a minor without approval, for someone not tested or who still
// catches often, are refused unless a coach takes it over; steel whose weekly
// check is due is refused until the check is logged; a change of rope in the
// middle of a skill is only nudged.
func Lend(r Rope, b Borrower, today Day) Decision {
	var d Decision
	if !allowsKind(b.ClassKinds, r.Kind) {
		d.refuse("class_rope", true, "rope", string(r.Kind))
	}
	if r.Kind == Steel {
		switch {
		case b.Minor && !b.SteelApproved:
			d.refuse("steel_minor", true)
		case !b.Tested:
			d.refuse("steel_untested", true)
		}
		if b.Tested && b.Catches > steelCatchesMost {
			d.refuse("steel_catches", true,
				"catches", strconv.FormatFloat(b.Catches, 'f', -1, 64), "most", strconv.Itoa(steelCatchesMost))
		}
		if r.CheckedOn == 0 || today-r.CheckedOn >= steelCheckDays {
			d.refuse("steel_check", false)
		}
	}
	if b.SkillRope != "" && b.SkillRope != r.Kind {
		d.nudge("one_rope", "from", string(b.SkillRope), "to", string(r.Kind))
	}
	return d
}

func allowsKind(kinds []RopeKind, kind RopeKind) bool {
	for _, k := range kinds {
		if k == kind {
			return true
		}
	}
	return len(kinds) == 0
}
