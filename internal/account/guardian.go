package account

import (
	"context"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// AddGuardian adds a guardian of an athlete and returns the secret of a link
// that opens the athlete's page on one phone, shown this once.
func (a *Accounts) AddGuardian(ctx context.Context, who gym.Who, athlete uuid.UUID, name string) (secret string, err error) {
	name = strings.TrimSpace(name)
	if name == "" || utf8.RuneCountInString(name) > 120 {
		return "", problem.Form(map[string]string{"name": "Type the name of the parent or guardian."})
	}
	guardian := gym.Guardianship{GuardianID: uuid.Must(uuid.NewV7()), AthleteID: athlete, Name: name, AddedAt: a.Now()}
	err = a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddGuardian(ctx, guardian, who.ID()); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), a.Now(), who.ID(), "added a guardian", "athlete", athlete)
	})
	if err != nil {
		return "", err
	}
	return a.LinkGuardian(ctx, who, guardian)
}

// LinkGuardian returns the secret of a new link for a guardian; an older one
// that nobody used stops working.
func (a *Accounts) LinkGuardian(ctx context.Context, who gym.Who, guardian gym.Guardianship) (secret string, err error) {
	card, secret := a.newCard(who, guardian.AthleteID, guardian.GuardianID)
	return secret, a.keepCards(ctx, who, []store.NewCard{card})
}

// RemoveGuardian ends what a guardian sees, on every phone at once.
func (a *Accounts) RemoveGuardian(ctx context.Context, who gym.Who, guardian uuid.UUID) error {
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.RemoveGuardian(ctx, guardian, a.Now()); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), a.Now(), who.ID(), "removed a guardian", "guardian", guardian)
	})
}
