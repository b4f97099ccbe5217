package privacy

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Run does in every gym what its rules ask for: it carries out erasures whose
// time has come, asks for the erasure of athletes of whom nothing was heard for
// long, and forgets what is old. One gym's fault does not stop the others.
func (p *Privacy) Run(ctx context.Context) error {
	gyms, err := p.Store.EveryGym(ctx)
	if err != nil {
		return err
	}
	var faults []error
	for _, gymID := range gyms {
		if err := p.runGym(ctx, gymID); err != nil {
			faults = append(faults, fmt.Errorf("gym %s: %w", gymID, err))
		}
	}
	return errors.Join(faults...)
}

func (p *Privacy) runGym(ctx context.Context, gymID uuid.UUID) error {
	now := p.Now()
	if err := p.due(ctx, gymID, now); err != nil {
		return err
	}
	var k gym.Keeping
	if err := p.Store.Read(ctx, gymID, store.TheKeeping(&k)); err != nil {
		return err
	}
	if err := p.askIdle(ctx, gymID, k, now); err != nil {
		return err
	}
	for _, rule := range []struct {
		what   string
		months int
	}{{"health", k.Health}, {"incidents", k.Incident}, {"audit", k.Audit}} {
		rows, err := p.Store.Forget(ctx, gymID, rule.what, now.AddDate(0, -rule.months, 0))
		if err != nil {
			return err
		}
		if err := p.report(ctx, gymID, rule.what, rows, now); err != nil {
			return err
		}
	}
	return nil
}

// askIdle asks for the erasure of athletes of whom nothing was heard for longer
// than the gym keeps them; the owner can undo it for 30 days.
func (p *Privacy) askIdle(ctx context.Context, gymID uuid.UUID, k gym.Keeping, now time.Time) error {
	var idle []store.Idle
	if err := p.Store.Read(ctx, gymID, store.IdleSince(now.AddDate(0, -k.Athlete, 0), &idle)); err != nil {
		return err
	}
	for _, athlete := range idle {
		err := p.ask(ctx, gymID, gym.Erasure{ErasureID: newID(), About: "athlete", AboutID: athlete.AthleteID, AskedFor: "time"})
		if err != nil {
			return err
		}
	}
	return p.report(ctx, gymID, "athletes", len(idle), now)
}

func (p *Privacy) report(ctx context.Context, gymID uuid.UUID, what string, rows int, now time.Time) error {
	if rows == 0 {
		return nil
	}
	return p.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		return tx.AddPurge(ctx, newID(), gym.Purge{At: now, What: what, Rows: rows})
	})
}

// SetKeeping sets how long the gym keeps what.
func (p *Privacy) SetKeeping(ctx context.Context, who gym.Who, k gym.Keeping) error {
	wrong := map[string]string{}
	within := func(field string, n, least, most int) {
		if n < least || n > most {
			wrong[field] = fmt.Sprintf("Months must be a whole number from %d to %d.", least, most)
		}
	}
	within("keep_athlete", k.Athlete, 1, 120)
	within("keep_health", k.Health, 6, 120)
	within("keep_incident", k.Incident, 1, 300)
	within("keep_audit", k.Audit, 6, 120)
	if err := problem.Form(wrong); err != nil {
		return err
	}
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.SetKeeping(ctx, k); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), p.Now(), who.ID(), "set how long things are kept", "gym", who.GymID)
	})
}

// Soon lists the athletes who would be asked about within a month, with the
// rules as they are: nothing is done.
func (p *Privacy) Soon(ctx context.Context, gymID uuid.UUID) ([]store.Idle, error) {
	var k gym.Keeping
	if err := p.Store.Read(ctx, gymID, store.TheKeeping(&k)); err != nil {
		return nil, err
	}
	var idle []store.Idle
	err := p.Store.Read(ctx, gymID, store.IdleSince(p.Now().AddDate(0, 1-k.Athlete, 0), &idle))
	return idle, err
}
