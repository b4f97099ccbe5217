package account

import (
	"context"
	"strings"

	"ropewalk.example/internal/problem"
)

// Recover gives the person with that sign-in name a fresh password and ends
// every sign-in. It is for the command line of the server's own machine.
func (a *Accounts) Recover(ctx context.Context, name string) (string, error) {
	person, found, err := a.Store.PersonBySignIn(ctx, FoldSignIn(name))
	if err != nil {
		return "", err
	}
	if !found {
		return "", problem.New(problem.NotFound, "Nobody signs in as %s.", name)
	}
	password := strings.ToLower(NewCode(4) + "-" + NewCode(4) + "-" + NewCode(4) + "-" + NewCode(4))
	if err := a.setPassword(ctx, person.PersonID, password); err != nil {
		return "", err
	}
	if err := a.Store.EndSignIns(ctx, person.PersonID); err != nil {
		return "", err
	}
	if err := a.noteEverywhere(ctx, person.PersonID, operatorPassword); err != nil {
		return "", err
	}
	return password, a.Store.ForgetTries(ctx, subjectOf("password", FoldSignIn(name)))
}

// DropFactor takes the second factor of the person with that sign-in name off
// and ends every sign-in. It is for the command line of the server's own machine.
func (a *Accounts) DropFactor(ctx context.Context, name string) error {
	person, found, err := a.Store.PersonBySignIn(ctx, FoldSignIn(name))
	if err != nil {
		return err
	}
	if !found {
		return problem.New(problem.NotFound, "Nobody signs in as %s.", name)
	}
	if err := a.Store.RemoveSecondFactor(ctx, person.PersonID); err != nil {
		return err
	}
	if err := a.Store.EndSignIns(ctx, person.PersonID); err != nil {
		return err
	}
	if err := a.noteEverywhere(ctx, person.PersonID, operatorFactor); err != nil {
		return err
	}
	return a.Store.ForgetTries(ctx, subjectOf("second factor", person.PersonID.String()))
}
