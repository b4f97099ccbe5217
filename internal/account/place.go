package account

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// A Place is where a person may come in: a gym where she works, or one of whose
// athletes she is a guardian.
type Place struct {
	GymID    uuid.UUID
	GymName  string
	Role     gym.Role
	Name     string           // of the person, as the gym knows her
	Guardian gym.Guardianship // of a guardian
	Child    string           // the athlete's name, for a guardian
}

// Key names the place in a form.
func (p Place) Key() string { return fmt.Sprintf("%s/%s/%s", p.GymID, p.Role, p.Guardian.GuardianID) }

// Who is the identity of the person at the place.
func (p Place) Who(person uuid.UUID) gym.Who {
	if p.Role == gym.Guardian {
		return gym.Who{GymID: p.GymID, PersonID: p.Guardian.GuardianID, AthleteID: p.Guardian.AthleteID, Role: p.Role, Name: p.Name}
	}
	return gym.Who{GymID: p.GymID, PersonID: person, Role: p.Role, Name: p.Name}
}

// PlacesOf returns where a person may come in, work first.
func (a *Accounts) PlacesOf(ctx context.Context, person gym.Person) ([]Place, error) {
	memberships, err := a.Store.MembershipsOf(ctx, person.PersonID)
	if err != nil {
		return nil, err
	}
	var places []Place
	for _, m := range memberships { // few: one round trip each, since each gym is behind its own wall
		var g gym.Gym
		var children []store.ChildOf
		if err := a.Store.Read(ctx, m.GymID, store.TheGym(&g), store.ChildrenOf(person.PersonID, &children)); err != nil {
			return nil, err
		}
		if m.Role != gym.Guardian {
			places = append(places, Place{GymID: m.GymID, GymName: g.Name, Role: m.Role, Name: person.Name})
			continue
		}
		for _, c := range children {
			places = append(places, Place{GymID: m.GymID, GymName: g.Name, Role: m.Role, Name: person.Name, Guardian: c.Guardianship, Child: c.Child})
		}
	}
	return places, nil
}

// NoteSignIn writes into the gym's log that a person came in.
func (a *Accounts) NoteSignIn(ctx context.Context, gymID, person uuid.UUID) error {
	return a.note(ctx, gymID, person, "signed in", "person", person)
}

// JoinAccounts lets a guardian come in with the account that she has from
// another gym, from now on.
func (a *Accounts) JoinAccounts(ctx context.Context, door Door, who gym.Who, name, password string) error {
	person, err := a.own(ctx, door, name, password)
	if err != nil {
		return err
	}
	now := a.Now()
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.JoinGuardian(ctx, who.PersonID, person.PersonID); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: person.PersonID, Role: gym.Guardian, Since: now}); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "joined a guardian to an account", "guardian", who.PersonID)
	})
}
