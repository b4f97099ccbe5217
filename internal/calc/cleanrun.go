package calc

import (
	"errors"

	"ropewalk.example/internal/cleanrun"
)

type runsQuestion struct {
	Runs []struct {
		Reps   number `json:"reps"`
		Caught *bool  `json:"caught"`
	} `json:"runs"`
	Confidence *number `json:"confidence"`
}

type survivalRow struct {
	Reps   int      `json:"reps"`
	AtRisk int      `json:"at_risk"`
	Caught int      `json:"caught"`
	S      float64  `json:"s"`
	SE     *float64 `json:"se"`   // null where s is 0
	Low    *float64 `json:"low"`  // null where s is 0 or 1
	High   *float64 `json:"high"` // likewise
}

type runsAnswer struct {
	Survival   []survivalRow `json:"survival"`
	Median     *int          `json:"median"` // null while s stays above 0.5
	Hazard     float64       `json:"hazard"`
	HazardLow  float64       `json:"hazard_low"`
	HazardHigh float64       `json:"hazard_high"`
}

// runs answers runs: survival by length, and the hazard per rep.
func runs(q runsQuestion) (any, error) {
	if len(q.Runs) == 0 {
		return nil, wrong("runs", "give a list of at least one run")
	}
	var c checker
	confidence := c.confidence(q.Confidence)
	given := make([]cleanrun.Run, len(q.Runs))
	for i, r := range q.Runs {
		c.element("runs", i)
		given[i] = cleanrun.Run{
			Reps:   c.whole("reps", r.Reps, 0, cleanrun.MaxReps),
			Caught: c.truth("caught", r.Caught),
		}
	}
	if c.err != nil {
		return nil, c.err
	}
	curve, err := cleanrun.Survival(given, confidence)
	if err != nil {
		return nil, unsupported("runs", err)
	}
	tally, err := cleanrun.TallyRuns(given)
	if err != nil {
		return nil, unsupported("runs", err)
	}
	hazard, err := tally.Hazard(confidence)
	if err != nil {
		return nil, unsupported("runs", err)
	}
	answer := runsAnswer{Hazard: hazard.Rate, HazardLow: hazard.Low, HazardHigh: hazard.High}
	for _, p := range curve {
		answer.Survival = append(answer.Survival, survivalOf(p))
	}
	if median, reached := curve.Median(); reached {
		answer.Median = &median
	}
	return answer, nil
}

// survivalOf writes a point as R prints it: Greenwood's error is 0·∞ where
// nothing survives.
func survivalOf(p cleanrun.Point) survivalRow {
	row := survivalRow{
		Reps: p.Reps, AtRisk: p.AtRisk, Caught: p.Caught,
		S: p.Survival, SE: &p.SE, Low: defined(p.Low), High: defined(p.High),
	}
	if p.Survival == 0 {
		row.SE = nil
	}
	return row
}

// truth returns a field that must be true or false.
func (c *checker) truth(field string, given *bool) bool {
	if given == nil {
		c.wrong(field, "give true or false")
		return false
	}
	return *given
}

type attemptsQuestion struct {
	P number `json:"p"`
	N number `json:"n"`
}

type attemptsAnswer struct {
	PClean           float64 `json:"p_clean"`
	ExpectedAttempts float64 `json:"expected_attempts"`
	ExpectedReps     float64 `json:"expected_reps"`
}

// attempts answers attempts: what a run of n clean reps asks.
func attempts(q attemptsQuestion) (any, error) {
	var c checker
	p := c.number("p", q.P, func(v float64) bool { return v >= 0 && v <= 1 }, " from 0 to 1")
	n := c.whole("n", q.N, 1, cleanrun.MaxReps)
	if c.err != nil {
		return nil, c.err
	}
	odds, err := cleanrun.OddsAt(p, n)
	switch {
	case errors.Is(err, cleanrun.ErrNoChance):
		return nil, unsupported("p", err)
	case err != nil:
		return nil, wrong("p", "%s", err)
	}
	return attemptsAnswer{PClean: odds.Clean, ExpectedAttempts: odds.Attempts, ExpectedReps: odds.Reps}, nil
}
