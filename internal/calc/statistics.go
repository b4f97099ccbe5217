package calc

import (
	"errors"

	"ropewalk.example/internal/stats"
)

type lineQuestion struct {
	X []number `json:"x"`
	Y []number `json:"y"`
}

type lineAnswer struct {
	Slope       float64  `json:"slope"`
	Intercept   float64  `json:"intercept"`
	SESlope     *float64 `json:"se_slope"`     // null for two points
	SEIntercept *float64 `json:"se_intercept"` // likewise
	ResidualSD  *float64 `json:"residual_sd"`  // likewise
	R2          *float64 `json:"r2"`           // null when all y are equal
}

// line answers line: the least-squares line with its errors.
func line(q lineQuestion) (any, error) {
	var c checker
	x, y := c.pairs("x", q.X, "y", q.Y)
	if c.err != nil {
		return nil, c.err
	}
	fit, err := stats.Line(x, y)
	if err != nil {
		return nil, unsupported("x", err)
	}
	return lineAnswer{
		Slope:       fit.Slope,
		Intercept:   fit.Intercept,
		SESlope:     defined(fit.SESlope),
		SEIntercept: defined(fit.SEIntercept),
		ResidualSD:  defined(fit.ResidualSD),
		R2:          defined(fit.R2),
	}, nil
}

// mostTrendPoints keeps the slopes between all pairs of points in memory.
const mostTrendPoints = 5000

type trendQuestion struct {
	X          []number `json:"x"`
	Y          []number `json:"y"`
	Confidence *number  `json:"confidence"`
}

type trendAnswer struct {
	Slope     float64  `json:"slope"`
	Low       *float64 `json:"low"` // null when ties leave no ranks
	High      *float64 `json:"high"`
	Intercept float64  `json:"intercept"`
}

// trend answers trend: the median slope with its rank interval.
func trend(q trendQuestion) (any, error) {
	var c checker
	x, y := c.pairs("x", q.X, "y", q.Y)
	confidence := c.confidence(q.Confidence)
	if len(x) > mostTrendPoints {
		c.wrong("x", "give at most %d numbers", mostTrendPoints)
	}
	if c.err != nil {
		return nil, c.err
	}
	found, err := stats.TheilSen(x, y, confidence)
	switch {
	case errors.Is(err, stats.ErrConfidence):
		return nil, wrong("confidence", "%s", err)
	case err != nil:
		return nil, unsupported("x", err)
	}
	return trendAnswer{
		Slope:     found.Slope,
		Low:       defined(found.Low),
		High:      defined(found.High),
		Intercept: found.Intercept,
	}, nil
}

type summaryQuestion struct {
	Values []number `json:"values"`
}

type summaryAnswer struct {
	N    int      `json:"n"`
	Mean float64  `json:"mean"`
	SD   *float64 `json:"sd"` // null for one value
}

// summary answers summary: number, mean and standard deviation.
func summary(q summaryQuestion) (any, error) {
	var c checker
	values := c.list("values", q.Values)
	if c.err != nil {
		return nil, c.err
	}
	n, mean, sd := stats.Summary(values)
	return summaryAnswer{N: n, Mean: mean, SD: defined(sd)}, nil
}
