package store_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

func TestPersonBySignIn(t *testing.T) {
	b := open(t)
	if empty, err := b.Empty(t.Context()); err != nil || !empty {
		t.Errorf("a fresh install is empty: %t, %v", empty, err)
	}
	b.fill()
	if empty, err := b.Empty(t.Context()); err != nil || empty {
		t.Errorf("with a person it is not: %t, %v", empty, err)
	}
	p, found, err := b.PersonBySignIn(t.Context(), "mara@hall.example")
	if err != nil || !found {
		t.Fatalf("found %t, %v", found, err)
	}
	same(t, "person", p, gym.Person{PersonID: person, SignInName: "mara@hall.example", Name: "Mara", Lang: "en", PasswordHash: "hash", CreatedAt: now})
	if _, found, err := b.PersonBySignIn(t.Context(), "nobody@hall.example"); err != nil || found {
		t.Errorf("nobody: found %t, %v", found, err)
	}
	if err := b.SetPassword(t.Context(), person, "newer"); err != nil {
		t.Fatal(err)
	}
	if p, _, err := b.PersonBySignIn(t.Context(), "mara@hall.example"); err != nil || p.PasswordHash != "newer" {
		t.Errorf("the password is %q, %v", p.PasswordHash, err)
	}
}

// One person may work in several gyms, and sees her own memberships in all of
// them before she has entered one.
func TestMembershipsOf(t *testing.T) {
	b := open(t)
	b.fill()
	b.write(gymB, func(tx *store.Tx) error {
		if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall B", TimeZone: "UTC", CreatedAt: now}); err != nil {
			return err
		}
		other := gym.Person{PersonID: id(30), SignInName: "jo@hall.example", Name: "Jo", PasswordHash: "hash", CreatedAt: now}
		if err := tx.AddPerson(t.Context(), other); err != nil {
			return err
		}
		if err := tx.AddMembership(t.Context(), gym.Membership{PersonID: other.PersonID, Role: gym.Owner, Since: now}); err != nil {
			return err
		}
		return tx.AddMembership(t.Context(), gym.Membership{PersonID: person, Role: gym.Coach, Since: now})
	})
	memberships, err := b.MembershipsOf(t.Context(), person)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "memberships", memberships, []gym.Membership{{GymID: gymA, PersonID: person, Role: gym.Owner, Since: now}, {GymID: gymB, PersonID: person, Role: gym.Coach, Since: now}})
	b.ownerDoes(`UPDATE membership SET until = now() WHERE gym_id = $1 AND person_id = $2`, gymA, person)
	if memberships, err := b.MembershipsOf(t.Context(), person); err != nil || len(memberships) != 1 {
		t.Errorf("memberships after one ended: %v, %v", memberships, err)
	}
	b.write(gymA, func(tx *store.Tx) error {
		return tx.AddMembership(t.Context(), gym.Membership{PersonID: person, Role: gym.Owner, Since: now})
	})
	if memberships, err := b.MembershipsOf(t.Context(), person); err != nil || len(memberships) != 2 {
		t.Errorf("memberships after coming back: %v, %v", memberships, err)
	}
}

func TestClassByCode(t *testing.T) {
	b := open(t)
	b.fill()
	gymID, classID, found, err := b.ClassByCode(t.Context(), "ABC234")
	if err != nil || !found || gymID != gymA || classID != class {
		t.Errorf("ClassByCode = %v, %v, %t, %v", gymID, classID, found, err)
	}
	if _, _, found, err := b.ClassByCode(t.Context(), "XYZ234"); err != nil || found {
		t.Errorf("an unknown code: found %t, %v", found, err)
	}
}

func TestSignInsKeepNoToken(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	owners := b.SignIns(func(data []byte) store.Owner {
		if string(data) == "ana's" {
			return store.Owner{Gym: gymA, Athlete: ana}
		}
		return store.Owner{Gym: gymA, Person: person}
	})
	in := time.Now().Add(time.Hour)
	for _, token := range []string{"of-mara", "of-ana", "of-the-past"} {
		data, expiry := "mara's", in
		if token == "of-ana" {
			data = "ana's"
		}
		if token == "of-the-past" {
			expiry = time.Now().Add(-time.Hour)
		}
		if err := owners.CommitCtx(ctx, token, []byte(data), expiry); err != nil {
			t.Fatal(err)
		}
	}
	if kept := ask[string](t, b.owner, `SELECT string_agg(to_jsonb(s)::text, ' ') FROM sign_in s`); strings.Contains(kept, "of-mara") {
		t.Errorf("the table holds the token itself: %s", kept)
	}
	find := func(token, want string) {
		t.Helper()
		data, found, err := owners.FindCtx(ctx, token)
		if err != nil || found != (want != "") || string(data) != want {
			t.Errorf("%s finds %q, %t, %v; want %q", token, data, found, err, want)
		}
	}
	find("of-mara", "mara's")
	find("of-ana", "ana's")
	find("of-the-past", "")
	find("of-nobody", "")
	if err := owners.CommitCtx(ctx, "of-mara", []byte("mara's, changed"), in); err != nil {
		t.Fatal(err)
	}
	find("of-mara", "mara's, changed")
	if err := b.Sweep(ctx); err != nil {
		t.Fatal(err)
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM sign_in`); n != 2 {
		t.Errorf("%d sign-ins after sweeping, want 2", n)
	}
	b.write(gymA, func(tx *store.Tx) error { return tx.SetPIN(ctx, ana, "new") })
	find("of-ana", "") // a new PIN ends what the old one opened
	if hash, err := b.PINHash(ctx, gymA, ana); err != nil || hash != "new" {
		t.Errorf("PINHash = %q, %v", hash, err)
	}
	if err := b.EndSignIns(ctx, person); err != nil {
		t.Fatal(err)
	}
	find("of-mara", "")
	if err := owners.CommitCtx(ctx, "of-mara", []byte("mara's"), in); err != nil {
		t.Fatal(err)
	}
	if err := owners.DeleteCtx(ctx, "of-mara"); err != nil {
		t.Fatal(err)
	}
	find("of-mara", "")
}

func TestPINHashOfNobody(t *testing.T) {
	b := open(t)
	b.fill()
	for what, athlete := range map[string]uuid.UUID{"without a PIN": ben, "unknown": uuid.New()} {
		if hash, err := b.PINHash(t.Context(), gymA, athlete); err != nil || hash != "" {
			t.Errorf("%s: %q, %v", what, hash, err)
		}
	}
	if hash, err := b.PINHash(t.Context(), gymB, ana); err != nil || hash != "" {
		t.Errorf("asked in another gym: %q, %v", hash, err)
	}
}

func TestWrongTries(t *testing.T) {
	b := open(t)
	ctx := t.Context()
	for want := 1; want <= 3; want++ {
		if n, err := b.AddWrongTry(ctx, "door", now, 24*time.Hour); err != nil || n != want {
			t.Errorf("try %d counts as %d, %v", want, n, err)
		}
	}
	if err := b.BlockTries(ctx, "door", now.Add(time.Minute)); err != nil {
		t.Fatal(err)
	}
	if tries, to, err := b.WrongTries(ctx, "door"); err != nil || tries != 3 || !to.Equal(now.Add(time.Minute)) {
		t.Errorf("WrongTries = %d, %v, %v", tries, to, err)
	}
	if n, err := b.AddWrongTry(ctx, "door", now.Add(25*time.Hour), 24*time.Hour); err != nil || n != 1 {
		t.Errorf("a day later a try counts as %d, %v; want 1", n, err)
	}
	if err := b.ForgetTries(ctx, "door"); err != nil {
		t.Fatal(err)
	}
	if tries, _, err := b.WrongTries(ctx, "door"); err != nil || tries != 0 {
		t.Errorf("after a right try %d are counted, %v", tries, err)
	}
}

func TestFirstCodeOpensOnce(t *testing.T) {
	b := open(t)
	ctx := t.Context()
	use := func(code string, at time.Time) bool {
		t.Helper()
		used := false
		b.write(gymA, func(tx *store.Tx) (err error) {
			used, err = tx.UseFirstCode(ctx, []byte(code), at)
			return err
		})
		return used
	}
	for _, code := range []string{"older", "newer"} {
		if err := b.ReplaceFirstCode(ctx, []byte(code), now, now.Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	if use("older", now) {
		t.Error("a code that was replaced opens")
	}
	if use("newer", now.Add(2*time.Hour)) {
		t.Error("an old code opens")
	}
	if !use("newer", now) {
		t.Error("the code does not open")
	}
	if use("newer", now) {
		t.Error("the code opens twice")
	}
}
