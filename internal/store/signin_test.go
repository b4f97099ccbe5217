package store_test

import (
	"errors"
	"strings"
	"sync"
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
	if err := owners.CommitCtx(ctx, "of-mara, anew", []byte("mara's"), in); err != nil {
		t.Fatal(err)
	}
	if err := owners.DeleteCtx(ctx, "of-mara, anew"); err != nil {
		t.Fatal(err)
	}
	find("of-mara, anew", "")
	if kept := ask[int](t, b.owner, `SELECT count(*) FROM sign_in WHERE ended_at IS NOT NULL AND (length(data) > 0 OR person_id IS NOT NULL)`); kept != 0 {
		t.Errorf("%d ended sign-ins still say whose they were", kept)
	}
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

func TestTriesAreCountedInTurn(t *testing.T) {
	b := open(t)
	ctx := t.Context()
	var all sync.WaitGroup
	for range 8 { // at once: none may be lost
		all.Go(func() {
			err := b.Try(ctx, "door", now, func(tries store.Tries) (store.Tries, error) {
				return store.Tries{Count: tries.Count + 1, BlockedTo: now.Add(time.Minute)}, nil
			})
			if err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if n, err := b.TryCount(ctx, "door"); err != nil || n != 8 {
		t.Errorf("%d tries are counted, %v; want 8", n, err)
	}
	refused := errors.New("blocked")
	err := b.Try(ctx, "door", now, func(tries store.Tries) (store.Tries, error) {
		if tries.Count != 8 || !tries.BlockedTo.Equal(now.Add(time.Minute)) {
			t.Errorf("tries are %+v", tries)
		}
		return store.Tries{Count: 99}, refused
	})
	if n, _ := b.TryCount(ctx, "door"); !errors.Is(err, refused) || n != 8 {
		t.Errorf("a refused try is counted: %d, %v", n, err)
	}
	if err := b.ForgetTries(ctx, "door"); err != nil {
		t.Fatal(err)
	}
	if n, err := b.TryCount(ctx, "door"); err != nil || n != 0 {
		t.Errorf("after a right try %d are counted, %v", n, err)
	}
}

// Who may still come in is looked at each time, whatever the sign-in says.
func TestSignInsEndWithTheRight(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	ended := func(what string, owner store.Owner, undo string, args ...any) {
		t.Helper()
		signIns := b.SignIns(func([]byte) store.Owner { return owner })
		if err := signIns.CommitCtx(ctx, what, []byte("data"), time.Now().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
		if _, found, err := signIns.FindCtx(ctx, what); err != nil || !found {
			t.Errorf("%s: not signed in before: %v", what, err)
		}
		b.ownerDoes(undo, args...)
		if _, found, err := signIns.FindCtx(ctx, what); err != nil || found {
			t.Errorf("%s: still signed in, %v", what, err)
		}
		if err := signIns.CommitCtx(ctx, what, []byte("late"), time.Now().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
		if _, found, err := signIns.FindCtx(ctx, what); err != nil || found {
			t.Errorf("%s: a late write brought the sign-in back, %v", what, err)
		}
	}
	guardian, device := id(60), id(61)
	b.ownerDoes(`INSERT INTO guardian (gym_id, guardian_id, athlete_id, name, added_at, added_by) VALUES ($1, $2, $3, 'Dora', now(), $4)`, gymA, guardian, ana, person)
	b.ownerDoes(`INSERT INTO device (gym_id, device_id, athlete_id, let_in_at, last_seen_at) VALUES ($1, $2, $3, now(), now())`, gymA, device, ana)
	ended("guardian removed", store.Owner{Gym: gymA, Person: guardian, Role: gym.Guardian}, `UPDATE guardian SET removed_at = now() WHERE guardian_id = $1`, guardian)
	ended("phone cut off", store.Owner{Gym: gymA, Athlete: ana, Device: device, Role: gym.Jumper}, `UPDATE device SET cut_off_at = now() WHERE device_id = $1`, device)
	ended("athlete archived", store.Owner{Gym: gymA, Athlete: ana, Role: gym.Jumper}, `UPDATE athlete SET archived_at = now() WHERE athlete_id = $1`, ana)
	ended("unused too long", store.Owner{Gym: gymA, Person: person, Role: gym.Owner, Idle: time.Hour}, `UPDATE sign_in SET seen_at = now() - interval '61 minutes'`)
	ended("time over", store.Owner{Gym: gymA, Person: person, Role: gym.Owner}, `UPDATE sign_in SET expires_at = now() - interval '1 second', ended_at = now()`)
	ended("role changed", store.Owner{Gym: gymA, Person: person, Role: gym.Owner}, `UPDATE membership SET role = 'coach'`)
	ended("work ended", store.Owner{Gym: gymA, Person: person, Role: gym.Coach}, `UPDATE membership SET until = now()`)
}

// Use keeps a sign-in alive, to five minutes.
func TestSignInsAreKeptAliveByUse(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	signIns := b.SignIns(func([]byte) store.Owner {
		return store.Owner{Gym: gymA, Person: person, Role: gym.Owner, Label: "Firefox on Linux", Idle: time.Hour}
	})
	for _, token := range []string{"this", "other"} {
		if err := signIns.CommitCtx(ctx, token, []byte("data"), time.Now().Add(time.Hour)); err != nil {
			t.Fatal(err)
		}
	}
	b.ownerDoes(`UPDATE sign_in SET seen_at = now() - interval '50 minutes'`)
	if _, found, err := signIns.FindCtx(ctx, "this"); err != nil || !found {
		t.Fatalf("found %t, %v", found, err)
	}
	if fresh := ask[int](t, b.owner, `SELECT count(*) FROM sign_in WHERE seen_at > now() - interval '1 minute'`); fresh != 1 {
		t.Errorf("%d sign-ins were used just now, want 1", fresh)
	}
	list, err := b.SignInsOf(ctx, person, "this")
	if err != nil || len(list) != 2 || !list[0].This || list[1].This || list[0].Label != "Firefox on Linux" {
		t.Fatalf("SignInsOf = %+v, %v", list, err)
	}
	if err := b.EndSignIn(ctx, uuid.New(), list[1].SignInID); err != nil { // somebody else's
		t.Fatal(err)
	}
	if list, _ := b.SignInsOf(ctx, person, "this"); len(list) != 2 {
		t.Error("one person ended another's sign-in")
	}
	if err := b.EndSignIn(ctx, person, list[1].SignInID); err != nil {
		t.Fatal(err)
	}
	if list, _ := b.SignInsOf(ctx, person, "this"); len(list) != 1 {
		t.Errorf("%d sign-ins after one ended, want 1", len(list))
	}
	if err := b.EndOtherSignIns(ctx, person, "this"); err != nil {
		t.Fatal(err)
	}
	if _, found, _ := signIns.FindCtx(ctx, "this"); !found {
		t.Error("ending the others ended this one")
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
