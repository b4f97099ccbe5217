package ladder

import "slices"

func (r *reader) gate(n node) Gate {
	o := r.object(n, "a gate", "seen_by_coach", "clauses")
	g := Gate{SeenByCoach: o.flag("seen_by_coach")}
	seen := map[string]bool{SeenClause: true}
	for _, item := range o.list("clauses", maxClauses, true) {
		c := r.clause(item)
		if c.Key != "" && seen[c.Key] {
			r.problem(item, "The key %s is taken in this gate. Give this clause another.", quote(c.Key))
		}
		seen[c.Key] = true
		g.Clauses = append(g.Clauses, c)
	}
	return g
}

func (r *reader) clause(n node) Clause {
	o := r.object(n, "a clause", "key", "measure", "task", "task_text", "each", "seconds", "step", "rope", "comparison",
		"threshold", "of", "restart_within_seconds", "results", "days", "within_weeks", "seen_by_coach")
	c := Clause{
		Key:         o.key("key", true),
		Measure:     o.choice("measure", measureKeys(), true),
		Task:        o.key("task", false),
		TaskText:    o.text("task_text", maxTitle, false),
		Seconds:     o.whole("seconds", 1, 600, 0),
		Step:        o.choice("step", append([]string{Any, One}, Steps()...), false),
		Rope:        o.choice("rope", append([]string{Any, One, Own}, keys(RopeKinds())...), false),
		Of:          o.whole("of", 1, 20, 0),
		Results:     o.whole("results", 1, 20, 1),
		Days:        o.whole("days", 1, 20, 1),
		WithinWeeks: o.whole("within_weeks", 1, 52, 0),
		SeenByCoach: o.flag("seen_by_coach"),

		RestartWithinSeconds: o.number("restart_within_seconds", 1, 60, 0),
	}
	if each, ok := o.get("each"); ok {
		e := r.object(each, "a count of reps", "steady", "burst", "doubles")
		c.Each = Portion{e.whole("steady", 0, 500, 0), e.whole("burst", 0, 500, 0), e.whole("doubles", 0, 500, 0)}
	}
	if c.Days > c.Results {
		r.problem(n, "%d days need at least %d results. Raise \"results\" or lower \"days\".", c.Days, c.Days)
	}
	if m, ok := measureOf(c.Measure); ok {
		r.measured(o, m, &c)
	}
	return c
}

// measured reads the parts of a clause that depend on its measure m.
func (r *reader) measured(o object, m Measure, c *Clause) {
	if m.Task && (c.Task == "" || c.TaskText == "") {
		r.problem(o.node, "This clause needs \"task\" and \"task_text\": at what?")
	}
	if m.quantity == byJudgement {
		o.leaveOut("where the coach judges", "seconds", "step", "rope", "comparison", "threshold", "of", "each", "restart_within_seconds")
		return
	}
	if m.quantity != byCatches {
		o.leaveOut("where no catches are counted", "restart_within_seconds")
	}
	if (c.Of > 0) != (m.quantity == bySuccesses) {
		r.problem(o.node, "\"of\" belongs to good tries, and only there: how many tries one attempt has.")
	}
	c.Comparison = Comparison(o.choice("comparison", keys(m.Comparisons), true))
	most := m.Most
	if c.Of > 0 {
		most = float64(c.Of)
	}
	at, ok := o.get("threshold")
	if !ok && m.Least > 0 {
		o.need("threshold")
	}
	if ok {
		c.Threshold = r.threshold(at, m, most)
	}
}

// leaveOut notes a problem for each of the parts that are there. Why says in what
// place they have no meaning.
func (o object) leaveOut(why string, parts ...string) {
	for _, part := range parts {
		if n, ok := o.get(part); ok {
			o.problem(n, "%s has no meaning %s. Take it out.", quote(part), why)
		}
	}
}

func (r *reader) threshold(n node, m Measure, most float64) Threshold {
	o := r.object(n, "a threshold", "value", "under", "above_base")
	bounded := func(o object) float64 {
		if m.Least > 0 {
			o.need("value")
		}
		if m.quantity == byRPM {
			return o.number("value", m.Least, most, 0)
		}
		return float64(o.whole("value", int(m.Least), int(most), 0))
	}
	var t Threshold
	if above, ok := o.get("above_base"); ok {
		if m.Protocol != Burst {
			r.problem(above, "Only a burst rate can be held against the base rate.")
		}
		o.leaveOut("beside a threshold above base", "value", "under")
		a := r.object(above, "a threshold above base", "rpm", "percent", "within_weeks")
		t.AboveBase = AboveBase{a.number("rpm", 0, 200, 0), a.number("percent", 0, 100, 0), a.whole("within_weeks", 1, 52, 0)}
		if _, ok := a.need("within_weeks"); ok && t.AboveBase.RPM == 0 && t.AboveBase.Percent == 0 {
			r.problem(above, "A threshold above base needs \"rpm\", \"percent\" or both above 0.")
		}
		return t
	}
	t.Value = bounded(o)
	for _, item := range o.list("under", maxClauses, false) {
		v := r.object(item, "a threshold for the young", "age", "value")
		variant := Variant{Age: v.whole("age", 4, 25, 0), Value: bounded(v)}
		v.need("age")
		if i := len(t.Under); i > 0 && variant.Age > 0 && variant.Age <= t.Under[i-1].Age {
			r.problem(item, "Put the ages in order, the youngest first, each once.")
		}
		t.Under = append(t.Under, variant)
	}
	return t
}

func measureKeys() []string {
	var keys []string
	for _, m := range Measures() {
		keys = append(keys, m.Key)
	}
	return slices.Clip(keys)
}
