package coaching

import (
	"encoding/json"
	"errors"
	"fmt"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
)

func asInput(err error) (*planner.InputError, bool) { return errors.AsType[*planner.InputError](err) }

// An Again is a kept plan worked out once more from what was kept with it.
type Again struct {
	Plan  planner.Plan   // as kept
	Parts []planner.Part // of the hour, as kept; none where the sets alone were planned
	Why   []planner.Reason
	Now   planner.Plan // as worked out by the rules of today; zero where Err says why not
	Same  bool         // Now and its parts are what was kept, to the last byte
	Err   error        // the rules of today give no plan for that input
}

// Older reports whether the plan was made by another version of the rules.
func (a Again) Older() bool { return a.Plan.RulesVersion != planner.RulesVersion }

// WorkAgain reads a kept plan and works it out again. What was kept is shown
// whatever becomes of that: rules change, plans that were given do not.
func WorkAgain(kept gym.Plan) (Again, error) {
	var a Again
	if err := json.Unmarshal(kept.Output, &a.Plan); err != nil {
		return Again{}, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
	}
	if kept.Parts != nil {
		var p parts
		if err := json.Unmarshal(kept.Parts, &p); err != nil {
			return Again{}, fmt.Errorf("reading the hour of plan %s: %w", kept.PlanID, err)
		}
		a.Parts, a.Why = p.Parts, p.Why
	}
	again, err := solveAgain(kept)
	if err != nil {
		a.Err = err
		return a, nil
	}
	a.Now = again.Plan
	a.Same = string(again.Kept.Output) == string(kept.Output) && string(again.Kept.Parts) == string(kept.Parts)
	return a, nil
}

// solveAgain works a kept plan out from its hour, or from its input where the
// sets alone were planned.
func solveAgain(kept gym.Plan) (Planned, error) {
	var again Planned
	if kept.Hour != nil {
		var hour planner.Hour
		if err := json.Unmarshal(kept.Hour, &hour); err != nil {
			return again, fmt.Errorf("reading a plan's hour: %w", err)
		}
		return again, again.compose(hour)
	}
	var in planner.Input
	if err := json.Unmarshal(kept.Input, &in); err != nil {
		return again, fmt.Errorf("reading a plan's input: %w", err)
	}
	return again, again.solve(in)
}

// solve solves the sets alone and puts them into Kept.
func (p *Planned) solve(in planner.Input) error {
	var err error
	if p.Plan, err = planner.Solve(in); err != nil {
		return fmt.Errorf("solving a kept plan again: %w", err)
	}
	if p.Kept.Input, err = json.Marshal(in); err != nil {
		return fmt.Errorf("keeping a plan's input: %w", err)
	}
	if p.Kept.Output, err = json.Marshal(p.Plan); err != nil {
		return fmt.Errorf("keeping a plan: %w", err)
	}
	return nil
}

// Recompute works a kept plan out again. same tells whether it comes to what was
// kept, to the last byte.
func Recompute(kept gym.Plan) (plan planner.Plan, same bool, err error) {
	again, err := WorkAgain(kept)
	if err != nil {
		return planner.Plan{}, false, err
	}
	return again.Now, again.Same, again.Err
}
