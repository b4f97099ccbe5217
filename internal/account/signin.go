package account

import (
	"context"
	"strings"
	"time"

	"github.com/google/uuid"
	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// wrongSignIn is one answer for an unknown name and a wrong password alike.
var wrongSignIn = problem.New(problem.Invalid, "That name and password do not match. Check both and try again.")

// browserLife is how long a browser is remembered in which somebody came in.
const browserLife = 180 * 24 * time.Hour

// FoldSignIn returns the form under which a sign-in name is kept and compared.
func FoldSignIn(name string) string {
	return cases.Fold().String(norm.NFKC.String(strings.TrimSpace(name)))
}

// SignIn returns the person and her memberships, or a problem: wrong name or
// password (one sentence for both), too many tries, or no gym. Who has a second
// factor is not in yet: ProveFactor.
func (a *Accounts) SignIn(ctx context.Context, door Door, name, password string) (gym.Person, []gym.Membership, error) {
	folded := FoldSignIn(name)
	person, _, err := a.Store.PersonBySignIn(ctx, folded)
	if err != nil {
		return gym.Person{}, nil, err
	}
	if err := a.matches(ctx, door, folded, person, password, wrongSignIn); err != nil {
		return gym.Person{}, nil, err
	}
	memberships, err := a.Store.MembershipsOf(ctx, person.PersonID)
	if err != nil {
		return gym.Person{}, nil, err
	}
	if len(memberships) == 0 {
		return gym.Person{}, nil, problem.New(problem.Forbidden, "You belong to no gym at the moment. Ask the owner of your gym to let you in again.")
	}
	return person, memberships, nil
}

// matches returns answer unless password is the person's. It takes its time for
// nobody, too, and counts the tries at the name, and those from the address
// unless the browser knows the person.
func (a *Accounts) matches(ctx context.Context, door Door, folded string, person gym.Person, password string, answer error) error {
	known, err := a.knows(ctx, door, person.PersonID)
	if err != nil {
		return err
	}
	home := ""
	if known {
		home = door.Browser
	} else if err := a.mayTryFrom(ctx, door, byPassword); err != nil {
		return err
	}
	subject := subjectAt("password", folded, home)
	if err := a.try(ctx, subject); err != nil {
		return err
	}
	matches, err := a.Hasher.Matches(ctx, password, person.PasswordHash)
	if err != nil {
		return err
	}
	if !matches {
		return a.wrong(ctx, door, byPassword, answer)
	}
	if a.Hasher.Outdated(person.PasswordHash) {
		hash, err := a.Hasher.Hash(ctx, password)
		if err != nil {
			return err
		}
		if err := a.Store.SetPassword(ctx, person.PersonID, hash); err != nil {
			return err
		}
	}
	return a.Store.ForgetTries(ctx, subject)
}

// knows reports whether the person came in before in the door's browser.
func (a *Accounts) knows(ctx context.Context, door Door, person uuid.UUID) (bool, error) {
	if door.Browser == "" || person == uuid.Nil {
		return false, nil
	}
	return a.Store.BrowserKnows(ctx, person, door.Browser)
}

// KnowBrowser remembers that the person came in here and returns the token that
// the browser keeps; "" if it has one that does.
func (a *Accounts) KnowBrowser(ctx context.Context, door Door, person uuid.UUID) (token string, err error) {
	known, err := a.knows(ctx, door, person)
	if err != nil || known {
		return "", err
	}
	token, _ = newSecret()
	return token, a.Store.KnowBrowser(ctx, person, token, time.Now().Add(browserLife)) // the real clock, like the cookie
}
