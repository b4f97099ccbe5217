package account

import (
	"context"
	"strings"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A Return is what an owner types who brings the gym's data into an empty
// install: the code of the install, the sign-in name that the data know, and a
// password from now on, since data hold none.
type Return struct{ Code, SignInName, Password string }

// Problems returns a message per field that needs mending.
func (f Return) Problems() map[string]string {
	problems := map[string]string{}
	if strings.TrimSpace(f.Code) == "" {
		problems["code"] = "Type the one-time code that the program printed when it started."
	}
	if message := SignInNameProblem(f.SignInName); message != "" {
		problems["sign_in"] = message
	}
	if message := PasswordProblem(f.Password, f.SignInName); message != "" {
		problems["password"] = message
	}
	return problems
}

// errFirstCode says that a code does not open this install.
func errFirstCode() error {
	return problem.Form(map[string]string{"code": "That code does not match, or it was used or is over a day old. Start the program again for a new one."})
}

// MayReturn checks the code and the form before a file is taken in. It uses
// nothing up.
func (a *Accounts) MayReturn(ctx context.Context, door Door, f Return) error {
	if err := problem.Form(f.Problems()); err != nil {
		return err
	}
	if err := a.mayTryFrom(ctx, door, byFirstCode); err != nil {
		return err
	}
	open, err := a.Store.FirstCodeOpen(ctx, hashCode(f.Code), a.Now())
	if err != nil {
		return err
	}
	if !open {
		return a.wrong(ctx, door, byFirstCode, errFirstCode())
	}
	return nil
}

// Return uses the code up and gives the owner of the gym that is just brought in
// a password. It happens in the transaction that the gym comes with: refused, no
// gym comes. Call MayReturn first; into gets who the owner is.
func (a *Accounts) Return(ctx context.Context, f Return, into *uuid.UUID) (func(tx *store.Tx) error, error) {
	hash, err := a.Hasher.Hash(ctx, f.Password)
	if err != nil {
		return nil, err
	}
	return func(tx *store.Tx) error {
		ok, err := tx.UseFirstCode(ctx, hashCode(f.Code), a.Now())
		if err != nil {
			return err
		}
		if !ok {
			return errFirstCode()
		}
		var people []gym.Staff
		if err := tx.Read(ctx, store.StaffList(&people)); err != nil {
			return err
		}
		for _, p := range people {
			if p.Role == gym.Owner && p.SignInName == FoldSignIn(f.SignInName) {
				*into = p.PersonID
				return tx.SetPassword(ctx, p.PersonID, hash)
			}
		}
		return problem.Form(map[string]string{"sign_in": "No owner in this file signs in by that name. Type the name that you signed in by when the file was made."})
	}, nil
}
