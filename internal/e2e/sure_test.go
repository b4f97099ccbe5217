package e2e

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// unsure returns a tab where the owner of a gym is asked for the password once more.
func unsure(t *testing.T) *tab {
	t.Helper()
	g := newPhoneGym(t)
	hash, err := g.server.Accounts.Hasher.Hash(g.Context(), "ropes on a rack")
	if err != nil {
		t.Fatal(err)
	}
	person := gym.Person{PersonID: uuid.Must(uuid.NewV7()), SignInName: "edda@corvane.example", Name: "Edda Fairweather", PasswordHash: hash, CreatedAt: time.Now()}
	g.write(func(ctx context.Context, tx *store.Tx) error {
		if err := tx.AddPerson(ctx, person); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: person.PersonID, Role: gym.Owner, Since: person.CreatedAt}); err != nil {
			return err
		}
		return tx.PostponeSecondFactor(ctx, true)
	})
	b := newTab(t, &program{address: g.address}, 320, 568)
	b.open("/sign-in?next=/people")
	b.fill("name", person.SignInName)
	b.fill("password", "ropes on a rack")
	b.press("Sign in")
	// As if the password had been typed an hour ago.
	const long = `UPDATE sign_in SET data = convert_to(regexp_replace(convert_from(data, 'UTF8'), '"proved":"[^"]*"', '"proved":"2026-01-01T00:00:00Z"'), 'UTF8')`
	if _, err := g.owner.Exec(g.Context(), long); err != nil {
		t.Fatal(err)
	}
	b.send("/people/invitations", map[string]string{"name": "Ida Rowe"})
	b.says("Is it you?")
	return b
}

// The page that asks for the password once more is as accessible as all others,
// at first and after a wrong one.
func TestAskingOnceMore(t *testing.T) {
	b := unsure(t)
	b.state("is it you")
	b.send("/people/invitations", map[string]string{"own_password": "not it"})
	b.says("That is not your password.")
	b.state("not you")
	b.send("/people/invitations", map[string]string{"own_password": "ropes on a rack"})
	b.says("Ida Rowe")
}
