package standing

import (
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// The verdicts of a decision.
const (
	Start = "start" // the first stage of somebody new
	Up    = "up"
	Stay  = "stay"
	Down  = "down"
	Back  = "back"  // takes an earlier decision back
	Moved = "moved" // the ladder changed
)

// A Place is where somebody stands. The zero Place is nowhere yet.
type Place struct {
	Stage    string    // key, "" where nobody has decided
	Since    time.Time // day on which the stage was reached
	Ladder   uuid.UUID // of the decision that said so
	Version  int
	Decision uuid.UUID // the newest decision that holds, which may say stay
}

// PlaceOf returns where an athlete stands by the decisions on him, in any order.
// A decision that was taken back never was.
func PlaceOf(decisions []gym.StageDecision) Place {
	var place Place
	for _, d := range Holding(decisions) {
		if d.Verdict != Stay || place.Stage != d.StageTo {
			place.Stage, place.Since, place.Ladder, place.Version = d.StageTo, d.DecidedOn, d.LadderID, d.Version
		}
		place.Decision = d.DecisionID
	}
	return place
}

// SkillRope returns the kind of rope on which the stage of place was begun, "" if
// no result since then says. The results come in any order.
func SkillRope(place Place, results []gym.Result) string {
	var first gym.Result
	for _, r := range results {
		if r.RopeKind == "" || place.Stage == "" || r.Day.Before(place.Since) {
			continue
		}
		if first.RopeKind == "" || r.TakenAt.Before(first.TakenAt) {
			first = r
		}
	}
	return first.RopeKind
}

// Holding returns the decisions that hold, oldest first: neither taken back nor
// taking back.
func Holding(decisions []gym.StageDecision) []gym.StageDecision {
	gone := map[uuid.UUID]bool{}
	for _, d := range decisions {
		if d.TakesBack != uuid.Nil {
			gone[d.TakesBack] = true
		}
	}
	var holding []gym.StageDecision
	for _, d := range decisions {
		if d.TakesBack == uuid.Nil && !gone[d.DecisionID] {
			holding = append(holding, d)
		}
	}
	slices.SortStableFunc(holding, later)
	return holding
}

// later orders decisions by time; ids made at one moment decide.
func later(a, b gym.StageDecision) int {
	if by := a.DecidedAt.Compare(b.DecidedAt); by != 0 {
		return by
	}
	return slices.Compare(a.DecisionID[:], b.DecisionID[:])
}
