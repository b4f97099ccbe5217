package faults

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/url"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/localpg"
)

// given starts a database server that is not the program's own.
func given(t *testing.T) *localpg.Cluster {
	t.Helper()
	c, err := localpg.Start(t.Context(), localpg.Options{Dir: t.TempDir(), Throwaway: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Stop() }) // it logs what went wrong
	return c
}

// do runs statements as the superuser, one by one.
func do(t *testing.T, address string, statements ...string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for _, sql := range statements {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatalf("%s: %v", sql, err)
		}
	}
}

// shape is a fingerprint of every table, column, key, index, policy and right.
func shape(t *testing.T, address string) string {
	t.Helper()
	return ask[string](&hall{t: t, address: address}, `
		WITH own AS (SELECT oid FROM pg_namespace WHERE nspname IN ('public', 'river')),
		lines AS (
			SELECT 'column ' || attrelid::regclass || '.' || attname || ' ' || format_type(atttypid, atttypmod) || coalesce(attacl::text, '') AS line
			FROM pg_attribute a JOIN pg_class c ON c.oid = attrelid
			WHERE relnamespace IN (SELECT oid FROM own) AND attnum > 0 AND NOT attisdropped
			UNION ALL SELECT 'key ' || conrelid::regclass || pg_get_constraintdef(oid) FROM pg_constraint WHERE connamespace IN (SELECT oid FROM own)
			UNION ALL SELECT 'policy ' || polrelid::regclass || polname || coalesce(pg_get_expr(polqual, polrelid), '') FROM pg_policy
			UNION ALL SELECT 'table ' || oid::regclass || coalesce(relacl::text, '') FROM pg_class WHERE relnamespace IN (SELECT oid FROM own)
			UNION ALL SELECT 'version ' || version || dirty FROM schema_migrations)
		SELECT md5(string_agg(line, E'\n' ORDER BY line)) FROM lines`)
}

// Several programs meet an empty database at once; one brings the schema.
func TestProgramsStartTogether(t *testing.T) {
	address := given(t).URL("postgres")
	const programs = 4
	all := make([]*program, programs)
	for i := range all {
		all[i] = begin(t, "DATABASE_URL="+address, "ROPEWALK_DATA="+t.TempDir())
	}
	began := time.Now()
	for _, p := range all {
		p.waitAddress()
		p.ready()
	}
	version := ask[int](&hall{t: t, address: address}, `SELECT version::int FROM schema_migrations WHERE NOT dirty`)
	t.Logf("%d programs on an empty database: all ready after %.2f s, schema %d", programs, time.Since(began).Seconds(), version)
}

// slow makes each change of the schema take a while, so that a kill hits one.
const slow = `
	CREATE FUNCTION public.dawdle() RETURNS event_trigger LANGUAGE plpgsql AS $$ BEGIN PERFORM pg_sleep(0.02); END $$;
	CREATE EVENT TRIGGER dawdle ON ddl_command_end EXECUTE FUNCTION public.dawdle()`

// The program is killed while it migrates, and again while it repairs that; the
// next start finishes the work. The database goes on with the broken-off
// migration for a while: it learns late that nobody listens.
func TestMigrationKilledHalfWay(t *testing.T) {
	server := given(t)
	do(t, server.URL("postgres"), "CREATE DATABASE whole")
	settings := func(name string) []string {
		return []string{"DATABASE_URL=" + server.URL(name), "ROPEWALK_DATA=" + t.TempDir()}
	}
	migrate(t, settings("whole")...)
	want := shape(t, server.URL("whole"))
	random := rand.New(rand.NewPCG(5, 6))
	for i := range kills {
		name := fmt.Sprint("killed", i)
		do(t, server.URL("postgres"), "CREATE DATABASE "+name)
		do(t, server.URL(name), slow)
		var at []string
		for range 2 {
			p := begin(t, settings(name)...)
			at = append(at, p.killAfter(server.URL(name), time.Duration(300+random.IntN(2500))*time.Millisecond))
		}
		do(t, server.URL(name), "DROP EVENT TRIGGER dawdle", "DROP FUNCTION public.dawdle()")
		began := time.Now()
		migrate(t, settings(name)...)
		if got := shape(t, server.URL(name)); got != want {
			t.Errorf("after kills at versions %v the schema is another one", at)
		}
		t.Logf("migrating was killed at versions %s; the next start finished it in %.2f s", strings.Join(at, " and "), time.Since(began).Seconds())
	}
}

// migrate runs the command to its end.
func migrate(t *testing.T, settings ...string) {
	t.Helper()
	if out, err := call(t, []string{"migrate"}, settings...).CombinedOutput(); err != nil {
		t.Fatalf("migrate: %v: %s", err, out)
	}
}

// killAfter kills a program that migrates and tells where it was.
func (p *program) killAfter(address string, pause time.Duration) string {
	p.t.Helper()
	select {
	case <-p.ended:
		p.t.Fatalf("it ended before it was killed: %s", p.said)
	case <-time.After(pause):
	}
	p.kill()
	there := &hall{t: p.t, address: address}
	if !ask[bool](there, `SELECT to_regclass('schema_migrations') IS NOT NULL`) {
		return "none"
	}
	return ask[string](there, `SELECT coalesce((SELECT version || CASE WHEN dirty THEN ' (dirty)' ELSE '' END FROM schema_migrations), 'none')`)
}

// What cannot work is said in one sentence that tells what to do, and the
// program ends at once.
func TestOneClearSentence(t *testing.T) {
	server := given(t)
	good, err := url.Parse(server.URL("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	wrong := *good
	wrong.User = url.UserPassword("postgres", "guess")
	do(t, server.URL("postgres"), "CREATE DATABASE newer")
	migrate(t, "DATABASE_URL="+server.URL("newer"), "ROPEWALK_DATA="+t.TempDir())
	do(t, server.URL("newer"), "UPDATE schema_migrations SET version = 99999")

	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	_, port, err := net.SplitHostPort(taken.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	sealed := sealedFolder(t)
	held := t.TempDir()
	serve(t, "ROPEWALK_DATA="+held)

	for _, test := range []struct {
		name     string
		settings []string
		says     string
	}{
		{"port taken", []string{"PORT=" + port, "DATABASE_URL=" + server.URL("postgres")}, "Port " + port + " cannot be opened; another program may have it."},
		{"wrong password", []string{"DATABASE_URL=" + wrong.String()}, "refused the name or the password"},
		{"no database there", []string{"DATABASE_URL=postgres://a:b@127.0.0.1:1/x"}, "does not answer"},
		{"no such database", []string{"DATABASE_URL=" + server.URL("nowhere")}, "There is no database"},
		{"newer schema", []string{"DATABASE_URL=" + server.URL("newer")}, "Start the newer program."},
		{"sealed folder", []string{"ROPEWALK_DATA=" + sealed}, "Choose another one with ROPEWALK_DATA."},
		{"folder in use", []string{"ROPEWALK_DATA=" + held}, "is in use by another ropewalk"},
		{"slip of the pen", []string{"ROPEWALK_TSL=own"}, "ROPEWALK_TSL is not a setting."},
	} {
		t.Run(test.name, func(t *testing.T) {
			settings := append([]string{"PORT=0", "ROPEWALK_DATA=" + t.TempDir()}, test.settings...)
			cmd := call(t, []string{"serve"}, settings...)
			var said lines
			cmd.Stderr = &said
			began := time.Now()
			err := cmd.Run()
			if cmd.ProcessState.ExitCode() != 1 {
				t.Errorf("it ended with %v", err)
			}
			text := said.String()
			var sentences []string
			for line := range strings.Lines(text) {
				if !strings.HasPrefix(line, "{") { // not the log
					sentences = append(sentences, strings.TrimSpace(line))
				}
			}
			if len(sentences) == 0 || !strings.Contains(sentences[0], test.says) || len(sentences) > 2 {
				t.Errorf("it says %q, want %q", sentences, test.says)
			}
			if strings.Contains(text, "goroutine ") || strings.Contains(text, "guess") {
				t.Errorf("it says too much: %s", text)
			}
			t.Logf("after %.2f s: %s", time.Since(began).Seconds(), strings.Join(sentences, " / "))
		})
	}
}

// sealedFolder returns a folder that the program may not write to. Root may
// write anywhere, so there it is a file.
func sealedFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir() + "/sealed"
	if os.Geteuid() == 0 {
		mountReadOnly(t, dir)
		return dir
	}
	if err := os.Mkdir(dir, 0o500); err != nil {
		t.Fatal(err)
	}
	return dir
}

func mountReadOnly(t *testing.T, dir string) {
	t.Helper()
	mountMemory(t, dir, "size=1m", syscall.MS_RDONLY)
}

// mountMemory mounts a small disk in memory on dir, for root.
func mountMemory(t *testing.T, dir, options string, flags uintptr) {
	t.Helper()
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mount("ropewalk-test", dir, "tmpfs", flags, options); err != nil {
		t.Fatalf("mounting a small disk: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
}
