package measuring

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
)

// Bounds of what a form takes, beyond what a person can have done.
const (
	MostRotations = 999  // in a minute and a half or less
	mostLong      = 1999 // in a longer test
	mostReps      = 9999 // of a clean run
	mostInARow    = 999  // doubles, cycles or rounds
	mostCatches   = 99
	mostCounters  = 9
	mostBouts     = 20
	leastBouts    = 2
	mostTries     = 20
	mostRest      = 900.0 // s, between bouts
	mostFlight    = 1.0   // s; a jump of 1.2 m
	leastFlight   = 0.05  // s
	mostTask      = 60    // bytes of a task's key
)

// check lets a withdrawal pass, and looks at everything else.
func check(r gym.Result) error {
	if r.Void {
		return nil
	}
	return Check(r)
}

// Check says what is wrong with a result, as a form problem, or nil. It fills
// in nothing and asks nobody.
func Check(r gym.Result) error {
	protocol, ok := rate.ProtocolOf(r.Protocol)
	if !ok {
		return problem.Form(map[string]string{"protocol": "Choose a test from the list."})
	}
	wrong := map[string]string{}
	switch protocol.Measured {
	case rate.Rotations:
		checkTimed(r, protocol, wrong)
	case rate.Run:
		checkCount(r, mostReps, "Clean reps must be a whole number from 0 to %d, like 120.", wrong)
	case rate.Doubles:
		checkCount(r, mostInARow, "Doubles in a row must be a whole number from 0 to %d, like 7.", wrong)
	case rate.InARow:
		checkCount(r, mostInARow, "Type how many were clean in a row, from 0 to %d.", wrong)
		checkTask(r, wrong)
	case rate.Bouts:
		checkBouts(r, protocol, wrong)
	case rate.FlightTime:
		checkFlight(r, wrong)
	case rate.Successes:
		checkTries(r, wrong)
		checkTask(r, wrong)
	}
	checkPauses(r, wrong)
	checkSetup(r, wrong)
	return problem.Form(wrong)
}

func checkTimed(r gym.Result, protocol rate.Protocol, wrong map[string]string) {
	most := MostRotations
	if r.Seconds != nil && *r.Seconds > 90 {
		most = mostLong
	}
	if r.Rotations == nil || *r.Rotations < 0 || *r.Rotations > most {
		wrong["rotations"] = fmt.Sprintf("Rotations must be a whole number from 0 to %d, like 87.", most)
	}
	if len(r.Counts) > mostCounters || slices.ContainsFunc(r.Counts, func(n int32) bool { return n < 0 || int(n) > most }) {
		wrong["rotations"] = fmt.Sprintf("Each counter's number must be from 0 to %d.", most)
	}
	if r.Seconds == nil || math.IsNaN(*r.Seconds) || !protocol.Allows(*r.Seconds) {
		wrong["seconds"] = "Choose one of the times that this test has."
	}
	if len(wrong) > 0 {
		return
	}
	if count, ok := level.CountOf(r); ok {
		if _, err := count.WholeTest(); errors.Is(err, rate.ErrTooFast) {
			wrong["rotations"] = fmt.Sprintf("%d rotations in %g s is %.0f rpm, more than any rope turns. Count again, or check the seconds.",
				*r.Rotations, *r.Seconds, 60*float64(*r.Rotations) / *r.Seconds)
		}
	}
}

func checkCount(r gym.Result, most int, message string, wrong map[string]string) {
	if r.Rotations == nil || *r.Rotations < 0 || *r.Rotations > most {
		wrong["rotations"] = fmt.Sprintf(message, most)
	}
}

func checkTask(r gym.Result, wrong map[string]string) {
	if r.Task == "" || len(r.Task) > mostTask {
		wrong["task"] = "Choose what was tried."
	}
}

func checkBouts(r gym.Result, protocol rate.Protocol, wrong map[string]string) {
	if r.Seconds == nil || !protocol.Allows(*r.Seconds) {
		wrong["seconds"] = "Choose one of the times that this test has."
	}
	if r.RestSeconds == nil || !(*r.RestSeconds >= 1 && *r.RestSeconds <= mostRest) {
		wrong["rest"] = fmt.Sprintf("The rest between bouts must be from 1 to %.0f seconds.", mostRest)
	}
	if len(r.Bouts) < leastBouts || len(r.Bouts) > mostBouts {
		wrong["bouts"] = fmt.Sprintf("Type the rotations of each bout, %d to %d of them.", leastBouts, mostBouts)
		return
	}
	for i, n := range r.Bouts {
		switch {
		case n < 0 || n > MostRotations:
			wrong["bouts"] = fmt.Sprintf("Bout %d must be a whole number from 0 to %d, like 31.", i+1, MostRotations)
		case wrong["seconds"] == "" && 60*float64(n) / *r.Seconds > rate.HighestRPM:
			wrong["bouts"] = fmt.Sprintf("Bout %d: %d rotations in %g s is more than any rope turns. Count again, or check the seconds.", i+1, n, *r.Seconds)
		}
	}
}

func checkFlight(r gym.Result, wrong map[string]string) {
	if r.FlightSeconds == nil || !(*r.FlightSeconds >= leastFlight && *r.FlightSeconds <= mostFlight) {
		wrong["flight"] = fmt.Sprintf("Flight time must be from %g to %g seconds, like 0.36. Check both times.", leastFlight, mostFlight)
	}
}

func checkTries(r gym.Result, wrong map[string]string) {
	if r.Attempts == nil || *r.Attempts < 1 || *r.Attempts > mostTries {
		wrong["attempts"] = fmt.Sprintf("Tries must be a whole number from 1 to %d. A gate has 5.", mostTries)
	}
	switch {
	case r.Successes == nil || *r.Successes < 0:
		wrong["successes"] = "Type how many tries were good, like 3."
	case wrong["attempts"] == "" && *r.Successes > *r.Attempts:
		wrong["successes"] = fmt.Sprintf("There cannot be more good tries than tries: %d of %d.", *r.Successes, *r.Attempts)
	}
}

func checkPauses(r gym.Result, wrong map[string]string) {
	if r.Catches < 0 || r.Catches > mostCatches {
		wrong["catches"] = fmt.Sprintf("Catches must be a whole number from 0 to %d.", mostCatches)
	}
	if r.LostSeconds != nil && (r.Seconds == nil || !(*r.LostSeconds >= 0 && *r.LostSeconds < *r.Seconds)) {
		wrong["lost"] = "The seconds lost to catches must be less than the test's."
	}
	if r.LongestRestartSeconds == nil {
		return
	}
	switch {
	case r.Seconds == nil || !(*r.LongestRestartSeconds >= 0 && *r.LongestRestartSeconds < *r.Seconds):
		wrong["restart"] = "The longest restart must be shorter than the test."
	case r.LostSeconds != nil && *r.LongestRestartSeconds > *r.LostSeconds:
		wrong["restart"] = "The longest restart cannot be longer than all the seconds lost."
	}
}

func checkSetup(r gym.Result, wrong map[string]string) {
	if !slices.Contains(gym.Steps(), r.Step) {
		wrong["step"] = "Choose a step from the list."
	}
	if r.RopeKind != "" && !slices.Contains(gym.RopeKinds(), r.RopeKind) {
		wrong["rope"] = "Choose a rope from the list."
	}
	if !slices.Contains(gym.Surfaces(), r.Surface) {
		wrong["surface"] = "Choose a floor from the list."
	}
	if !slices.Contains([]string{"self", "partner", "coach"}, r.CountedBy) {
		wrong["counted_by"] = "Choose who counted."
	}
}
