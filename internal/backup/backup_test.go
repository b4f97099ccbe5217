package backup

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

var now = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

// A machine is a data folder with a database server.
type machine struct {
	*Backups
	t *testing.T
}

// newMachine starts one with an empty database.
func newMachine(t *testing.T) *machine {
	t.Helper()
	dir := t.TempDir()
	cluster, err := localpg.Start(t.Context(), localpg.Options{Dir: filepath.Join(dir, "postgres"), Throwaway: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := cluster.Stop(); err != nil {
			t.Error(err)
		}
	})
	programs := cluster.Programs()
	return &machine{t: t, Backups: &Backups{Dir: filepath.Join(dir, "backups"), DataDir: dir, OwnerURL: cluster.URL("postgres"), Programs: &programs,
		Keep: Keep{Days: 30, Least: 3}, Program: "test", Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now }}}
}

// do runs statements as the database's owner.
func (m *machine) do(statements ...string) {
	m.t.Helper()
	conn, err := pgx.Connect(m.t.Context(), m.OwnerURL)
	if err != nil {
		m.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for _, sql := range statements {
		if _, err := conn.Exec(m.t.Context(), sql); err != nil {
			m.t.Fatalf("%s: %v", sql, err)
		}
	}
}

func (m *machine) ask(sql string) string {
	m.t.Helper()
	conn, err := pgx.Connect(m.t.Context(), m.OwnerURL)
	if err != nil {
		m.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	var answer string
	if err := conn.QueryRow(m.t.Context(), sql).Scan(&answer); err != nil {
		m.t.Fatalf("%s: %v", sql, err)
	}
	return answer
}

func (m *machine) census() store.Census {
	m.t.Helper()
	var found store.Census
	err := store.TakeCensus(m.t.Context(), m.OwnerURL, func(c store.Census, _, _ string) error { found = c; return nil })
	if err != nil {
		m.t.Fatal(err)
	}
	return found
}

// migrate makes the schema.
func (m *machine) migrate() {
	m.t.Helper()
	if err := errors.Join(store.EnsureRoles(m.t.Context(), m.OwnerURL, ""), store.Migrate(m.t.Context(), m.OwnerURL)); err != nil {
		m.t.Fatal(err)
	}
}

// fill makes the schema and a gym with athletes, and files beside it.
func (m *machine) fill() {
	m.t.Helper()
	m.migrate()
	m.do(`INSERT INTO gym (gym_id, name, time_zone, created_at) VALUES ('0a000000-0000-7000-8000-000000000000', 'Hall "ü"', 'Europe/London', '2026-11-01T10:00:00.123456Z')`,
		`INSERT INTO person (person_id, sign_in_name, name, password_hash, created_at)
		 VALUES ('01000000-0000-7000-8000-000000000000', 'mara@hall.example', 'Mara', 'none', now())`,
		`INSERT INTO membership (gym_id, person_id, role, since) SELECT gym_id, person_id, 'owner', now() FROM gym, person`,
		`INSERT INTO athlete (gym_id, athlete_id, name, sort_name, name_key, created_at)
		 SELECT gym_id, gen_random_uuid(), 'Athlete ' || n, n::text, n::text, now() FROM gym, generate_series(1, 500) AS n`,
		`INSERT INTO sign_in (token_hash, data, expires_at) VALUES ('\x01', '\x02', now() + interval '1 day')`)
	for name, text := range map[string]string{"certificate/authority.pem": "a certificate", Tombstones: "2026-11-01T00:00:00Z one\n"} {
		m.put(name, text)
	}
}

func (m *machine) put(name, text string) {
	m.t.Helper()
	path := filepath.Join(m.DataDir, name)
	if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, []byte(text), 0o600)); err != nil {
		m.t.Fatal(err)
	}
}

func (m *machine) file(name string) string {
	m.t.Helper()
	text, err := os.ReadFile(filepath.Join(m.DataDir, name))
	if err != nil {
		m.t.Fatal(err)
	}
	return string(text)
}

// made makes a backup and returns its path.
func (m *machine) made() (string, gym.Backup) {
	m.t.Helper()
	done, err := m.Make(m.t.Context())
	if err != nil {
		m.t.Fatal(err)
	}
	return filepath.Join(m.Dir, done.File), done
}

// vacant reports whether nothing is in the database.
func (m *machine) vacant() bool {
	m.t.Helper()
	vacant, err := store.Vacant(m.t.Context(), m.OwnerURL)
	if err != nil {
		m.t.Fatal(err)
	}
	return vacant
}

func keysOf(t *testing.T, text string) Keys {
	t.Helper()
	keys, err := ReadKeys(text)
	if err != nil {
		t.Fatal(err)
	}
	return keys
}

// says fails the test unless err is a problem with the sentence.
func says(t *testing.T, err error, sentence string) {
	t.Helper()
	if err == nil || !strings.Contains(problem.MessageOf(err), sentence) {
		t.Errorf("it says %v, want %q", err, sentence)
	}
}
