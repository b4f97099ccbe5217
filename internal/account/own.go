package account

import (
	"context"

	"github.com/google/uuid"

	"ropewalk.example/internal/problem"
)

// wrongAgain is the answer to a wrong password of somebody who is signed in.
var wrongAgain = problem.Form(map[string]string{"password": "That is not your password. Type it once more."})

// Again asks somebody who is signed in for the password once more, before what
// changes how people come in. Its tries count like those at the door.
func (a *Accounts) Again(ctx context.Context, door Door, person uuid.UUID, password string) error {
	p, err := a.Store.Person(ctx, person)
	if err != nil {
		return err
	}
	return a.matches(ctx, door, p.SignInName, p, password, wrongAgain)
}

// NewPassword is what the form for another password asks.
type NewPassword struct{ Old, New string }

// ChangePassword replaces the own password and ends every other sign-in; the
// one with the token stays.
func (a *Accounts) ChangePassword(ctx context.Context, door Door, person uuid.UUID, form NewPassword, token string) error {
	p, err := a.Store.Person(ctx, person)
	if err != nil {
		return err
	}
	if message := PasswordProblem(form.New, p.Name, p.SignInName); message != "" {
		return problem.Form(map[string]string{"new_password": message})
	}
	if err := a.Again(ctx, door, person, form.Old); err != nil {
		return err
	}
	if err := a.setPassword(ctx, person, form.New); err != nil {
		return err
	}
	if err := a.Store.EndOtherSignIns(ctx, person, token); err != nil {
		return err
	}
	return a.noteEverywhere(ctx, person, changedPassword)
}

// setPassword replaces a password; browsers that knew the person are forgotten.
func (a *Accounts) setPassword(ctx context.Context, person uuid.UUID, password string) error {
	hash, err := a.Hasher.Hash(ctx, password)
	if err != nil {
		return err
	}
	if err := a.Store.SetPassword(ctx, person, hash); err != nil {
		return err
	}
	return a.Store.ForgetBrowsers(ctx, person)
}
