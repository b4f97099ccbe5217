package store_test

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// now is every test's clock: noon of a Wednesday.
var now = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

var today = time.Date(2026, time.November, 4, 0, 0, 0, 0, time.UTC)

// A base is one test's database: the store under test as the app's role, and a
// connection of the schema's owner, whom no policy binds, to look from outside.
type base struct {
	*store.Store
	t     *testing.T
	urls  testdb.DB
	owner *pgx.Conn
}

func open(t *testing.T, tune ...func(*pgxpool.Config)) *base {
	t.Helper()
	db := testdb.New(t)
	at := store.Addresses{Main: db.AppURL}
	if strings.HasPrefix(t.Name(), behindPooler) {
		at = store.Addresses{Main: testdb.Pooled(t, db), Direct: db.AppURL}
	}
	st, err := store.OpenAt(t.Context(), at, tune...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	owner, err := pgx.Connect(t.Context(), db.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = owner.Close(context.WithoutCancel(t.Context())) })
	return &base{Store: st, t: t, urls: db, owner: owner}
}

// app returns a raw connection of the app's role, on which no gym is named.
func (b *base) app() *pgx.Conn {
	b.t.Helper()
	conn, err := pgx.Connect(b.t.Context(), b.urls.AppURL)
	if err != nil {
		b.t.Fatal(err)
	}
	b.t.Cleanup(func() { _ = conn.Close(context.WithoutCancel(b.t.Context())) })
	return conn
}

// write runs do in a gym and ends the test if it does not succeed.
func (b *base) write(gymID uuid.UUID, do func(tx *store.Tx) error) {
	b.t.Helper()
	if err := b.Write(b.t.Context(), gymID, do); err != nil {
		b.t.Fatal(err)
	}
}

// read runs readings in a gym and ends the test if one does not succeed.
func (b *base) read(gymID uuid.UUID, readings ...store.Reading) {
	b.t.Helper()
	if err := b.Read(b.t.Context(), gymID, readings...); err != nil {
		b.t.Fatal(err)
	}
}

type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// list returns the one column of a query.
func list[T any](t *testing.T, on querier, sql string, args ...any) []T {
	t.Helper()
	rows, _ := on.Query(t.Context(), sql, args...) // the collector reports Query's error
	values, err := pgx.CollectRows(rows, pgx.RowTo[T])
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return values
}

// ask returns the one value of a query.
func ask[T any](t *testing.T, on querier, sql string, args ...any) T {
	t.Helper()
	values := list[T](t, on, sql, args...)
	if len(values) != 1 {
		t.Fatalf("%s: %d rows, want 1", sql, len(values))
	}
	return values[0]
}

// gymTables are the tables that belong to gyms: all but the global ones.
func (b *base) gymTables() []string {
	b.t.Helper()
	return list[string](b.t, b.owner, `
		SELECT relname::text FROM pg_class
		WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') AND relname <> ALL ($1)
		ORDER BY relname`, globalTables)
}

// globalTables belong to no gym. Each says why.
var globalTables = []string{
	"person",            // may work in several gyms
	"sign_in",           // looked up by a token, before anybody is known
	"wrong_try",         // counted before anybody is known
	"first_code",        // opens an install without a gym
	"class_code",        // leads to the gym
	"card_secret",       // leads to the gym
	"link_secret",       // leads to the gym
	"second_factor",     // of a person
	"recovery_code",     // of a person
	"known_browser",     // looked up by a token, before anybody is known
	"way_back",          // looked up by a code, before anybody is known
	"invitation_code",   // leads to the gym
	"backup",            // holds every gym
	"schema_migrations", // of the program
}

func asJSON(t *testing.T, v any) string {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
