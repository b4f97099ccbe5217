package store_test

import (
	"io/fs"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/golang-migrate/migrate/v4"
	_ "github.com/golang-migrate/migrate/v4/database/pgx/v5" // the driver that addresses beginning with pgx5 name
	"github.com/golang-migrate/migrate/v4/source/iofs"

	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/migrations"
)

// steps runs n migrations of the database, backwards if n is negative.
func (b *base) steps(n int) {
	b.t.Helper()
	source, err := iofs.New(migrations.FS, ".")
	if err != nil {
		b.t.Fatal(err)
	}
	m, err := migrate.NewWithSourceInstance("iofs", source, "pgx5"+strings.TrimPrefix(b.urls.OwnerURL, "postgres"))
	if err != nil {
		b.t.Fatal(err)
	}
	defer m.Close()
	if err := m.Steps(n); err != nil {
		b.t.Fatalf("%d migrations: %v", n, err)
	}
}

func countMigrations(t *testing.T) int {
	t.Helper()
	up, err := fs.Glob(migrations.FS, "*.up.sql")
	if err != nil {
		t.Fatal(err)
	}
	down, err := fs.Glob(migrations.FS, "*.down.sql")
	if err != nil {
		t.Fatal(err)
	}
	if len(up) == 0 || len(up) != len(down) {
		t.Fatalf("%d migrations lead up, %d down", len(up), len(down))
	}
	return len(up)
}

// shape lists every column, key, policy and grant of the schema.
func (b *base) shape() []string {
	b.t.Helper()
	return list[string](b.t, b.owner, `
		SELECT 'column ' || attrelid::regclass || '.' || attname || ' ' || format_type(atttypid, atttypmod) || ' ' || attnotnull || ' ' || coalesce(attacl::text, '')
		FROM pg_attribute WHERE attrelid IN (SELECT oid FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r') AND attnum > 0 AND NOT attisdropped
		UNION ALL SELECT 'key ' || conrelid::regclass || ' ' || pg_get_constraintdef(oid) FROM pg_constraint WHERE connamespace = 'public'::regnamespace
		UNION ALL SELECT 'index ' || pg_get_indexdef(indexrelid) FROM pg_index WHERE indrelid IN (SELECT oid FROM pg_class WHERE relnamespace = 'public'::regnamespace)
		UNION ALL SELECT 'policy ' || polrelid::regclass || ' ' || polname || ' ' || pg_get_expr(polqual, polrelid) FROM pg_policy
		UNION ALL SELECT 'table ' || relname || ' ' || coalesce(relacl::text, '') FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'
		UNION ALL SELECT 'function ' || proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace
		ORDER BY 1`)
}

func TestMigrationsLeadUpDownAndUpAgain(t *testing.T) {
	b := open(t)
	before := b.shape()
	for range countMigrations(t) {
		b.steps(-1)
	}
	if left := b.shape(); slices.ContainsFunc(left, func(line string) bool { return !strings.Contains(line, "schema_migrations") }) {
		t.Errorf("after leading all migrations down there is still: %s", strings.Join(left, "\n"))
	}
	if err := store.Migrate(t.Context(), b.urls.OwnerURL); err != nil {
		t.Fatal(err)
	}
	if after := b.shape(); !slices.Equal(before, after) {
		t.Errorf("up, down and up again is another schema:\n%s", difference(before, after))
	}
	if err := b.Ping(t.Context()); err != nil {
		t.Error(err)
	}
}

// difference lists the lines that only one of two lists has.
func difference(before, after []string) string {
	var lines []string
	for _, line := range before {
		if !slices.Contains(after, line) {
			lines = append(lines, "- "+line)
		}
	}
	for _, line := range after {
		if !slices.Contains(before, line) {
			lines = append(lines, "+ "+line)
		}
	}
	return strings.Join(lines, "\n")
}

func TestReplicasTakeTurnsToMigrate(t *testing.T) {
	b := open(t)
	b.steps(-countMigrations(t))
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			if err := store.EnsureRoles(t.Context(), b.urls.OwnerURL, ""); err != nil {
				t.Error(err)
			}
			if err := store.Migrate(t.Context(), b.urls.OwnerURL); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if err := b.Ping(t.Context()); err != nil {
		t.Error(err)
	}
}

func TestABrokenOffMigrationIsRepeated(t *testing.T) {
	for _, test := range []struct {
		name string
		back int // how many migrations are not done yet
	}{
		{"the newest", 1},
		{"the first", countMigrations(t)},
	} {
		t.Run(test.name, func(t *testing.T) {
			b := open(t)
			done := list[int](t, b.owner, `SELECT version::int FROM schema_migrations`)[0]
			b.steps(-test.back)
			if test.back > 1 {
				done = 1
			}
			// What golang-migrate leaves when the program dies in the middle.
			b.ownerDoes(`DELETE FROM schema_migrations`)
			b.ownerDoes(`INSERT INTO schema_migrations (version, dirty) VALUES ($1, true)`, done)
			if err := b.Ping(t.Context()); err == nil {
				t.Error("Ping is content with a broken-off migration")
			}
			if n, err := store.BrokenOff(t.Context(), b.urls.OwnerURL); err != nil || n != done {
				t.Errorf("BrokenOff = %d, %v; want %d", n, err, done)
			}
			if err := store.Migrate(t.Context(), b.urls.OwnerURL); err != nil {
				t.Fatal(err)
			}
			if err := b.Ping(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
}

func TestANewerSchemaIsLeftAlone(t *testing.T) {
	b := open(t)
	b.ownerDoes(`UPDATE schema_migrations SET version = 9999`)
	err := store.Migrate(t.Context(), b.urls.OwnerURL)
	if problem.KindOf(err) != problem.Conflict || !strings.Contains(problem.MessageOf(err), "Start the newer program.") {
		t.Errorf("Migrate = %v, want a sentence that says to start the newer program", err)
	}
	if version := ask[int](t, b.owner, `SELECT version::int FROM schema_migrations`); version != 9999 {
		t.Errorf("the version was changed to %d", version)
	}
	if err := b.Ping(t.Context()); err == nil {
		t.Error("Ping is content with a newer schema")
	}
}

func TestMigrateIsRepeatable(t *testing.T) {
	b := open(t)
	b.fill()
	for range 2 {
		if err := store.Migrate(t.Context(), b.urls.OwnerURL); err != nil {
			t.Fatal(err)
		}
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM athlete`); n != 2 {
		t.Errorf("%d athletes after migrating again, want 2", n)
	}
}
