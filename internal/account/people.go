package account

import (
	"context"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// invitationLife is how long an invitation waits: somebody reads it within days,
// and one that is found later opens nothing.
const invitationLife = 72 * time.Hour

// codeSignsLong is the length of a code that opens something by itself: 79 bits.
const codeSignsLong = 16

// StaffRoles are the roles that an owner may give, highest first.
func StaffRoles() []gym.Role { return []gym.Role{gym.Owner, gym.Coach, gym.Assistant} }

// Invite asks somebody to work in the gym and returns the code that the owner
// hands over, shown this once.
func (a *Accounts) Invite(ctx context.Context, who gym.Who, id uuid.UUID, name string, role gym.Role) (code string, err error) {
	name = strings.TrimSpace(name)
	wrong := map[string]string{}
	if name == "" || utf8.RuneCountInString(name) > 120 {
		wrong["name"] = "Type the name of whom you invite."
	}
	if !slices.Contains(StaffRoles(), role) {
		wrong["role"] = "Choose what the person will do."
	}
	if err := problem.Form(wrong); err != nil {
		return "", err
	}
	code = NewCode(codeSignsLong)
	now := a.Now()
	err = a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		invitation := gym.Invitation{InvitationID: id, Name: name, Role: role, MadeAt: now, MadeBy: who.ID(), ExpiresAt: now.Add(invitationLife)}
		if err := tx.AddInvitation(ctx, invitation, hashCode(code)); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "invited a person as "+string(role), "invitation", id)
	})
	return inFours(code), err
}

// TakeBackInvitation ends an invitation that nobody has accepted.
func (a *Accounts) TakeBackInvitation(ctx context.Context, who gym.Who, id uuid.UUID) error {
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.TakeBackInvitation(ctx, id, a.Now()); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), a.Now(), who.ID(), "took an invitation back", "invitation", id)
	})
}

// closedInvitation is one answer for every code that opens nothing.
var closedInvitation = problem.Form(map[string]string{"code": "That code opens nothing now. Check it, or ask the owner of the gym for a new one."})

// An Invited is what a code shows of its invitation.
type Invited struct {
	Gym        gym.Gym
	Invitation gym.Invitation
}

// WhatInvitation says what the code opens. It changes nothing.
func (a *Accounts) WhatInvitation(ctx context.Context, door Door, code string) (Invited, error) {
	if err := a.mayTryFrom(ctx, door, byInvitation); err != nil {
		return Invited{}, err
	}
	gymID, id, found, err := a.Store.InvitationByCode(ctx, hashCode(code))
	if err != nil {
		return Invited{}, err
	}
	if !found {
		return Invited{}, a.wrong(ctx, door, byInvitation, closedInvitation)
	}
	var invited Invited
	if err := a.Store.Read(ctx, gymID, store.TheGym(&invited.Gym), store.Invitation(id, &invited.Invitation)); err != nil {
		return Invited{}, err
	}
	if !invited.Invitation.Open(a.Now()) {
		return Invited{}, closedInvitation
	}
	return invited, nil
}

// Accept is what somebody types who accepts an invitation: a new account, or
// the one that the person has already.
type Accept struct {
	Code, Name, SignInName, Password string
	Mine                             bool // signs in with an account from another gym
}

func (f Accept) problems(gymName string) map[string]string {
	problems := map[string]string{}
	if message := SignInNameProblem(f.SignInName); message != "" {
		problems["sign_in"] = message
	}
	if f.Mine {
		return problems
	}
	if name := strings.TrimSpace(f.Name); name == "" || utf8.RuneCountInString(name) > 120 {
		problems["name"] = "Type your name."
	}
	if message := PasswordProblem(f.Password, gymName, f.Name, f.SignInName); message != "" {
		problems["password"] = message
	}
	return problems
}

// AcceptInvitation spends the invitation and returns who may come in now.
func (a *Accounts) AcceptInvitation(ctx context.Context, door Door, f Accept) (gym.Who, error) {
	invited, err := a.WhatInvitation(ctx, door, f.Code)
	if err != nil {
		return gym.Who{}, err
	}
	if err := problem.Form(f.problems(invited.Gym.Name)); err != nil {
		return gym.Who{}, err
	}
	now := a.Now()
	var person gym.Person
	if f.Mine {
		if person, err = a.own(ctx, door, f.SignInName, f.Password); err != nil {
			return gym.Who{}, err
		}
	} else {
		hash, err := a.Hasher.Hash(ctx, f.Password)
		if err != nil {
			return gym.Who{}, err
		}
		person = gym.Person{PersonID: newID(), SignInName: FoldSignIn(f.SignInName), Name: strings.TrimSpace(f.Name), PasswordHash: hash, CreatedAt: now}
	}
	role := invited.Invitation.Role
	err = a.Store.Write(ctx, invited.Gym.GymID, func(tx *store.Tx) error {
		ok, err := tx.UseInvitation(ctx, invited.Invitation.InvitationID, person.PersonID, now)
		if err != nil {
			return err
		}
		if !ok {
			return closedInvitation
		}
		if !f.Mine {
			if err := tx.AddPerson(ctx, person); err != nil {
				return takenName(err)
			}
		}
		if err := giveRole(ctx, tx, person.PersonID, role, now); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, person.PersonID, "accepted an invitation as "+string(role), "person", person.PersonID)
	})
	return gym.Who{GymID: invited.Gym.GymID, PersonID: person.PersonID, Role: role, Name: person.Name}, err
}

// own returns the account that somebody says to have.
func (a *Accounts) own(ctx context.Context, door Door, name, password string) (gym.Person, error) {
	person, _, err := a.Store.PersonBySignIn(ctx, FoldSignIn(name))
	if err != nil {
		return gym.Person{}, err
	}
	return person, a.matches(ctx, door, FoldSignIn(name), person, password, wrongSignIn)
}

// takenName puts the message beside the field.
func takenName(err error) error {
	if problem.KindOf(err) == problem.Conflict {
		return problem.Form(map[string]string{"sign_in": problem.MessageOf(err)})
	}
	return err
}

// giveRole makes role the person's only one among the staff of the gym.
func giveRole(ctx context.Context, tx *store.Tx, person uuid.UUID, role gym.Role, now time.Time) error {
	staff, err := tx.LockStaff(ctx)
	if err != nil {
		return err
	}
	for _, m := range staff {
		if m.PersonID == person && m.Role != role {
			if err := tx.EndMembership(ctx, m, now); err != nil {
				return err
			}
		}
	}
	return tx.AddMembership(ctx, gym.Membership{PersonID: person, Role: role, Since: now})
}

// noSuchStaff is the answer for a person who does not work in this gym.
var noSuchStaff = problem.New(problem.NotFound, "There is no such person in this gym.")

// lastOwner keeps a gym from being left without an owner.
var lastOwner = problem.New(problem.Conflict, "A gym needs an owner. Make somebody else owner first.")

// SetRole gives a person of the gym another role, effective at once.
func (a *Accounts) SetRole(ctx context.Context, who gym.Who, person uuid.UUID, role gym.Role) error {
	now := a.Now()
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := mayChange(ctx, tx, person, role); err != nil {
			return err
		}
		if !slices.Contains(StaffRoles(), role) {
			return problem.Form(map[string]string{"role": "Choose what the person will do."})
		}
		if err := giveRole(ctx, tx, person, role, now); err != nil {
			return err
		}
		if err := tx.EndSignInsHere(ctx, person); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "made a person "+string(role), "person", person)
	})
}

// EndWork ends what a person may do in the gym, at once.
func (a *Accounts) EndWork(ctx context.Context, who gym.Who, person uuid.UUID) error {
	now := a.Now()
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := mayChange(ctx, tx, person, ""); err != nil {
			return err
		}
		staff, err := tx.LockStaff(ctx)
		if err != nil {
			return err
		}
		for _, m := range staff {
			if m.PersonID != person {
				continue
			}
			if err := tx.EndMembership(ctx, m, now); err != nil {
				return err
			}
		}
		if err := tx.EndSignInsHere(ctx, person); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "ended a person's work here", "person", person)
	})
}

// mayChange refuses to change somebody who does not work here, and to take the
// last owner away.
func mayChange(ctx context.Context, tx *store.Tx, person uuid.UUID, to gym.Role) error {
	staff, err := tx.LockStaff(ctx)
	if err != nil {
		return err
	}
	here, owners, isOwner := false, 0, false
	for _, m := range staff {
		if m.Role == gym.Owner {
			owners++
		}
		if m.PersonID == person {
			here, isOwner = true, m.Role == gym.Owner
		}
	}
	switch {
	case !here:
		return noSuchStaff
	case isOwner && owners == 1 && to != gym.Owner:
		return lastOwner
	}
	return nil
}
