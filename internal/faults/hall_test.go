package faults

import (
	"context"
	"encoding/json"
	"net/url"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/server"
	"ropewalk.example/internal/store"
)

// A hall is a gym in a database, seen by its owner from outside the program.
type hall struct {
	t        *testing.T
	address  string // of the database, for its superuser
	store    *store.Store
	gym      uuid.UUID
	class    uuid.UUID
	athletes []uuid.UUID
	person   uuid.UUID // the coach
	coach    string    // the coach's cookie
}

// fill makes a gym with a class of n in the database at address.
func fill(t *testing.T, address string, n int) *hall {
	t.Helper()
	ctx, now := t.Context(), time.Now()
	h := &hall{t: t, address: address, gym: newID(), person: newID()}
	h.openStore()

	class, day := newID(), gym.DayIn(now, time.UTC)
	h.class = class
	var athletes []store.NewAthlete
	for range n {
		id := newID()
		h.athletes = append(h.athletes, id)
		athletes = append(athletes, store.NewAthlete{Athlete: gym.Athlete{AthleteID: id, Name: "Athlete " + id.String(), SortName: id.String(), BirthYear: 1990, StartedOn: day}, NameKey: id.String()})
	}
	err := h.store.Write(ctx, h.gym, func(tx *store.Tx) error {
		if err := tx.AddGym(ctx, gym.Gym{Name: "Hall", TimeZone: "Europe/London", AdultAge: 16, CreatedAt: now}); err != nil {
			return err
		}
		if err := tx.AddPerson(ctx, gym.Person{PersonID: h.person, SignInName: h.person.String() + "@hall.example", Name: "Mara", Lang: "en", PasswordHash: "none", CreatedAt: now}); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: h.person, Role: gym.Coach, Since: now}); err != nil {
			return err
		}
		if err := tx.AddClass(ctx, gym.Class{ClassID: class, Name: "Starters", Code: class.String()[30:], CreatedAt: now}, class.String(), class.String()); err != nil {
			return err
		}
		if _, _, err := tx.AddAthletes(ctx, athletes, now); err != nil {
			return err
		}
		_, err := tx.Enrol(ctx, class, h.athletes, day)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	h.coach = h.signIn(map[string]string{"role": string(gym.Coach), "name": "Mara", "person": h.person.String()})
	return h
}

// openStore opens the hall's database as the app does.
func (h *hall) openStore() {
	h.t.Helper()
	parsed, err := url.Parse(h.address)
	if err != nil {
		h.t.Fatal(err)
	}
	query := parsed.Query()
	query.Set("role", store.AppRole)
	parsed.RawQuery = query.Encode()
	if h.store, err = store.Open(h.t.Context(), parsed.String()); err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(h.store.Close)
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// signIn keeps a sign-in and returns its cookie.
func (h *hall) signIn(values map[string]string) string {
	h.t.Helper()
	sessions := server.NewSignIns(h.store, false)
	ctx, err := sessions.Load(h.t.Context(), "")
	if err != nil {
		h.t.Fatal(err)
	}
	sessions.Put(ctx, "gym", h.gym.String())
	sessions.Put(ctx, "gym_name", "Hall")
	for key, value := range values {
		sessions.Put(ctx, key, value)
	}
	token, _, err := sessions.Commit(ctx)
	if err != nil {
		h.t.Fatal(err)
	}
	return sessions.Cookie.Name + "=" + token
}

// ask runs one statement as the database's superuser.
func ask[T any](h *hall, sql string, args ...any) T {
	h.t.Helper()
	ctx := context.Background() // also while a test is cleaned up
	conn, err := pgx.Connect(ctx, h.address)
	if err != nil {
		h.t.Fatal(err)
	}
	defer conn.Close(ctx)
	var value T
	if err := conn.QueryRow(ctx, sql, args...).Scan(&value); err != nil {
		h.t.Fatalf("%s: %v", sql, err)
	}
	return value
}

// resultForm is the form by which a coach records a test.
func resultForm(id uuid.UUID, rotations string) url.Values {
	return url.Values{"id": {id.String()}, "test": {"base 60"}, "rotations": {rotations}, "catches": {"0"}, "step": {"bounce"},
		"rope": {"beaded"}, "surface": {"wood"}, "counted_by": {"partner"}}
}

// entry is a test as a phone keeps it, made at a time of the phone's clock.
func entry(id uuid.UUID, rotations int, at time.Time) json.RawMessage {
	text, err := json.Marshal(map[string]any{"id": id, "kind": "result", "at": at,
		"body": map[string]any{"protocol": "base", "seconds": 60, "rotations": rotations, "catches": 0, "step": "bounce", "rope": "beaded",
			"surface": "wood", "counted_by": "self", "timing": "hand", "adult": true}})
	if err != nil {
		panic(err) // cannot be, of these types
	}
	return text
}
