package planner

import "math"

// A ceiling is a number of jumps, or of double unders, that is left.
type ceiling struct {
	rule Rule
	name string // of its value
	left int
	each int // taken by one cycle
}

// ceilings returns what is left for sets of sh.
func (s *solver) ceilings(sh *shape) []ceiling {
	list := make([]ceiling, 0, 3)
	if left := s.in.ContactsLeft; left != nil {
		list = append(list, ceiling{RuleSetsContacts, "contacts", *left, sh.reps()})
	}
	if left := s.in.WeekContactsLeft; left != nil {
		list = append(list, ceiling{RuleSetsWeek, "contacts", *left, sh.reps()})
	}
	if left := s.in.DoublesLeft; left != nil && sh.split.Double {
		list = append(list, ceiling{RuleSetsDoubles, "doubles", *left, sh.split.Burst})
	}
	return list
}

// A repetition is how often a set is done, and what keeps it from one more.
type repetition struct {
	sets  int
	fit   int // sets before caution took some away
	limit Limit
	rule  Rule
	name  string // of what limits, and how much there is of it
	left  float64

	fromCycles int   // of the set before time or contacts cut it
	cut        Limit // what cut it, "" if nothing did
	cutLeft    float64

	caution      Rule // what asks for less, "" if nothing does
	share        float64
	contactsLeft int
}

// repeat returns the most sets that fit the time, the last without a rest, and
// the contacts. Where not one whole set fits, t loses cycles; where not one
// cycle does, there are no sets.
func (s *solver) repeat(t *set) repetition {
	minutes := defaultMinutes
	if s.in.Minutes != nil {
		minutes = *s.in.Minutes
	}
	r := repetition{limit: LimitMinutes, rule: RuleSetsMinutes, name: "minutes", left: minutes, fromCycles: t.cycles}
	ceilings := s.ceilings(&t.shape)
	whole := min(float64(t.cycles), math.Floor(60*minutes/t.seconds+slack))
	if whole < float64(t.cycles) {
		r.cut, r.cutLeft = LimitMinutes, minutes
	}
	for _, c := range ceilings {
		if most := float64(c.left / c.each); most < whole {
			whole = most
			r.cut, r.cutLeft = LimitContacts, float64(c.left)
			r.limit, r.rule, r.name, r.left = LimitContacts, c.rule, c.name, float64(c.left)
		}
	}
	if whole == 0 {
		return r
	}
	s.trim(t, int(whole))
	pause := s.restSeconds(&t.rest)
	r.sets = max(1, int((60*minutes+pause)/(t.workSeconds()+pause)+slack))
	for _, c := range ceilings {
		if most := c.left / (c.each * t.cycles); most < r.sets {
			r.sets, r.limit, r.rule, r.name, r.left = most, LimitContacts, c.rule, c.name, float64(c.left)
		}
	}
	if most := s.in.Tweak.MostSets; most > 0 && most < r.sets {
		r.sets, r.limit, r.rule, r.name, r.left = most, LimitCoach, RuleSetsCoach, "", 0
	}
	r.fit = r.sets
	s.ease(t, &r)
	return r
}

// trim takes t down to the given cycles.
func (s *solver) trim(t *set, cycles int) {
	if cycles < t.cycles {
		t.cycles = cycles
		t.rest = s.restAfter(&t.shape, cycles)
	}
}

// ease takes sets away where caution asks for less: to the smallest share of
// the contacts that applies. Shares do not multiply. A single set loses cycles.
func (s *solver) ease(t *set, r *repetition) {
	r.share = 1
	c := &s.in.Caution
	for _, row := range [...]struct {
		applies bool
		rule    Rule
		share   float64
	}{
		{c.Released, RuleReleased, releasedVolume},
		{c.DaysAway >= longAwayDays, RuleAway, longAwayVolume},
		{c.DaysAway >= awayDays, RuleAway, awayVolume},
		{c.LighterWeek, RuleLighterWeek, lighterVolume},
	} {
		if row.applies && row.share < r.share {
			r.caution, r.share = row.rule, row.share
		}
	}
	if r.caution == "" {
		return
	}
	set := t.cycles * t.reps()
	r.contactsLeft = int(r.share*float64(r.sets*set) + slack)
	r.limit = LimitContacts
	if r.contactsLeft >= set {
		r.sets = r.contactsLeft / set
		return
	}
	cycles := r.contactsLeft / t.reps()
	r.sets = min(cycles, 1)
	if cycles > 0 {
		r.cut, r.cutLeft = LimitContacts, float64(r.contactsLeft)
		s.trim(t, cycles)
	}
}

// limits returns what keeps the set from one more cycle, and the one limit that
// says most about the plan: contacts where these cut the sets, else that of the
// set.
func (r *repetition) limits(t *set) (cycle, most Limit) {
	cycle = t.limit
	if r.cut != "" {
		cycle = r.cut
	}
	if r.limit == LimitContacts {
		return cycle, LimitContacts
	}
	return cycle, cycle
}

// explainRepeat notes why there are no more sets.
func (s *solver) explainRepeat(r *repetition) {
	fit, sets := Value{"sets", float64(r.fit)}, Value{"sets", float64(r.sets)}
	if r.name == "" {
		s.why.add(r.rule, fit)
	} else {
		s.why.add(r.rule, fit, Value{r.name, r.left})
	}
	share, contacts := Value{"share", r.share}, Value{"contacts", float64(r.contactsLeft)}
	switch r.caution {
	case RuleAway:
		s.why.add(r.caution, sets, share, contacts, Value{"days", float64(s.in.Caution.DaysAway)})
	case RuleReleased, RuleLighterWeek:
		s.why.add(r.caution, sets, share, contacts)
	}
}

// explainCycles notes why a set is no longer.
func (s *solver) explainCycles(t *set, r *repetition) {
	w, cycles := &s.why, Value{"cycles", float64(t.cycles)}
	from := Value{"from_cycles", float64(r.fromCycles)}
	switch {
	case r.sets > 0 && r.cut == LimitMinutes:
		w.add(RuleCyclesMinutes, cycles, from, Value{"minutes", r.cutLeft})
	case r.sets > 0 && r.cut == LimitContacts:
		w.add(RuleCyclesContacts, cycles, from, Value{"contacts", r.cutLeft})
	case t.cutByRest > 0:
		w.add(RuleCyclesRest, cycles, Value{"from_cycles", float64(t.cutByRest)})
	case t.limit == LimitReserve:
		w.add(RuleCyclesReserve, cycles, Value{"balance", t.rest.from}, Value{"floor", s.limits.FloorShare * s.model.Reserve})
	case t.limit == LimitCatches:
		w.add(RuleCyclesCatches, cycles, Value{"expected", float64(t.cycles) * t.catches}, Value{"most", s.limits.SetCatches})
	case t.limit == LimitTime:
		w.add(RuleCyclesTime, cycles, Value{"seconds", t.workSeconds()}, Value{"most_seconds", s.limits.SetSeconds})
	case t.limit == LimitCoach:
		w.add(RuleCyclesCoach, cycles)
	}
}
