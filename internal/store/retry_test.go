package store_test

import (
	"bytes"
	"context"
	"io"
	"net"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// raise is a reading that ends in the database's error of a code.
func raise(code string) store.Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(`DO $$ BEGIN RAISE EXCEPTION 'on purpose' USING ERRCODE = '` + code + `'; END $$`)
	}
}

func TestWhatIsTriedAgain(t *testing.T) {
	b := open(t)
	for _, test := range []struct {
		name, code string
		tries      int
		kind       problem.Kind
	}{
		{"serialization failure", "40001", 4, problem.Unavailable},
		{"deadlock", "40P01", 4, problem.Unavailable},
		{"lock not had in time", "55P03", 4, problem.Unavailable},
		{"a server that only reads", "25006", 2, problem.Unavailable},
		{"statement too slow", "57014", 1, problem.Unavailable},
		{"disk full", "53100", 1, problem.Unavailable},
		{"disk broken", "58030", 1, problem.Unavailable},
		{"broken rule", "23505", 1, problem.Internal},
		{"wrong statement", "42601", 1, problem.Internal},
	} {
		t.Run(test.name, func(t *testing.T) {
			tries := 0
			err := b.Write(t.Context(), gymA, func(tx *store.Tx) error {
				tries++
				return tx.Read(t.Context(), raise(test.code))
			})
			if tries != test.tries || problem.KindOf(err) != test.kind {
				t.Errorf("%d tries, then %v; want %d and kind %d", tries, err, test.tries, test.kind)
			}
		})
	}
}

func TestARerunKeepsOnce(t *testing.T) {
	b := open(t)
	tries := 0
	b.write(gymA, func(tx *store.Tx) error {
		tries++
		if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall", TimeZone: "UTC", CreatedAt: now}); err != nil {
			return err
		}
		if tries == 1 {
			return tx.Read(t.Context(), raise("40001"))
		}
		return nil
	})
	if n := ask[int](t, b.owner, `SELECT count(*) FROM gym`); tries != 2 || n != 1 {
		t.Errorf("%d tries kept %d gyms", tries, n)
	}
}

// cutAll ends every connection of the app, as a stopping server does.
func (b *base) cutAll() {
	b.ownerDoes(`SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = $1 AND datname = current_database()`, store.AppRole)
}

func TestAConnectionLostBeforeTheCommitIsReplaced(t *testing.T) {
	b := open(t)
	b.fill()
	b.cutAll()
	var g gym.Gym
	b.read(gymA, store.TheGym(&g)) // its pooled connection is gone
	b.cutAll()
	tries := 0
	b.write(gymA, func(tx *store.Tx) error {
		if tries++; tries == 1 {
			b.cutAll()
		}
		_, err := tx.AddResult(t.Context(), resultOf(ana, id(200), 88))
		return err
	})
	if n := ask[int](t, b.owner, `SELECT count(*) FROM result WHERE result_id = $1`, id(200)); tries != 2 || n != 1 {
		t.Errorf("%d tries kept %d results", tries, n)
	}
}

// A deafConn swallows the answer to a commit once it is armed.
type deafConn struct {
	net.Conn
	armed, deaf *atomic.Bool
}

func (c deafConn) Write(p []byte) (int, error) {
	if c.armed.Load() && bytes.Contains(p, []byte("commit")) {
		c.armed.Store(false)
		c.deaf.Store(true)
	}
	return c.Conn.Write(p)
}

func (c deafConn) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	if c.deaf.Load() {
		return 0, io.EOF
	}
	return n, err
}

// The commit happened, its answer got lost: the writer hears that it is not
// sure, and the same write again changes nothing.
func TestALostAnswerToACommit(t *testing.T) {
	var armed atomic.Bool
	b := open(t, func(c *pgxpool.Config) {
		dial := c.ConnConfig.DialFunc
		c.ConnConfig.DialFunc = func(ctx context.Context, network, address string) (net.Conn, error) {
			conn, err := dial(ctx, network, address)
			return deafConn{conn, &armed, &atomic.Bool{}}, err
		}
	})
	b.fill()
	tries, added := 0, false
	write := func(tx *store.Tx) (err error) {
		tries++
		added, err = tx.AddResult(t.Context(), resultOf(ana, id(201), 88))
		return err
	}
	armed.Store(true)
	err := b.Write(t.Context(), gymA, write)
	if tries != 1 || problem.KindOf(err) != problem.Unavailable {
		t.Fatalf("%d tries, %v; want one that is Unavailable", tries, err)
	}
	b.write(gymA, write)
	if added {
		t.Error("the repeated write added another")
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM result WHERE result_id = $1`, id(201)); n != 1 {
		t.Errorf("%d results", n)
	}
}

func TestTheServerLimitsTheApp(t *testing.T) {
	b := open(t)
	app := b.app()
	for setting, limit := range store.Limits() {
		if got := ask[string](t, app, `SELECT current_setting($1)`, setting); got != limit {
			t.Errorf("%s is %s, want %s", setting, got, limit)
		}
	}
	current := func(into *string) store.Reading {
		return func(batch *pgx.Batch) {
			batch.Queue(`SELECT current_setting('statement_timeout')`).QueryRow(func(row pgx.Row) error { return row.Scan(into) })
		}
	}
	var read, written, after string
	if err := b.Read(store.Unhurried(t.Context()), gymA, current(&read)); err != nil {
		t.Fatal(err)
	}
	err := b.Write(store.Unhurried(t.Context()), gymA, func(tx *store.Tx) error { return tx.Read(t.Context(), current(&written)) })
	if err != nil {
		t.Fatal(err)
	}
	b.read(gymA, current(&after))
	if read != "0" || written != "0" || after != "5s" {
		t.Errorf("unhurried reads have %s, writes %s, and others then %s", read, written, after)
	}
}
