package calc

import (
	"errors"
	"math"

	"ropewalk.example/internal/rate"
)

type ratesQuestion struct {
	Tests []struct {
		Rotations number  `json:"rotations"`
		Seconds   number  `json:"seconds"`
		Timing    *string `json:"timing"`
	} `json:"tests"`
}

type testRate struct {
	RPM float64 `json:"rpm"`
	U   float64 `json:"u"`
}

type combinedRate struct {
	RPM   float64 `json:"rpm"`
	U     float64 `json:"u"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Tests int     `json:"tests"`
}

type ratesAnswer struct {
	Tests    []testRate   `json:"tests"`
	Combined combinedRate `json:"combined"`
}

// rates answers rate: the whole-test rate of each test, and all combined.
func rates(q ratesQuestion) (any, error) {
	var c checker
	if len(q.Tests) == 0 {
		return nil, wrong("tests", "give a list of at least one test")
	}
	var answer ratesAnswer
	var each []rate.Rate
	for i, test := range q.Tests {
		c.element("tests", i)
		count := rate.Count{
			Counted: c.notNegative("rotations", test.Rotations),
			Seconds: c.positive("seconds", test.Seconds),
			Timing:  c.timing("timing", test.Timing),
		}
		if c.err != nil {
			return nil, c.err
		}
		r, err := count.WholeTest()
		if err != nil {
			return nil, unsupported(at("tests", i), err)
		}
		each = append(each, r)
		answer.Tests = append(answer.Tests, testRate(r))
	}
	combined, err := rate.Combine(each)
	if err != nil {
		return nil, unsupported("tests", err)
	}
	answer.Combined = combinedRate{
		RPM: combined.RPM, U: combined.U, Low: combined.Low, High: combined.High, Tests: combined.Tests,
	}
	return answer, nil
}

// timing returns how a window was kept, by hand unless given.
func (c *checker) timing(field string, given *string) rate.Timing {
	if given == nil {
		return rate.ByHand
	}
	if t := rate.Timing(*given); t == rate.ByApp || t == rate.ByHand {
		return t
	}
	c.wrong(field, `give "app" or "hand"`)
	return rate.ByHand
}

type tapsQuestion struct {
	SecondsAt       []number `json:"seconds_at"`
	RotationsPerTap number   `json:"rotations_per_tap"`
}

type tapsAnswer struct {
	RPM     float64  `json:"rpm"`
	U       *float64 `json:"u"` // null when the pieces are too short to show scatter
	Filled  int      `json:"filled"`
	Dropped int      `json:"dropped"`
}

// taps answers taps: the turning rate from the times of taps.
func taps(q tapsQuestion) (any, error) {
	var c checker
	at := c.list("seconds_at", q.SecondsAt)
	perTap := c.positive("rotations_per_tap", q.RotationsPerTap)
	if c.err != nil {
		return nil, c.err
	}
	tapped, err := rate.Taps(at, perTap, nil)
	switch {
	case errors.Is(err, rate.ErrTapOrder):
		return nil, wrong("seconds_at", "give the times in order, earliest first")
	case err != nil:
		return nil, unsupported("seconds_at", err)
	}
	return tapsAnswer{RPM: tapped.RPM, U: defined(tapped.U), Filled: tapped.Filled, Dropped: tapped.Dropped}, nil
}

type judgesQuestion struct {
	Counts []number `json:"counts"`
}

type judgesAnswer struct {
	Count   float64 `json:"count"`
	Recount bool    `json:"recount"`
}

// judges answers judges: what several counters of one test agree on.
func judges(q judgesQuestion) (any, error) {
	var c checker
	counts := c.list("counts", q.Counts)
	for i, n := range q.Counts {
		c.element("counts", i)
		c.whole("", n, 0, math.MaxInt32)
	}
	if c.err != nil {
		return nil, c.err
	}
	agreed, err := rate.Agree(counts)
	if err != nil {
		return nil, wrong("counts", "%s", err)
	}
	return judgesAnswer{Count: agreed.Rotations, Recount: agreed.Recount}, nil
}
