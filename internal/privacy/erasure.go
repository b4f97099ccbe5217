package privacy

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// UndoDays is how long an erasure can be undone.
const UndoDays = 30

// Asking is a wish that an athlete be forgotten.
type Asking struct {
	ID            uuid.UUID // the same form sent twice is asked once
	Athlete       uuid.UUID
	For           string // who wants it: athlete, guardian, gym
	KeepIncidents bool   // law or an insurer obliges the gym to keep incident records
	Sure          bool
}

// Ask takes an athlete out of every list at once; in 30 days everything that is
// kept of the athlete goes.
func (p *Privacy) Ask(ctx context.Context, who gym.Who, ask Asking) error {
	wrong := map[string]string{}
	if !slices.Contains([]string{"athlete", "guardian", "gym"}, ask.For) {
		wrong["for"] = "Choose who wants it."
	}
	if !ask.Sure {
		wrong["sure"] = "Tick that you are sure. It can be undone for 30 days."
	}
	if err := problem.Form(wrong); err != nil {
		return err
	}
	return p.ask(ctx, who.GymID, gym.Erasure{ErasureID: ask.ID, About: "athlete", AboutID: ask.Athlete, AskedFor: ask.For, AskedBy: who.ID(),
		KeepIncidents: ask.KeepIncidents})
}

func (p *Privacy) ask(ctx context.Context, gymID uuid.UUID, x gym.Erasure) error {
	x.AskedAt = p.Now()
	x.DueAt = x.AskedAt.AddDate(0, 0, UndoDays)
	return p.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		if err := tx.AddErasure(ctx, x); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), x.AskedAt, x.AskedBy, "asked for the erasure of an "+x.About, x.About, x.AboutID)
	})
}

// AskPerson asks that somebody who worked here be forgotten, in 30 days.
func (p *Privacy) AskPerson(ctx context.Context, who gym.Who, person uuid.UUID) error {
	var former []gym.Former
	if err := p.Store.Read(ctx, who.GymID, store.FormerStaff(person, &former)); err != nil {
		return err
	}
	if len(former) == 0 {
		return problem.New(problem.NotFound, "Only somebody who worked here and does so no more can be forgotten. End the work first.")
	}
	return p.ask(ctx, who.GymID, gym.Erasure{ErasureID: newID(), About: "person", AboutID: person, AskedFor: "gym", AskedBy: who.ID()})
}

// Undo brings somebody back who is to be forgotten.
func (p *Privacy) Undo(ctx context.Context, who gym.Who, id uuid.UUID) error {
	now := p.Now()
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var x gym.Erasure
		if err := tx.Read(ctx, store.Erasure(id, &x)); err != nil {
			return err
		}
		if err := tx.UndoErasure(ctx, x, now, who.ID()); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "undid an erasure", x.About, x.AboutID)
	})
}

// carryOut erases whoever an erasure is about.
func (p *Privacy) carryOut(ctx context.Context, gymID uuid.UUID, x gym.Erasure) error {
	now := p.Now()
	rows := map[string]int{}
	pseudonym := uuid.New()
	switch x.About {
	case "person":
		pseudonym = x.AboutID // the id alone tells nobody; it stays beside what the person did
		if err := p.Store.ErasePerson(ctx, gymID, x.AboutID); problem.KindOf(err) == problem.Conflict {
			return p.Undo(ctx, gym.Who{GymID: gymID}, x.ErasureID) // works somewhere again
		} else if err != nil {
			return err
		}
		rows["person"] = 1
	default:
		erased, err := p.Store.Erase(ctx, gymID, x.AboutID, pseudonym, x.KeepIncidents, now)
		if err != nil {
			return err
		}
		rows = erased.Rows
		if err := p.bury(gymID, x.AboutID, now); err != nil {
			return err
		}
	}
	return p.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		if err := tx.FinishErasure(ctx, x.ErasureID, now, rows); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, uuid.Nil, "erased an "+x.About, x.About, pseudonym)
	})
}

// due carries out the erasures of a gym whose time has come.
func (p *Privacy) due(ctx context.Context, gymID uuid.UUID, now time.Time) error {
	var erasures []gym.Erasure
	if err := p.Store.Read(ctx, gymID, store.PendingErasures(&erasures)); err != nil {
		return err
	}
	for _, x := range erasures {
		if now.Before(x.DueAt) {
			continue
		}
		if err := p.carryOut(ctx, gymID, x); err != nil {
			return fmt.Errorf("erasure %s: %w", x.ErasureID, err)
		}
	}
	return nil
}

// NoteExport writes into the log that somebody took data along.
func (p *Privacy) NoteExport(ctx context.Context, who gym.Who, what string) error {
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		return tx.Note(ctx, newID(), p.Now(), who.ID(), what, "gym", who.GymID)
	})
}
