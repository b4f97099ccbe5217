package deciding

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// maxReason bounds a reason in letters.
const maxReason = 500

// A Decision is a coach's word on where somebody stands.
type Decision struct {
	ID      uuid.UUID // made with the form, so that one sent twice is kept once
	Athlete uuid.UUID
	From    string // key of the stage that the coach saw, "" for none
	To      string // key of a stage of the ladder in use
	Reason  string // needed, except on the way up through a gate that is met
}

// Decide keeps a decision with the evidence as it stands. It is a Conflict if
// the athlete no longer stands where the coach saw.
func (d *Deciding) Decide(ctx context.Context, who gym.Who, ask Decision) (gym.StageDecision, error) {
	if !mayDecide(who.Role) {
		return gym.StageDecision{}, problem.New(problem.Forbidden, "Only a coach decides a stage.")
	}
	g, athlete, err := d.LoadOne(ctx, who, ask.Athlete)
	if err != nil {
		return gym.StageDecision{}, err
	}
	for _, kept := range athlete.Decisions {
		if kept.DecisionID == ask.ID {
			return kept, nil // sent twice, kept once
		}
	}
	decision, err := g.decision(athlete, ask, d.Now(), who)
	if err != nil {
		return gym.StageDecision{}, err
	}
	return decision, d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := stillThere(ctx, tx, athlete, ask.From); err != nil {
			return err
		}
		return keepDecisions(ctx, tx, who, []gym.StageDecision{decision})
	})
}

// decision checks what was asked and puts the decision together.
func (g Ground) decision(a Athlete, ask Decision, now time.Time, who gym.Who) (gym.StageDecision, error) {
	to, ok := g.Ladder.Stage(ask.To)
	if !ok {
		return gym.StageDecision{}, problem.Form(map[string]string{"to": "Choose a stage from the list."})
	}
	made := gym.StageDecision{DecisionID: orNew(ask.ID), AthleteID: a.AthleteID, StageFrom: a.Place.Stage, StageTo: to.Key,
		LadderID: g.LadderID, Version: g.Ladder.Version, Reason: strings.TrimSpace(ask.Reason), DecidedOn: g.Today, DecidedAt: now, DecidedBy: who.ID()}
	from, placed := g.Stage(a)
	verdict, _ := g.Verdict(a, from.Key)
	made.Verdict = wayTo(from, placed, to)
	var err error
	if made.Evidence, err = json.Marshal(verdict.Clauses); err != nil {
		return gym.StageDecision{}, fmt.Errorf("keeping the evidence: %w", err)
	}
	if len([]rune(made.Reason)) > maxReason {
		return gym.StageDecision{}, problem.Form(map[string]string{"reason": fmt.Sprintf("Write the reason in %d letters or fewer.", maxReason)})
	}
	through := made.Verdict == standing.Up && verdict.State == ladder.Met && to.Number == from.Number+1
	if made.Reason == "" && !through {
		return gym.StageDecision{}, problem.Form(map[string]string{"reason": "Write why. It is kept with the decision."})
	}
	return made, nil
}

// wayTo returns the verdict that leads from one stage to another.
func wayTo(from ladder.Stage, placed bool, to ladder.Stage) string {
	switch {
	case !placed:
		return standing.Start
	case to.Number > from.Number:
		return standing.Up
	case to.Number < from.Number:
		return standing.Down
	}
	return standing.Stay
}

// stillThere is a Conflict if the athlete does not stand where the coach saw.
func stillThere(ctx context.Context, tx *store.Tx, a Athlete, seen string) error {
	var decisions []gym.StageDecision
	if err := tx.Read(ctx, store.Decisions(store.Only(a.AthleteID), &decisions)); err != nil {
		return err
	}
	if standing.PlaceOf(decisions).Stage != seen {
		return problem.New(problem.Conflict, "Somebody else decided on %s meanwhile. Look at the newest decision first.", a.Name)
	}
	return nil
}

// keepDecisions keeps what was decided at one moment, with one line in the log.
func keepDecisions(ctx context.Context, tx *store.Tx, who gym.Who, made []gym.StageDecision) error {
	if len(made) == 0 {
		return nil
	}
	if err := tx.AddDecisions(ctx, made); err != nil {
		return err
	}
	action, subject := fmt.Sprintf("decided %d stages", len(made)), uuid.Nil
	if len(made) == 1 {
		action, subject = "decided a stage: "+made[0].Verdict, made[0].AthleteID
	}
	return tx.Note(ctx, newID(), made[0].DecidedAt, who.ID(), action, "athlete", subject)
}

// TakeBack undoes the newest decision that holds; the athlete stands where the
// one before it says. Both stay in the history.
func (d *Deciding) TakeBack(ctx context.Context, who gym.Who, id uuid.UUID) (gym.StageDecision, error) {
	if !mayDecide(who.Role) {
		return gym.StageDecision{}, problem.New(problem.Forbidden, "Only a coach takes a decision back.")
	}
	now := d.Now()
	var undone gym.StageDecision
	err := d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		if err := tx.Read(ctx, store.TheGym(&g), store.Decision(id, &undone)); err != nil {
			return err
		}
		var decisions []gym.StageDecision
		if err := tx.Read(ctx, store.Decisions(store.Only(undone.AthleteID), &decisions)); err != nil {
			return err
		}
		place := standing.PlaceOf(decisions)
		if place.Decision != id {
			return problem.New(problem.Conflict, "Only the newest decision can be taken back. Decide anew instead.")
		}
		back := gym.StageDecision{DecisionID: newID(), AthleteID: undone.AthleteID, Verdict: standing.Back, StageFrom: place.Stage,
			LadderID: undone.LadderID, Version: undone.Version, TakesBack: id, DecidedOn: g.DayOf(now), DecidedAt: now, DecidedBy: who.ID()}
		back.StageTo = standing.PlaceOf(append(decisions, back)).Stage
		return keepDecisions(ctx, tx, who, []gym.StageDecision{back})
	})
	return undone, err
}
