package calc

import "ropewalk.example/internal/capacity"

type fitQuestion struct {
	Tests []struct {
		Seconds   number `json:"seconds"`
		Rotations number `json:"rotations"`
	} `json:"tests"`
}

type fitAnswer struct {
	SustainableRPM   float64  `json:"sustainable_rpm"`
	Reserve          float64  `json:"reserve"`
	SESustainableRPM *float64 `json:"se_sustainable_rpm"` // null for two tests
	SEReserve        *float64 `json:"se_reserve"`         // likewise
}

// fit answers capacity: the line through all-out tests.
func fit(q fitQuestion) (any, error) {
	if len(q.Tests) == 0 {
		return nil, wrong("tests", "give a list of all-out tests")
	}
	var c checker
	var tests []capacity.Test
	for i, t := range q.Tests {
		c.element("tests", i)
		tests = append(tests, capacity.Test{
			Seconds:   c.positive("seconds", t.Seconds),
			Rotations: c.notNegative("rotations", t.Rotations),
		})
	}
	if c.err != nil {
		return nil, c.err
	}
	fitted, err := capacity.Fit(tests)
	if err != nil {
		return nil, unsupported("tests", err)
	}
	return fitAnswer{
		SustainableRPM:   fitted.SustainableRPM,
		Reserve:          fitted.Reserve,
		SESustainableRPM: defined(fitted.SESustainableRPM),
		SEReserve:        defined(fitted.SEReserve),
	}, nil
}

type balanceQuestion struct {
	SustainableRPM number  `json:"sustainable_rpm"`
	Reserve        number  `json:"reserve"`
	TauSeconds     *number `json:"tau_seconds"`
	Start          *number `json:"start"`
	Segments       []struct {
		RPM     number `json:"rpm"`
		Seconds number `json:"seconds"`
	} `json:"segments"`
}

type balanceAnswer struct {
	Balance []float64 `json:"balance"`
}

// balance answers balance: what is left of the reserve after each segment.
func balance(q balanceQuestion) (any, error) {
	var c checker
	m := capacity.Model{
		SustainableRPM: c.positive("sustainable_rpm", q.SustainableRPM),
		Reserve:        c.notNegative("reserve", q.Reserve),
	}
	m.TauSeconds = capacity.DifferentialTau(m.SustainableRPM, m.Reserve)
	if q.TauSeconds != nil {
		m.TauSeconds = c.positive("tau_seconds", *q.TauSeconds)
	}
	left := m.Reserve
	if q.Start != nil {
		left = c.notNegative("start", *q.Start)
	}
	if left > m.Reserve {
		c.wrong("start", "give a balance that is not above the reserve")
	}
	if len(q.Segments) == 0 {
		c.wrong("segments", "give a list of at least one segment")
	}
	segments := make([]capacity.Segment, len(q.Segments))
	for i, s := range q.Segments {
		c.element("segments", i)
		segments[i].RPM = c.notNegative("rpm", s.RPM)
		segments[i].Seconds = c.positive("seconds", s.Seconds)
	}
	if c.err != nil {
		return nil, c.err
	}
	var answer balanceAnswer
	for i, s := range segments {
		left = m.After(left, s.RPM, s.Seconds)
		if left < -lastDigits*m.Reserve {
			return nil, unsupported(at("segments", i), "this takes more than the reserve has left")
		}
		left = max(0, left)
		answer.Balance = append(answer.Balance, left)
	}
	return answer, nil
}

// lastDigits is the share of the reserve that rounding may take below 0.
const lastDigits = 1e-9
