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

// Wording is what a parent or guardian agrees to. It is kept with each consent:
// whoever agreed, agreed to these words.
const Wording = "The gym may keep this athlete's name, birth year, counts, plans and what the athlete says of effort and pain. " +
	"The athlete may use a phone for it. Coaches of the gym see it, nobody else. This can be taken back at any time."

// Agreed reports whether the newest of consents, newest first, says yes.
func Agreed(consents []gym.Consent) bool { return len(consents) > 0 && consents[0].Given }

func (a *Accounts) mayEnter(g gym.Gym, athlete gym.Athlete, consents []gym.Consent) error {
	if g.NeedsConsent(athlete, g.DayOf(a.Now()).Year()) && !Agreed(consents) {
		return problem.New(problem.Forbidden, "Your gym asks a parent or guardian before you use a phone. Ask your coach for the form.")
	}
	return nil
}

// NoteConsent keeps what a guardian agreed to, or took back. The wording is
// today's. Where the gym asks for consent, its end signs the athlete's phones
// out.
func (a *Accounts) NoteConsent(ctx context.Context, who gym.Who, c gym.Consent) error {
	c.ByName = strings.TrimSpace(c.ByName)
	wrong := map[string]string{}
	if c.ByName == "" || utf8.RuneCountInString(c.ByName) > 120 {
		wrong["by_name"] = "Type the name of the parent or guardian."
	}
	if c.How != "paper" && c.How != "spoken" && c.How != "phone" {
		wrong["how"] = "Choose how the parent or guardian said so."
	}
	if err := problem.Form(wrong); err != nil {
		return err
	}
	c.Wording, c.NotedAt, c.NotedBy = Wording, a.Now(), who.ID()
	action := "noted a consent"
	if !c.Given {
		action = "noted that a consent was taken back"
	}
	var g gym.Gym
	var athlete gym.Athlete
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.Read(ctx, store.TheGym(&g), store.Athlete(c.AthleteID, &athlete)); err != nil {
			return err
		}
		if err := tx.AddConsent(ctx, c); err != nil {
			return err
		}
		if !c.Given && g.NeedsConsent(athlete, g.DayOf(c.NotedAt).Year()) {
			if err := tx.EndAthleteSignIns(ctx, c.AthleteID); err != nil {
				return err
			}
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), c.NotedAt, c.NotedBy, action, "athlete", c.AthleteID)
	})
}

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

// AskConsent sets under which age the gym asks a guardian first; 0 asks nobody.
func (a *Accounts) AskConsent(ctx context.Context, who gym.Who, years int) error {
	if years < 0 || years > 21 {
		return problem.Form(map[string]string{"years": "The age must be from 0 to 21. 0 asks nobody."})
	}
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.SetConsentAge(ctx, years); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), a.Now(), who.ID(), "set the age of consent", "gym", who.GymID)
	})
}
