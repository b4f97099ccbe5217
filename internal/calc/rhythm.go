package calc

import (
	"errors"

	"ropewalk.example/internal/rhythm"
)

type doubleQuestion struct {
	RopeRPM        number  `json:"rope_rpm"`
	JumpsPerMinute number  `json:"jumps_per_minute"`
	SweepSeconds   *number `json:"sweep_seconds"`
}

type doubleAnswer struct {
	InRhythm       bool    `json:"in_rhythm"`
	TopCadence     float64 `json:"top_cadence"`
	AirtimeSeconds float64 `json:"airtime_seconds"`
	HeightM        float64 `json:"height_m"`
}

// double answers double: what a double under asks at a rope rate and cadence.
func double(q doubleQuestion) (any, error) {
	var c checker
	rope := c.positive("rope_rpm", q.RopeRPM)
	cadence := c.positive("jumps_per_minute", q.JumpsPerMinute)
	if c.err != nil {
		return nil, c.err
	}
	timing, err := rhythm.TimingOf(rope, cadence, q.SweepSeconds.or(rhythm.Sweep))
	switch {
	case errors.Is(err, rhythm.ErrRope):
		return nil, wrong("rope_rpm", "%s", err)
	case errors.Is(err, rhythm.ErrCadence):
		return nil, wrong("jumps_per_minute", "%s", err)
	case err != nil:
		return nil, wrong("sweep_seconds", "%s", err)
	}
	return doubleAnswer{
		InRhythm:       timing.InRhythm,
		TopCadence:     timing.TopCadence,
		AirtimeSeconds: timing.Airtime,
		HeightM:        timing.Height,
	}, nil
}

type jumpQuestion struct {
	FlightSeconds number `json:"flight_seconds"`
}

type jumpAnswer struct {
	HeightM float64 `json:"height_m"`
}

// jump answers jump: the height of a jump from its flight time.
func jump(q jumpQuestion) (any, error) {
	var c checker
	flight := c.positive("flight_seconds", q.FlightSeconds)
	if c.err != nil {
		return nil, c.err
	}
	height, err := rhythm.Height(flight)
	if err != nil {
		return nil, wrong("flight_seconds", "%s", err)
	}
	return jumpAnswer{HeightM: height}, nil
}
