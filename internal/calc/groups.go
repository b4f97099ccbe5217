package calc

import (
	"errors"
	"math"

	"ropewalk.example/internal/planner"
)

type groupsQuestion struct {
	Rates []struct {
		Name string `json:"name"`
		RPM  number `json:"rpm"`
	} `json:"rates"`
	Groups       number  `json:"groups"`
	ToleranceRPM *number `json:"tolerance_rpm"`
}

// groups answers groups: a class parted by pace, one cue each.
func groups(q groupsQuestion) (any, error) {
	if len(q.Rates) == 0 {
		return nil, wrong("rates", "give a list of at least one athlete")
	}
	var c checker
	class := planner.Class{Groups: c.whole("groups", q.Groups, 1, math.MaxInt32)}
	if q.ToleranceRPM != nil {
		class.ToleranceRPM = new(c.notNegative("tolerance_rpm", *q.ToleranceRPM))
	}
	for i, r := range q.Rates {
		c.element("rates", i)
		if r.Name == "" {
			c.wrong("name", "give a name")
		}
		rpm := c.number("rpm", r.RPM, func(float64) bool { return true }, "")
		class.Rates = append(class.Rates, planner.Paced{Name: r.Name, RPM: rpm})
	}
	if c.err != nil {
		return nil, c.err
	}
	parted, err := planner.PaceGroups(class)
	if e, ok := errors.AsType[*planner.InputError](err); ok {
		return nil, wrong(e.Field, "%s", e.Problem)
	}
	if e, ok := errors.AsType[*planner.EvidenceError](err); ok {
		return nil, unsupported("tolerance_rpm", e)
	}
	return parted, err
}
