package deciding

import (
	"encoding/json"
	"fmt"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/rhythm"
)

// RatesOf returns an athlete's own rates for a drill from the results and plans
// of any age, newest first, as of today; 0 where nobody knows.
//
// The target is what the newest plan aims bursts at. The double cadence leaves
// room for two turns at the burst rate, and is not known while the rope turns so
// slowly that a double would need too high a jump.
func RatesOf(results []gym.Result, plans []gym.Plan, today time.Time) (ladder.Rates, error) {
	levels := level.Of(results, today)
	rates := ladder.Rates{Base: levels.Planning().RPM, Burst: levels.Burst.RPM}
	for _, kept := range plans {
		var plan planner.Plan
		if err := json.Unmarshal(kept.Output, &plan); err != nil {
			return ladder.Rates{}, fmt.Errorf("reading the plan of %s: %w", kept.Day.Format(time.DateOnly), err)
		}
		if plan.Kind == planner.KindSplit && !plan.Split.Double {
			rates.Target = plan.TargetRPM
			break
		}
	}
	if rates.Base > 0 && rates.Burst > 0 {
		advice, err := rhythm.Advise(rhythm.Jumper{RopeRPM: rates.Burst, Cadence: rates.Base, Sweep: rhythm.Sweep})
		if err == nil && advice.Allowed { // else: turn faster first
			rates.Double = advice.CueCadence
		}
	}
	return rates, nil
}
