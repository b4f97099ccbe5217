package account

import (
	"context"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// WordingOf is what a parent or guardian agrees to, by purpose. It is kept with
// each consent: whoever agreed, agreed to these words.
func WordingOf(purpose gym.Purpose) string {
	switch purpose {
	case gym.ToUsePhone:
		return "The athlete may use an own phone for it: to see the plan, to count, and to say how it went."
	default:
		return "The gym may keep this athlete's name, birth year, counts, stages and plans. It may keep what the athlete tells of effort and pain. " +
			"Coaches of the gym see it, nobody else. This can be taken back at any time; then nothing more is kept."
	}
}

// ConsentForm is what a guardian says, as typed. No purpose stands for all.
type ConsentForm struct {
	ID       uuid.UUID // the same form sent twice is kept once
	Athlete  uuid.UUID
	Purposes []gym.Purpose
	Given    bool
	ByName   string
	Guardian uuid.UUID // who said so on an own phone
	How      string    // paper, spoken or phone
}

func (f ConsentForm) problems() map[string]string {
	wrong := map[string]string{}
	if f.ByName == "" || utf8.RuneCountInString(f.ByName) > 120 {
		wrong["by_name"] = "Type the name of the parent or guardian."
	}
	if f.How != "paper" && f.How != "spoken" && f.How != "phone" {
		wrong["how"] = "Choose how the parent or guardian said so."
	}
	for _, purpose := range f.Purposes {
		if !slices.Contains(gym.Purposes(), purpose) {
			wrong["purpose"] = "Choose from the list what it is for."
		}
	}
	return wrong
}

// NoteConsents keeps what a guardian agreed to, or took back. The wording is today's.
// Where the gym asks for consent, its end signs the athlete's phones out.
func (a *Accounts) NoteConsents(ctx context.Context, who gym.Who, forms ...ConsentForm) error {
	for i := range forms {
		forms[i].ByName = strings.TrimSpace(forms[i].ByName)
		if len(forms[i].Purposes) == 0 {
			forms[i].Purposes = gym.Purposes()
		}
		if err := problem.Form(forms[i].problems()); err != nil {
			return err
		}
	}
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		for _, form := range forms {
			if err := a.noteConsent(ctx, tx, who, form); err != nil {
				return err
			}
		}
		return nil
	})
}

func (a *Accounts) noteConsent(ctx context.Context, tx *store.Tx, who gym.Who, f ConsentForm) error {
	var g gym.Gym
	var athlete gym.Athlete
	if err := tx.Read(ctx, store.TheGym(&g), store.Athlete(f.Athlete, &athlete)); err != nil {
		return err
	}
	now := a.Now()
	for _, purpose := range f.Purposes {
		c := gym.Consent{ConsentID: uuid.NewSHA1(f.ID, []byte(purpose)), AthleteID: f.Athlete, Purpose: purpose, Given: f.Given, ByName: f.ByName,
			GuardianID: f.Guardian, How: f.How, Wording: WordingOf(purpose), NotedAt: now, NotedBy: who.ID()}
		if err := tx.AddConsent(ctx, c); err != nil {
			return err
		}
		action := "noted a consent: " + string(purpose)
		if !f.Given {
			action = "noted that a consent was taken back: " + string(purpose)
		}
		if err := tx.Note(ctx, newID(), now, who.ID(), action, "athlete", f.Athlete); err != nil {
			return err
		}
	}
	if f.Given || !g.NeedsConsent(athlete, g.DayOf(now).Year()) {
		return nil
	}
	return tx.EndAthleteSignIns(ctx, f.Athlete)
}

func (a *Accounts) mayEnter(g gym.Gym, athlete gym.Athlete, consents []gym.Consent) error {
	basis := gym.Basis{BirthYear: athlete.BirthYear, ConsentAge: g.ConsentAge, Records: gym.Agreed(consents, gym.ToRecord), Phone: gym.Agreed(consents, gym.ToUsePhone)}
	if !basis.Allows(gym.ToUsePhone, g.DayOf(a.Now()).Year()) {
		return problem.New(problem.Forbidden, "Your gym asks a parent or guardian before you use a phone. Ask your coach for the form.")
	}
	return nil
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
