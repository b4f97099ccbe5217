package store_test

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// A pair is a database and a streaming replica that reads may go to.
type pair struct {
	*base
	primary, replica *testdb.Machine
}

func openPair(t *testing.T) *pair {
	t.Helper()
	primary := testdb.StartMachine(t)
	p := &pair{primary: primary}
	p.base = &base{t: t, urls: testdb.DB{OwnerURL: primary.OwnerURL("postgres"), AppURL: primary.URL(store.AppRole, "app", "postgres")}}
	if err := store.EnsureRoles(t.Context(), p.urls.OwnerURL, "app"); err != nil {
		t.Fatal(err)
	}
	if err := store.Migrate(t.Context(), p.urls.OwnerURL); err != nil {
		t.Fatal(err)
	}
	p.replica = primary.Copy("copy")
	p.Store = p.at(p.replica.URL(store.AppRole, "app", "postgres"))
	owner, err := pgx.Connect(t.Context(), p.urls.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	p.owner = owner
	p.fill()
	return p
}

// at opens the database with a replica at an address.
func (p *pair) at(replica string) *store.Store {
	p.t.Helper()
	st, err := store.OpenAt(p.t.Context(), store.Addresses{Main: p.urls.AppURL, Replica: replica})
	if err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(st.Close)
	return st
}

// notes counts what a gym shows of Ana, and says whether a replica told it.
func (p *pair) notes(st *store.Store, gymID uuid.UUID) (results int, byReplica bool) {
	p.t.Helper()
	var history []gym.Result
	err := st.Read(store.ByReplica(p.t.Context()), gymID, store.ResultHistory(ana, time.Time{}, &history), func(batch *pgx.Batch) {
		batch.Queue(`SELECT pg_is_in_recovery()`).QueryRow(func(row pgx.Row) error { return row.Scan(&byReplica) })
	})
	if err != nil {
		p.t.Fatal(err)
	}
	return len(history), byReplica
}

func (p *pair) add(number byte) {
	p.t.Helper()
	p.write(gymA, func(tx *store.Tx) error {
		_, err := tx.AddResult(p.t.Context(), resultOf(ana, id(number), 50))
		return err
	})
}

// replicaDoes runs a statement on the replica as its superuser.
func (p *pair) replicaDoes(sql string) {
	p.t.Helper()
	conn, err := pgx.Connect(p.t.Context(), p.replica.OwnerURL("postgres"))
	if err != nil {
		p.t.Fatal(err)
	}
	defer conn.Close(p.t.Context())
	if _, err := conn.Exec(p.t.Context(), sql); err != nil {
		p.t.Fatal(err)
	}
}

// A replica takes reads over, and nobody notices: what was saved is seen at
// once, however far the replica is behind, and when it is gone.
func TestAReplicaAnswersWhatItHas(t *testing.T) {
	p := openPair(t)
	before, byReplica := p.notes(p.Store, gymA)
	if !byReplica || before == 0 {
		t.Fatalf("%d results, by the replica: %t; want some, by the replica", before, byReplica)
	}
	if results, byReplica := p.notes(p.Store, gymB); results != 0 || !byReplica {
		t.Errorf("the replica shows gym B %d results of gym A (by the replica: %t)", results, byReplica)
	}
	seen := 0
	for n := range byte(50) {
		p.add(100 + n)
		results, byReplica := p.notes(p.Store, gymA)
		if results != before+int(n)+1 {
			t.Fatalf("after %d more results %d are seen, %d were there before", n+1, results, before)
		}
		if byReplica {
			seen++
		}
	}
	if seen == 0 {
		t.Error("the replica answered nothing right after a write")
	}

	var history []gym.Result
	var elsewhere bool
	p.read(gymA, store.ResultHistory(ana, time.Time{}, &history), func(batch *pgx.Batch) {
		batch.Queue(`SELECT pg_is_in_recovery()`).QueryRow(func(row pgx.Row) error { return row.Scan(&elsewhere) })
	})
	if elsewhere {
		t.Error("a read that did not ask for it went to the replica")
	}

	// A replica that lags.
	p.replicaDoes(`SELECT pg_wal_replay_pause()`)
	p.add(200)
	if results, byReplica := p.notes(p.Store, gymA); results != before+51 || byReplica {
		t.Errorf("a replica that stands still: %d results, by the replica: %t; want %d by the database", results, byReplica, before+51)
	}
	p.replicaDoes(`SELECT pg_wal_replay_resume()`)

	// One through a role that sees every gym: it is never asked.
	if results, byReplica := p.notes(p.at(p.replica.OwnerURL("postgres")), gymB); results != 0 || byReplica {
		t.Errorf("a replica without walls: gym B has %d results, by the replica: %t", results, byReplica)
	}
	if results, byReplica := p.notes(p.at("postgres://ropewalk_app@127.0.0.1:1/postgres"), gymA); results != before+51 || byReplica {
		t.Errorf("a replica that is away: %d results, by the replica: %t", results, byReplica)
	}

	// One that was promoted goes its own way: what it has no longer counts.
	fresh := p.at(p.replica.URL(store.AppRole, "app", "postgres"))
	if _, byReplica := p.notes(fresh, gymA); !byReplica {
		t.Error("the replica does not answer again")
	}
	p.replica.Promote()
	p.add(201)
	if results, byReplica := p.notes(fresh, gymA); results != before+52 || byReplica {
		t.Errorf("a replica that was promoted: %d results, by the replica: %t; want %d by the database", results, byReplica, before+52)
	}
}
