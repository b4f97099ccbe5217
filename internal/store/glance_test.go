package store_test

import (
	"errors"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// glance reads with a look at the rows, and returns their print.
func (b *base) glance(readings ...store.Reading) store.Print {
	b.t.Helper()
	var seen store.Print
	g := store.Glance{Known: func(p store.Print) bool { seen = p; return false }}
	if err := b.Read(store.Glancing(b.t.Context(), &g), gymA, readings...); err != nil {
		b.t.Fatal(err)
	}
	return seen
}

func TestPrintsTellRowsApart(t *testing.T) {
	b := open(t)
	b.fill()
	var athletes []gym.Athlete
	var results []gym.Result
	all := func() store.Print {
		return b.glance(store.Athletes(&athletes), store.ResultHistory(ana, time.Time{}, &results))
	}
	before := all()
	if all() != before {
		t.Error("the same rows have two prints")
	}
	if b.glance(store.ResultHistory(ana, time.Time{}, &results), store.Athletes(&athletes)) == before {
		t.Error("the same rows in another order have one print")
	}
	if b.glance(store.ResultHistory(ana, time.Time{}, &results)) == b.glance(store.ResultHistory(ben, time.Time{}, &results)) {
		t.Error("two athletes' rows have one print")
	}
	b.write(gymA, func(tx *store.Tx) error {
		_, err := tx.AddResult(t.Context(), resultOf(ana, id(199), 99))
		return err
	})
	if all() == before {
		t.Error("one row more has the same print")
	}
}

func TestWhatIsKnownIsNotReadAgain(t *testing.T) {
	b := open(t)
	b.fill()
	var athletes []gym.Athlete
	known := b.glance(store.Athletes(&athletes))
	athletes = nil
	g := store.Glance{Known: func(p store.Print) bool { return p == known }}
	ctx := store.Glancing(t.Context(), &g)
	if err := b.Read(ctx, gymA, store.Athletes(&athletes)); !errors.Is(err, store.ErrKnown) || athletes != nil || !g.Alone() {
		t.Errorf("known rows: %v, read %d athletes", err, len(athletes))
	}
	if err := b.Read(ctx, gymA, store.Athletes(&athletes)); err != nil || len(athletes) == 0 || g.Alone() {
		t.Errorf("the second reading of a page: %v, read %d athletes", err, len(athletes))
	}
}

func TestAGlanceFindsNothingWhereNothingIs(t *testing.T) {
	b := open(t)
	b.fill()
	g := store.Glance{Known: func(store.Print) bool { return false }}
	err := b.Read(store.Glancing(t.Context(), &g), gymA, store.Class(ana, &gym.Class{})) // an athlete is no class
	if problem.KindOf(err) != problem.NotFound {
		t.Errorf("a class that is not there: %v", err)
	}
}
