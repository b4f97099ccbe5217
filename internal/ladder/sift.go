package ladder

import (
	"cmp"
	"slices"
	"strings"
)

// sift keeps the candidates that count, notes why the others do not, and puts
// like with like: by clause, then by step and rope where these must agree, then
// by day.
func (e *evaluation) sift() {
	kept := e.candidates[:0]
	for _, c := range e.candidates {
		rule, r := &e.rules[c.rule], &e.evidence[c.place]
		good := e.reached(rule, r)
		if r.Day >= rule.since {
			rule.observe(r, good, c.hurdle)
		}
		if good && c.hurdle == none {
			kept = append(kept, c)
		}
	}
	e.candidates = kept
	slices.SortFunc(e.candidates, e.order)
}

// observe keeps in the rule's note what helps to say why not yet.
func (c *rule) observe(r *Evidence, good bool, h hurdle) {
	if c.measure.quantity == byJudgement {
		if !r.Good {
			c.note.NotYetOn = max(c.note.NotYetOn, r.Day)
		}
		return
	}
	v := c.value(r)
	if c.note.Tried == 0 || c.Comparison == AtMost && v < c.note.Best || c.Comparison != AtMost && v > c.note.Best {
		c.note.Best = v
	}
	c.note.Tried++
	if !good {
		return
	}
	switch h {
	case otherRope:
		c.note.Unlike++
	case unattended:
		c.note.Unattended++
	case untimed:
		c.note.Untimed++
	}
}

func (e *evaluation) order(a, b candidate) int {
	if by := cmp.Compare(a.rule, b.rule); by != 0 {
		return by
	}
	x, y := &e.evidence[a.place], &e.evidence[b.place]
	if by := e.rules[a.rule].alike(x, y); by != 0 {
		return by
	}
	if by := cmp.Compare(x.Day, y.Day); by != 0 {
		return by
	}
	return strings.Compare(x.ID, y.ID)
}

// alike returns 0 if x and y may be counted together, else their order.
func (c *rule) alike(x, y *Evidence) int {
	if c.Step == One {
		if by := strings.Compare(x.Step, y.Step); by != 0 {
			return by
		}
	}
	if c.Rope != Any {
		return strings.Compare(string(x.Rope), string(y.Rope))
	}
	return 0
}
