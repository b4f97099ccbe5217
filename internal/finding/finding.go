// Package finding reads out of what is kept of one athlete what the science
// gives: how long a rate lasts, how far clean runs go, how often the rope
// catches, what a double under asks, whether a change is real, and how heavy the
// weeks were. It is pure and imports the nouns of package gym, package level and
// the pure packages.
package finding

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
)

// A Record is what is kept of one athlete.
type Record struct {
	Results  []gym.Result  // standing, of any kind, in any order
	Plans    []Plan        // as they were given, one a day
	Debriefs []gym.Debrief // standing
	Logs     []gym.SetLog
}

// A Plan is a kept plan, read.
type Plan struct {
	ID   uuid.UUID
	Day  time.Time
	Plan planner.Plan
}

// ReadPlans reads the outlines of kept plans: all but their reasons and segments.
func ReadPlans(kept []gym.Plan) ([]Plan, error) {
	plans := make([]Plan, len(kept))
	for i, k := range kept {
		plans[i].ID, plans[i].Day = k.PlanID, k.Day
		if err := json.Unmarshal(outline(k.Output), &plans[i].Plan); err != nil {
			return nil, unreadable(k, err)
		}
		plans[i].Plan.Why, plans[i].Plan.Segments = nil, nil
	}
	return plans, nil
}

// outline cuts a plan off where its reasons begin. Reasons and segments come
// last and are most of it: a class's plans of a term are two megabytes.
func outline(output []byte) []byte {
	head, _, found := bytes.Cut(output, []byte(`,"why":[`))
	if !found {
		return output
	}
	return append(head[:len(head):len(head)], '}')
}

// ReadPlan reads a kept plan with its segments, without its reasons.
func ReadPlan(kept gym.Plan) (planner.Plan, error) {
	var plan planner.Plan
	if err := json.Unmarshal(unreasoned(kept.Output), &plan); err != nil {
		return planner.Plan{}, unreadable(kept, err)
	}
	return plan, nil
}

// unreasoned cuts the reasons out of a plan, which are half of it.
func unreasoned(output []byte) []byte {
	head, rest, found := bytes.Cut(output, []byte(`,"why":[`))
	segments := bytes.LastIndex(rest, []byte(`,"segments":`))
	if !found || segments < 0 {
		return output
	}
	return slices.Concat(head, rest[segments:])
}

func unreadable(kept gym.Plan, err error) error {
	return fmt.Errorf("reading the plan of %s: %w", kept.Day.Format(time.DateOnly), err)
}

// plan returns the plan with id, nil if it is not in the record.
func (r Record) plan(id uuid.UUID) *planner.Plan {
	for i := range r.Plans {
		if r.Plans[i].ID == id {
			return &r.Plans[i].Plan
		}
	}
	return nil
}

// runDays is how long runs and tests of effort count: the usual term of twelve
// weeks (assumed, as in the ladder that ships).
const runDays = 84

// recentDays is how long catches speak for the next session: as long as rates
// do (assumed).
const recentDays = 42

// within reports whether day is at most the given days before today, and not
// after it.
func within(day, today time.Time, days int) bool {
	age := today.Sub(day)
	return age >= 0 && age <= time.Duration(days)*24*time.Hour
}
