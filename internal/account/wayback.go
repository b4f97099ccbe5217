package account

import (
	"context"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// wayBackLife is how long an owner's code lets somebody choose a new password:
// the two stand in one room (ASVS 5.0, 6.5.5 asks for at most ten minutes).
const wayBackLife = 10 * time.Minute

// elsewhere refuses to change how a person comes in who works in another gym
// too, or this owner could walk into that one. It does not say which.
var elsewhere = problem.New(problem.Forbidden, "This cannot be done from here. Whoever runs the server can: ropewalk user recover, with the sign-in name.")

// onlyHere refuses unless the person works in this gym and in no other.
func (a *Accounts) onlyHere(ctx context.Context, who gym.Who, person uuid.UUID) error {
	memberships, err := a.Store.MembershipsOf(ctx, person)
	if err != nil {
		return err
	}
	here := false
	for _, m := range memberships {
		if m.GymID != who.GymID {
			return elsewhere
		}
		here = here || m.Role.Staff()
	}
	if !here {
		return noSuchStaff
	}
	return nil
}

// GiveWayBack returns a code with which a person of the gym chooses a new
// password, shown this once. The second factor stays on.
func (a *Accounts) GiveWayBack(ctx context.Context, who gym.Who, person uuid.UUID) (code string, err error) {
	if err := a.staffHere(ctx, who, person); err != nil {
		return "", err
	}
	if err := a.onlyHere(ctx, who, person); err != nil {
		return "", err
	}
	code = NewCode(codeSignsLong)
	now := a.Now()
	err = a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		back := gym.WayBack{PersonID: person, GymID: who.GymID, MadeBy: who.ID(), MadeAt: now, ExpiresAt: now.Add(wayBackLife)}
		if err := tx.AddWayBack(ctx, back, hashCode(code)); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), gaveWayBack, "person", person)
	})
	return inFours(code), err
}

// staffHere refuses for whoever does not work in this gym, before anything is
// asked about other gyms.
func (a *Accounts) staffHere(ctx context.Context, who gym.Who, person uuid.UUID) error {
	var staff []gym.Staff
	if err := a.Store.Read(ctx, who.GymID, store.StaffList(&staff)); err != nil {
		return err
	}
	for _, s := range staff {
		if s.PersonID == person {
			return nil
		}
	}
	return noSuchStaff
}

// ComeBack is what somebody types who was given a one-time code.
type ComeBack struct{ SignInName, Code, Password string }

// wrongWayBack is one answer for an unknown name and a wrong or old code alike.
var wrongWayBack = problem.Form(map[string]string{"code": "That name and code do not match, or the code is over ten minutes old. Ask for a new one."})

// ReturnByCode gives the person a new password for the owner's code and ends
// every sign-in. It signs nobody in: the second factor still stands.
func (a *Accounts) ReturnByCode(ctx context.Context, door Door, f ComeBack) error {
	if err := a.mayTryFrom(ctx, door, byWayBack); err != nil {
		return err
	}
	person, _, err := a.Store.PersonBySignIn(ctx, FoldSignIn(f.SignInName))
	if err != nil {
		return err
	}
	if message := PasswordProblem(f.Password, f.SignInName); message != "" {
		return problem.Form(map[string]string{"password": message})
	}
	subject := subjectOf("way back", FoldSignIn(f.SignInName))
	if err := a.try(ctx, subject); err != nil {
		return err
	}
	gymID, ok, err := a.Store.UseWayBack(ctx, person.PersonID, hashCode(f.Code), a.Now())
	if err != nil {
		return err
	}
	if !ok {
		return a.wrong(ctx, door, byWayBack, wrongWayBack)
	}
	if err := a.setPassword(ctx, person.PersonID, f.Password); err != nil {
		return err
	}
	if err := a.Store.EndSignIns(ctx, person.PersonID); err != nil {
		return err
	}
	for _, tried := range []string{subject, subjectOf("password", person.SignInName)} {
		if err := a.Store.ForgetTries(ctx, tried); err != nil {
			return err
		}
	}
	return a.note(ctx, gymID, person.PersonID, returnedByCode, "person", person.PersonID)
}

// FactorOff takes a person's second factor off after the owner saw who it is:
// a new one is asked for at the next sign-in.
func (a *Accounts) FactorOff(ctx context.Context, who gym.Who, person uuid.UUID) error {
	if err := a.staffHere(ctx, who, person); err != nil {
		return err
	}
	if err := a.onlyHere(ctx, who, person); err != nil {
		return err
	}
	if err := a.Store.RemoveSecondFactor(ctx, person); err != nil {
		return err
	}
	if err := a.Store.EndSignIns(ctx, person); err != nil {
		return err
	}
	if err := a.Store.ForgetTries(ctx, subjectOf("second factor", person.String())); err != nil {
		return err
	}
	return a.note(ctx, who.GymID, who.ID(), tookOthersOff, "person", person)
}
