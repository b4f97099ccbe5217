package coaching

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rhythm"
	"ropewalk.example/internal/store"
)

// Rules are the numbers that a gym may change.
type Rules struct {
	Plans        planner.Rules      `json:"plans"`
	Ceilings     []progress.Ceiling `json:"ceilings"`
	SweepSeconds float64            `json:"sweep_seconds"` // of the rope under the feet in a double
}

// StandardRules are the rules of a gym that has set none.
func StandardRules() Rules {
	return Rules{Plans: planner.StandardRules(), Ceilings: progress.DefaultCeilings(), SweepSeconds: rhythm.Sweep}
}

// RulesOf returns the rules in force of those kept, the newest first; the
// standard ones where a gym has set none.
func RulesOf(kept []gym.Rules) (Rules, error) {
	rules := StandardRules()
	if len(kept) == 0 {
		return rules, nil
	}
	if err := json.Unmarshal(kept[0].Rules, &rules); err != nil {
		return Rules{}, fmt.Errorf("reading the rules of %s: %w", kept[0].SetAt.Format(time.DateOnly), err)
	}
	return rules, nil
}

// A Number is one number of the rules that a gym may change, with the bounds
// that are sane for it.
type Number struct {
	Key       string // "building.floor_share", "ceiling.3.plan"
	Low, High float64
	Whole     bool
	Source    string
	at        *float64
	count     *int
}

// Value returns the number.
func (n Number) Value() float64 {
	if n.count != nil {
		return float64(*n.count)
	}
	return *n.at
}

func (n Number) set(value float64) {
	if n.count != nil {
		*n.count = int(value)
		return
	}
	*n.at = value
}

// What has no source.
const (
	practice = "common practice, no source"
	assumed  = "assumed"
	caution  = "our caution, no source"
)

// Numbers lists the numbers of r that a gym may change, in a fixed order. The
// bounds are ours: far enough apart for any class, near enough to catch a slip.
func (r *Rules) Numbers() []Number {
	var list []Number
	for _, phase := range []struct {
		key   string
		rules *planner.PhaseRules
	}{{"building", &r.Plans.Building}, {"established", &r.Plans.Established}} {
		p := phase.rules
		for _, n := range []Number{
			{Key: "floor_share", Low: 0.2, High: 0.8, Source: assumed, at: &p.FloorShare},
			{Key: "resume_share", Low: 0.5, High: 0.95, Source: assumed, at: &p.ResumeShare},
			{Key: "set_seconds", Low: 15, High: 180, Source: assumed, at: &p.SetSeconds},
			{Key: "set_catches", Low: 0.1, High: 3, Source: assumed, at: &p.SetCatches},
			{Key: "rest_seconds", Low: 5, High: 300, Source: practice, at: &p.RestSeconds},
			{Key: "rest_ratio", Low: 0, High: 5, Source: practice, at: &p.RestRatio},
			{Key: "first_step_rpm", Low: 5, High: 60, Source: practice, at: &p.FirstStepRPM},
			{Key: "most_step_rpm", Low: 10, High: 100, Source: practice, at: &p.MostStepRPM},
		} {
			n.Key = phase.key + "." + n.Key
			list = append(list, n)
		}
	}
	list = append(list, Number{Key: "sweep_seconds", Low: 0, High: 0.15, Source: assumed, at: &r.SweepSeconds})
	for i := range r.Ceilings {
		c := &r.Ceilings[i]
		key := fmt.Sprintf("ceiling.%d.", i)
		list = append(list,
			Number{Key: key + "plan", Low: 0, High: 3000, Whole: true, Source: c.Source, count: &c.Plan},
			Number{Key: key + "most", Low: 0, High: 5000, Whole: true, Source: c.Source, count: &c.Most},
			Number{Key: key + "week", Low: 0, High: 20000, Whole: true, Source: caution, count: &c.Week},
			Number{Key: key + "hours", Low: 0, High: 168, Whole: true, Source: caution, count: &c.HoursBetween})
	}
	return list
}

// Change returns r with the given numbers set, by key, and a message for each
// that is outside its bounds or contradicts another. Values are those of
// [Number.Value].
func (r Rules) Change(values map[string]float64) (Rules, map[string]string) {
	r.Ceilings = append([]progress.Ceiling(nil), r.Ceilings...)
	wrong := map[string]string{}
	for _, n := range r.Numbers() {
		value, given := values[n.Key]
		if !given {
			continue
		}
		if !(value >= n.Low && value <= n.High) || n.Whole && value != math.Trunc(value) {
			wrong[n.Key] = boundsMessage(n)
			continue
		}
		n.set(value)
	}
	r.checkPhase("building", r.Plans.Building, wrong)
	r.checkPhase("established", r.Plans.Established, wrong)
	for i, c := range r.Ceilings {
		key := fmt.Sprintf("ceiling.%d.", i)
		if c.Most < c.Plan {
			contradict(wrong, key+"most", "The most must be at least what plans stay within.")
		}
		if c.Week < c.Plan {
			contradict(wrong, key+"week", "A week must hold at least one session.")
		}
	}
	return r, wrong
}

func (r Rules) checkPhase(phase string, p planner.PhaseRules, wrong map[string]string) {
	if p.ResumeShare < p.FloorShare+0.05 {
		contradict(wrong, phase+".resume_share", "A set must start with more of the reserve than the floor, 5 % at least.")
	}
	if p.MostStepRPM < p.FirstStepRPM {
		contradict(wrong, phase+".most_step_rpm", "The largest step must be at least the first step.")
	}
}

func contradict(wrong map[string]string, key, message string) {
	if wrong[key] == "" {
		wrong[key] = message
	}
}

// boundsMessage names the bounds as they are typed: shares in percent.
func boundsMessage(n Number) string {
	low, high, unit := n.Low, n.High, ""
	if strings.HasSuffix(n.Key, "_share") {
		low, high, unit = 100*low, 100*high, " %"
	}
	kind := "a number"
	if n.Whole {
		kind = "a whole number"
	}
	return fmt.Sprintf("Type %s from %g to %g%s.", kind, low, high, unit)
}

// SetRules puts rules into force for plans made from now on; plans that are
// there keep theirs.
func (c *Coaching) SetRules(ctx context.Context, who gym.Who, id uuid.UUID, rules Rules, reason string) error {
	body, err := json.Marshal(rules)
	if err != nil {
		return fmt.Errorf("writing the rules: %w", err)
	}
	if strings.TrimSpace(reason) == "" {
		return problem.Form(map[string]string{"reason": "Write why. It is kept with the change."})
	}
	now := c.Now()
	return c.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddRules(ctx, gym.Rules{RulesID: id, Rules: body, Reason: strings.TrimSpace(reason), SetAt: now, SetBy: who.ID()}); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "changed the gym's rules", "rules", id)
	})
}
