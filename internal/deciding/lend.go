package deciding

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// testedDays is how old a base test may be that a rope rule rests on: six weeks,
// as for levels.
const testedDays = 42

// A Loan asks to give a rope to an athlete.
type Loan struct {
	ID      uuid.UUID
	Rope    uuid.UUID
	Athlete uuid.UUID
	Why     string // why a coach takes a refusal over; "" to ask the rules first
}

// A Rack is the gym's ropes with what the rules need to know of them.
type Rack struct {
	Ropes  []gym.Rope
	Checks []gym.RopeCheck // newest of each
	Today  time.Time
}

// Rack reads the ropes in use and their newest checks.
func (d *Deciding) Rack(ctx context.Context, who gym.Who, extra ...store.Reading) (Rack, error) {
	var g gym.Gym
	var rack Rack
	readings := append([]store.Reading{store.TheGym(&g), store.Ropes(&rack.Ropes), store.NewestRopeChecks(&rack.Checks)}, extra...)
	if err := d.Store.Read(ctx, who.GymID, readings...); err != nil {
		return Rack{}, err
	}
	rack.Today = g.DayOf(d.Now())
	slices.SortStableFunc(rack.Ropes, func(a, b gym.Rope) int { return byLabel(a.Label, b.Label) })
	return rack, nil
}

// byLabel orders labels as people count: B2 before B10.
func byLabel(a, b string) int {
	nameA, numberA := labelParts(a)
	nameB, numberB := labelParts(b)
	return cmp.Or(strings.Compare(nameA, nameB), cmp.Compare(numberA, numberB), strings.Compare(a, b))
}

// labelParts parts a label into what stands before its last number, and that
// number, -1 if it ends in none.
func labelParts(label string) (name string, number int) {
	name = strings.TrimRight(label, "0123456789")
	number, err := strconv.Atoi(label[len(name):])
	if err != nil {
		return label, -1
	}
	return name, number
}

// Check returns the newest check of a rope, and whether there is one.
func (r Rack) Check(rope uuid.UUID) (gym.RopeCheck, bool) {
	for _, c := range r.Checks {
		if c.RopeID == rope {
			return c, true
		}
	}
	return gym.RopeCheck{}, false
}

// ruleRope returns a rope as the rules see it. A check that found it not sound is
// as good as none.
func (r Rack) ruleRope(rope gym.Rope) ladder.Rope {
	known := ladder.Rope{Kind: ladder.RopeKind(rope.Kind)}
	if c, ok := r.Check(rope.RopeID); ok && c.Sound {
		known.CheckedOn = dayOf(c.Day)
	}
	return known
}

// Due reports whether a rope may not be used before somebody has looked at it: a
// weekly check that is due, or a newest check that found it not sound.
func (r Rack) Due(rope gym.Rope) bool {
	if c, ok := r.Check(rope.RopeID); ok && !c.Sound {
		return true
	}
	decision := ladder.Lend(r.ruleRope(rope), ladder.Borrower{SteelApproved: true, Tested: true}, dayOf(r.Today))
	return decision.Outcome() == ladder.Refused
}

// Ask says what the rules say of a loan, without keeping anything.
func (d *Deciding) Ask(ctx context.Context, who gym.Who, athlete, rope uuid.UUID) (ladder.Decision, error) {
	_, decision, err := d.ask(ctx, who, athlete, rope)
	return decision, err
}

func (d *Deciding) ask(ctx context.Context, who gym.Who, athlete, rope uuid.UUID) (Ground, ladder.Decision, error) {
	var rack Rack
	var approvals []gym.SteelApproval
	var kinds []gym.ClassRopeKind
	var classes []gym.Class
	g, a, err := d.LoadOne(ctx, who, athlete, store.Ropes(&rack.Ropes), store.NewestRopeChecks(&rack.Checks),
		store.SteelApprovals(store.Only(athlete), &approvals), store.ClassRopeKinds(&kinds), store.ClassesOf(athlete, &classes))
	if err != nil {
		return Ground{}, ladder.Decision{}, err
	}
	rack.Today = g.Today
	i := slices.IndexFunc(rack.Ropes, func(r gym.Rope) bool { return r.RopeID == rope })
	if i < 0 {
		return Ground{}, ladder.Decision{}, problem.New(problem.NotFound, "There is no such rope in the rack.")
	}
	if c, ok := rack.Check(rope); ok && !c.Sound {
		return Ground{}, ladder.Decision{}, problem.New(problem.Evidence, "Rope %s was found not sound on %s. Look at it again and log it before anybody uses it.",
			rack.Ropes[i].Label, c.Day.Format("Mon 2 Jan"))
	}
	borrower := g.borrower(a)
	borrower.SteelApproved = len(approvals) > 0 && approvals[0].Approved
	borrower.ClassKinds = kindsOf(classes, kinds)
	return g, ladder.Lend(rack.ruleRope(rack.Ropes[i]), borrower, dayOf(g.Today)), nil
}

// borrower says what the rope rules ask of an athlete's results: the newest base
// test, and the rope on which the present stage was begun.
func (g Ground) borrower(a Athlete) ladder.Borrower {
	b := ladder.Borrower{Athlete: a.Known}
	for _, r := range a.Results { // newest first
		if r.Protocol == rate.Base && r.Seconds != nil && dayOf(g.Today)-dayOf(r.Day) < testedDays && !b.Tested {
			b.Tested, b.Catches = true, float64(r.Catches)*60 / *r.Seconds
		}
	}
	b.SkillRope = ladder.RopeKind(standing.SkillRope(a.Place, a.Results))
	return b
}

// kindsOf returns the kinds that an athlete's classes use. Somebody in two
// classes may use what either does; a class without a list uses all.
func kindsOf(classes []gym.Class, listed []gym.ClassRopeKind) []ladder.RopeKind {
	var kinds []ladder.RopeKind
	for _, class := range classes {
		any := false
		for _, l := range listed {
			if l.ClassID == class.ClassID {
				kinds, any = append(kinds, ladder.RopeKind(l.Kind)), true
			}
		}
		if !any {
			return nil
		}
	}
	return kinds
}

// Lend gives a rope to an athlete if the rules allow it. A refusal is an Evidence
// problem and comes with the decision; with Why a coach takes it over, where the
// rules let her, and who and why are kept.
func (d *Deciding) Lend(ctx context.Context, who gym.Who, ask Loan) (ladder.Decision, error) {
	g, decision, err := d.ask(ctx, who, ask.Athlete, ask.Rope)
	if err != nil {
		return ladder.Decision{}, err
	}
	why := strings.TrimSpace(ask.Why)
	if decision.Outcome() == ladder.Refused && why != "" {
		if !mayDecide(who.Role) {
			return decision, problem.New(problem.Forbidden, "Only a coach takes this over.")
		}
		if len([]rune(why)) > maxReason {
			return decision, problem.Form(map[string]string{"why": fmt.Sprintf("Write the reason in %d letters or fewer.", maxReason)})
		}
		decision, err = decision.Override(who.Name, why)
		if errors.Is(err, ladder.ErrNotOverridable) {
			return decision, problem.Form(map[string]string{"why": "This rule stands, whoever asks. Do first what it says."})
		}
	}
	if decision.Outcome() == ladder.Refused {
		return decision, problem.New(problem.Evidence, "The rules for ropes say no.")
	}
	kept, err := json.Marshal(decision)
	if err != nil {
		return decision, fmt.Errorf("keeping a loan's decision: %w", err)
	}
	now := d.Now()
	return decision, d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var rope gym.Rope
		if err := tx.Read(ctx, store.Rope(ask.Rope, &rope)); err != nil {
			return err
		}
		if rope.AthleteID != uuid.Nil && rope.AthleteID != ask.Athlete {
			if err := tx.AddRopeLoan(ctx, gym.RopeLoan{RopeLoanID: newID(), RopeID: ask.Rope, AthleteID: rope.AthleteID, Day: g.Today, LentAt: now, LentBy: who.ID()}); err != nil {
				return err
			}
		}
		if err := tx.AddRopeLoan(ctx, gym.RopeLoan{RopeLoanID: orNew(ask.ID), RopeID: ask.Rope, AthleteID: ask.Athlete, Lent: true, Decision: kept,
			Day: g.Today, LentAt: now, LentBy: who.ID()}); err != nil {
			return err
		}
		if decision.OverriddenBy == "" {
			return nil
		}
		return tx.Note(ctx, newID(), now, who.ID(), "took a rope rule over", "rope", ask.Rope)
	})
}

// Return takes a rope back into the rack.
func (d *Deciding) Return(ctx context.Context, who gym.Who, id uuid.UUID) error {
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var rope gym.Rope
		if err := tx.Read(ctx, store.TheGym(&g), store.Rope(id, &rope)); err != nil {
			return err
		}
		if rope.AthleteID == uuid.Nil {
			return nil // it hangs there already
		}
		return tx.AddRopeLoan(ctx, gym.RopeLoan{RopeLoanID: newID(), RopeID: id, AthleteID: rope.AthleteID, Day: g.DayOf(now), LentAt: now, LentBy: who.ID()})
	})
}
