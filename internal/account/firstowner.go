package account

import (
	"context"
	"strings"
	"time"
	"unicode/utf8"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// firstCodeLife is how long the code of an empty install opens it.
const firstCodeLife = 24 * time.Hour

// NewFirstCode returns a fresh one-time code if nobody has an account yet, and
// "" otherwise. Older codes stop working.
func (a *Accounts) NewFirstCode(ctx context.Context) (string, error) {
	empty, err := a.Store.Empty(ctx)
	if err != nil || !empty {
		return "", err
	}
	code := NewCode(16) // 79 bits
	now := a.Now()
	if err := a.Store.ReplaceFirstCode(ctx, hashCode(code), now, now.Add(firstCodeLife)); err != nil {
		return "", err
	}
	return code[:4] + "-" + code[4:8] + "-" + code[8:12] + "-" + code[12:], nil
}

// FirstOwner is what the first page of an empty install asks for.
type FirstOwner struct {
	Code, GymName, TimeZone, Name, SignInName, Password string
	ConsentAge                                          int // under which a guardian agrees first; 0: nobody is asked
}

// Problems returns a message per field that needs mending.
func (f FirstOwner) Problems() map[string]string {
	problems := map[string]string{}
	if strings.TrimSpace(f.Code) == "" {
		problems["code"] = "Type the one-time code that the program printed when it started."
	}
	if strings.TrimSpace(f.GymName) == "" {
		problems["gym"] = "Type the name of your gym."
	}
	if _, err := time.LoadLocation(f.TimeZone); err != nil || f.TimeZone == "" || f.TimeZone == "Local" {
		problems["zone"] = "Choose a time zone from the list, like Europe/London."
	}
	if strings.TrimSpace(f.Name) == "" {
		problems["name"] = "Type your name."
	}
	if message := SignInNameProblem(f.SignInName); message != "" {
		problems["sign_in"] = message
	}
	if message := PasswordProblem(f.Password, f.GymName, f.Name, f.SignInName); message != "" {
		problems["password"] = message
	}
	if f.ConsentAge < 0 || f.ConsentAge > 21 {
		problems["consent_age"] = "Choose an age from the list."
	}
	return problems
}

// SignInNameProblem says what is wrong with a sign-in name, "" if nothing is.
func SignInNameProblem(name string) string {
	folded := FoldSignIn(name)
	before, after, at := strings.Cut(folded, "@")
	if !at || before == "" || after == "" || strings.ContainsAny(folded, " \t\r\n") || utf8.RuneCountInString(folded) > 200 {
		return "Type a name shaped like an e-mail address, like coach@gym.example. No mail is sent to it."
	}
	return ""
}

// MakeFirstOwner spends the one-time code and makes the gym and its owner.
func (a *Accounts) MakeFirstOwner(ctx context.Context, door Door, f FirstOwner) (gym.Who, error) {
	if err := problem.Form(f.Problems()); err != nil {
		return gym.Who{}, err
	}
	if err := a.mayTryFrom(ctx, door, byFirstCode); err != nil {
		return gym.Who{}, err
	}
	who := gym.Who{GymID: newID(), PersonID: newID(), Role: gym.Owner, Name: strings.TrimSpace(f.Name)}
	hash, err := a.Hasher.Hash(ctx, f.Password)
	if err != nil {
		return gym.Who{}, err
	}
	now := a.Now()
	err = a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		ok, err := tx.UseFirstCode(ctx, hashCode(f.Code), now)
		if err != nil {
			return err
		}
		if !ok {
			return errFirstCode()
		}
		if err := tx.AddGym(ctx, gym.Gym{Name: strings.TrimSpace(f.GymName), TimeZone: f.TimeZone, AdultAge: 16, CreatedAt: now}); err != nil {
			return err
		}
		person := gym.Person{PersonID: who.PersonID, SignInName: FoldSignIn(f.SignInName), Name: who.Name, PasswordHash: hash, CreatedAt: now}
		if err := tx.SetConsentAge(ctx, f.ConsentAge); err != nil {
			return err
		}
		if err := tx.AddPerson(ctx, person); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: who.PersonID, Role: gym.Owner, Since: now}); err != nil {
			return err
		}
		if err := useShippedLadder(ctx, tx, now); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.PersonID, "made the gym", "gym", who.GymID)
	})
	if problem.KindOf(err) == problem.Invalid && problem.FieldsOf(err)["code"] != "" {
		return gym.Who{}, a.wrong(ctx, door, byFirstCode, err)
	}
	return who, err
}

// useShippedLadder gives a new gym the ladder that comes with the program, so
// that its first athletes have somewhere to stand.
func useShippedLadder(ctx context.Context, tx *store.Tx, at time.Time) error {
	kept, version, stages, err := standing.Shipped(newID(), at)
	if err != nil {
		return err
	}
	if err := tx.AddLadder(ctx, kept); err != nil {
		return err
	}
	return tx.AddLadderVersion(ctx, version, stages)
}
