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
	hash, err := a.Hasher.Hash(ctx, password)
	if err != nil {
		return "", err
	}
	if err := a.Store.SetPassword(ctx, person.PersonID, hash); err != nil {
		return "", err
	}
	if err := a.Store.EndSignIns(ctx, person.PersonID); err != nil {
		return "", err
	}
	return password, a.Store.ForgetTries(ctx, subjectOf("password", FoldSignIn(name)))
}
