package ladder

import (
	"strconv"
	"strings"
)

// Clause says in one sentence what c asks of everybody, such as "Two clean runs
// of 10 or more, on two different days."
func (w Words) Clause(c Clause) string {
	if c.Measure == CoachJudges {
		return fill(w.Frames["judges"], "task", c.TaskText)
	}
	reach := w.reach(c, c.Threshold.Value)
	if above := c.Threshold.AboveBase; above != (AboveBase{}) {
		reach = w.aboveBase(above)
	}
	for _, v := range c.Threshold.Under {
		reach += fill(w.Frames["under"], "value", plain(v.Value), "age", strconv.Itoa(v.Age))
	}
	return w.frame("first", c, c.Results, reach, w.days(Missing{Results: c.Results, Days: c.Days}))
}

// Weeks says how old results may be, or "" if age does not matter.
func (w Words) Weeks(c Clause) string {
	if c.WithinWeeks == 0 {
		return ""
	}
	return fill(w.Frames["weeks"], "weeks", strconv.Itoa(c.WithinWeeks))
}

// Seen says what the row [SeenClause] asks.
func (w Words) Seen() string { return w.Frames["seen"] }

// Missing says what v, the verdict on c, lacks: one sentence such as "One more
// burst test at 142 rpm or faster, on another day.", after it those that say why
// other results do not count. It is "" if the clause is met. For the row
// [SeenClause] c is not looked at.
func (w Words) Missing(c Clause, v ClauseVerdict) string {
	m := v.Missing
	var said []string
	if v.State == Expired {
		said = append(said, w.Frames["expired"])
	}
	switch m.Code {
	case "":
		return ""
	case MissingSight:
		said = append(said, w.Frames["not_seen"])
	case MissingJudgement:
		frame := "not_judged"
		if m.NotYetOn != 0 {
			frame = "judged_not_yet"
		}
		said = append(said, fill(w.Frames[frame], "task", c.TaskText))
	case MissingBase:
		said = append(said, w.Frames["base"], w.lacking(c, m, w.aboveBase(c.Threshold.AboveBase)))
	case MissingResults:
		said = append(said, w.lacking(c, m, w.reach(c, m.Target)))
	}
	return strings.Join(append(said, w.hindered(m)...), " ")
}

// lacking says how many results that reach so far are missing.
func (w Words) lacking(c Clause, m Missing, reach string) string {
	frame := "more"
	if m.Have == 0 {
		frame = "first"
	}
	return w.frame(frame, c, m.Results, reach, w.days(m))
}

// frame puts a sentence together.
func (w Words) frame(name string, c Clause, count int, reach, days string) string {
	window := w.Frames["any_window"]
	if c.Seconds > 0 {
		window = fill(w.Frames["window"], "seconds", strconv.Itoa(c.Seconds))
	}
	noun := fill(w.Measures[c.Measure].Noun.of(float64(count)), "window", window, "step", w.InStep[c.Step], "task", c.TaskText)
	restart := ""
	if c.RestartWithinSeconds > 0 {
		restart = fill(w.Frames["restart"], "seconds", plain(c.RestartWithinSeconds))
	}
	return fill(w.Frames[name], "Count", upper(w.number(count)), "count", w.number(count), "noun", noun, "reach", reach, "restart", restart, "days", days)
}

// reach says how far a result must reach, target being in the measure's unit.
func (w Words) reach(c Clause, target float64) string {
	words := w.Measures[c.Measure].AtLeast
	if c.Comparison == AtMost {
		words = w.Measures[c.Measure].AtMost
	}
	return fill(words.of(target), "target", plain(target), "of", strconv.Itoa(c.Of))
}

func (w Words) aboveBase(a AboveBase) string {
	return fill(w.Frames["above_base"], "rpm", plain(a.RPM), "percent", plain(a.Percent))
}

// days says on which days the missing results must be.
func (w Words) days(m Missing) string {
	name := ""
	switch {
	case m.Days == 0:
	case m.Have == 0 && m.Days == 1: // any day will do
	case m.Have == 0:
		name = "different_days"
	case m.Days == m.Results && m.Days == 1:
		name = "another_day"
	case m.Days == m.Results:
		name = "other_days"
	case m.Days == 1:
		name = "some_other_day"
	default:
		name = "some_other_days"
	}
	return fill(w.Frames[name], "days", w.number(m.Days))
}

// hindered says why good results do not count.
func (w Words) hindered(m Missing) []string {
	var said []string
	for _, h := range []struct {
		name  string
		count int
	}{{"unlike", m.Unlike}, {"unattended", m.Unattended}, {"untimed", m.Untimed}} {
		if h.count > 0 {
			said = append(said, fill(w.Hindrances[h.name].of(float64(h.count)), "Count", upper(w.number(h.count)), "count", w.number(h.count)))
		}
	}
	return said
}

// Reason says why a rule spoke.
func (w Words) Reason(r Reason) string {
	values := make([]string, 0, 2*len(r.Values))
	for name, value := range r.Values {
		switch name {
		case "rope", "from", "to":
			value = w.Ropes[RopeKind(value)]
		case "activity":
			value = w.Activities[Activity(value)]
		}
		values = append(values, name, value)
	}
	return fill(w.Reasons[r.Code], values...)
}

// Suggestion returns the cue to try, "" if there is none, and a sentence that
// gives the reason.
func (w Words) Suggestion(s Suggestion) (cue, reason string) {
	if s.Cue == "" {
		if s.Needed > 0 {
			return "", fill(w.Frames["cue_needed"], "needed", w.number(s.Needed))
		}
		return "", w.Frames["cue_none"]
	}
	words := w.Cues[s.Cue]
	reason = fill(w.Frames["cue_reason"], "matched", strconv.Itoa(s.Matched), "of", strconv.Itoa(s.Of), "when", w.catch(s.When))
	return words.Cue, reason + " " + words.Because
}

// catch describes what was noticed.
func (w Words) catch(c Catch) string {
	said := ""
	for _, part := range []string{w.Spots[c.Spot], w.Timings[c.Timing], w.HandPlaces[c.Hands], w.Heights[c.Height]} {
		switch {
		case part == "":
		case said == "":
			said = part
		default:
			said = fill(w.Frames["and"], "first", said, "second", part)
		}
	}
	return said
}

// Change says what a new version changes.
func (w Words) Change(c Change) string {
	return fill(w.Changes[c.Kind], "title", c.Title, "from", c.From, "to", c.To,
		"from_place", strconv.Itoa(c.FromPlace), "place", strconv.Itoa(c.Place))
}
