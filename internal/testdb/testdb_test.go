package testdb_test

import (
	"os"
	"testing"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// ask runs one statement that returns one value.
func ask[T any](t *testing.T, address, statement string) T {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	var value T
	if err := conn.QueryRow(t.Context(), statement).Scan(&value); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	return value
}

func TestNewIsMigratedAndEmpty(t *testing.T) {
	db := testdb.New(t)
	if n := ask[int](t, db.OwnerURL, "SELECT count(*) FROM gym"); n != 0 {
		t.Errorf("a fresh database has %d gyms", n)
	}
	if user := ask[string](t, db.AppURL, "SELECT current_user::text"); user != store.AppRole {
		t.Errorf("the app signs in as %s", user)
	}
	const powers = "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user"
	if ask[bool](t, db.AppURL, powers) {
		t.Error("row-level security does not bind the app role")
	}
}

func TestEachTestHasItsOwn(t *testing.T) {
	one, other := testdb.New(t), testdb.New(t)
	ask[int](t, one.OwnerURL, `WITH added AS (INSERT INTO gym (gym_id, name, time_zone, created_at)
		VALUES ('01890000-0000-7000-8000-000000000001', 'Hall', 'UTC', now()) RETURNING 1) SELECT count(*) FROM added`)
	if n := ask[int](t, other.OwnerURL, "SELECT count(*) FROM gym"); n != 0 {
		t.Errorf("the other database sees %d gyms", n)
	}
}

func TestDatabasesSortAlike(t *testing.T) {
	db := testdb.New(t)
	const settings = "SELECT datcollate || ' ' || pg_encoding_to_char(encoding) FROM pg_database WHERE datname = current_database()"
	if got := ask[string](t, db.OwnerURL, settings); got != "C.UTF-8 UTF8" && got != "C UTF8" {
		t.Errorf("order and encoding are %s", got)
	}
}

func TestServerIsTheOneAskedFor(t *testing.T) {
	db := testdb.New(t)
	config, err := pgx.ParseConfig(db.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	overNetwork := config.Host[0] != '/'
	if kind := os.Getenv("ROPEWALK_TEST_SERVER"); kind != "" && overNetwork != (kind == "container") {
		t.Errorf("asked for a %s server, got the one at %s", kind, config.Host)
	}
}

func BenchmarkNew(b *testing.B) {
	testdb.New(b) // starts the server and makes the template
	for b.Loop() {
		testdb.New(b)
	}
}
