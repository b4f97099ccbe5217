package demoseed

import (
	"context"
	"fmt"
	"time"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// consentAge is under which the demo gym asks a guardian.
const consentAge = 16

// takenBack is the athlete whose guardian took the consent back the evening
// before, so that the demo shows what a page says then.
const takenBack = 10

// consents notes what the guardians of the minors agreed to when they joined.
func (f *filling) consents(ctx context.Context, tx *store.Tx) error {
	if err := tx.SetConsentAge(ctx, consentAge); err != nil {
		return err
	}
	for _, a := range f.g.Athletes {
		if !f.minor(a) {
			continue
		}
		if err := f.consent(ctx, tx, a, true, f.start()); err != nil {
			return err
		}
	}
	return nil
}

func (f *filling) minor(a demo.Athlete) bool {
	return gym.Athlete{BirthYear: a.BirthYear}.Under(consentAge, f.until.Year())
}

func (f *filling) consent(ctx context.Context, tx *store.Tx, a demo.Athlete, given bool, at time.Time) error {
	for _, purpose := range gym.Purposes() {
		id := idOf("consent", fmt.Sprint(a.ID, purpose, given))
		c := gym.Consent{ConsentID: id, AthleteID: idOf("athlete", a.ID), Purpose: purpose, Given: given, ByName: "A parent, on the signed form",
			How: "paper", Wording: account.WordingOf(purpose), NotedAt: at, NotedBy: f.owner}
		if err := tx.AddConsent(ctx, c); err != nil {
			return err
		}
	}
	return nil
}

// takeBack notes that one guardian does not agree any more. It comes last, since
// nothing of that athlete is kept afterwards.
func (f *filling) takeBack(ctx context.Context) error {
	if _, ahead := f.next(); !ahead {
		return nil // the whole term may be filled in again
	}
	return f.write(ctx, func(tx *store.Tx) error {
		for _, a := range f.g.Athletes {
			if a.ID == takenBack && f.minor(a) {
				return f.consent(ctx, tx, a, false, f.until.Add(-18*time.Hour))
			}
		}
		return nil
	})
}
