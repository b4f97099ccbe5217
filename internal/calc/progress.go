package calc

import (
	"errors"

	"ropewalk.example/internal/progress"
)

type changeQuestion struct {
	First  []number `json:"first"`
	Second []number `json:"second"`
}

type changeAnswer struct {
	SDDifference       float64  `json:"sd_difference"`
	TypicalError       float64  `json:"typical_error"`
	CVPercent          *float64 `json:"cv_percent"` // null when the grand mean is 0
	SmallestDetectable float64  `json:"smallest_detectable"`
}

// change answers change: how far two tests differ when nothing has changed.
func change(q changeQuestion) (any, error) {
	var c checker
	first, second := c.pairs("first", q.First, "second", q.Second)
	if c.err != nil {
		return nil, c.err
	}
	retest, err := progress.RetestOf(first, second)
	switch {
	case errors.Is(err, progress.ErrTooFewPairs):
		return nil, unsupported("first", err)
	case err != nil:
		return nil, wrong("first", "%s", err)
	}
	return changeAnswer{
		SDDifference:       retest.SDDifference,
		TypicalError:       retest.TypicalError,
		CVPercent:          defined(retest.CVPercent),
		SmallestDetectable: retest.SmallestDetectable,
	}, nil
}

type loadQuestion struct {
	Days []number `json:"days"`
}

type loadAnswer struct {
	Total    float64  `json:"total"`
	Monotony *float64 `json:"monotony"` // null when all days are equal
	Strain   *float64 `json:"strain"`   // likewise
}

// load answers load: a week's total, monotony and strain.
func load(q loadQuestion) (any, error) {
	var c checker
	days := c.list("days", q.Days)
	for i, d := range q.Days {
		c.element("days", i)
		c.notNegative("", d)
	}
	if c.err != nil {
		return nil, c.err
	}
	week, err := progress.WeekOf(days)
	if err != nil {
		return nil, wrong("days", "%s", err)
	}
	return loadAnswer{Total: week.Total, Monotony: defined(week.Monotony), Strain: defined(week.Strain)}, nil
}
