// Package deciding is the verbs around the ladder: load who stands where and
// what speaks for each gate, decide a stage, judge what a coach sees, note where
// ropes catch, set drills and tests, change the ladder itself, and lend ropes.
// It loads with few queries, lets the pure packages answer, and keeps what was
// decided. It uses the store and the pure packages; it knows no HTTP.
package deciding

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// Deciding holds what its verbs need. All fields are required.
type Deciding struct {
	Store *store.Store
	Now   func() time.Time

	Shelf *standing.Shelf // of ladders in use, where others use it too; nil: one of its own
	own   standing.Shelf
}

func (d *Deciding) shelf() *standing.Shelf {
	if d.Shelf != nil {
		return d.Shelf
	}
	return &d.own
}

// Lookback is how far back gates look at results: twice the most weeks that a
// clause may ask for, so that what expired is still known. Where a gate of the
// ladder in use takes results of any age, all are read.
const Lookback = 2 * 52 * 7 * 24 * time.Hour

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// orNew returns id, or a fresh one for the zero id.
func orNew(id uuid.UUID) uuid.UUID {
	if id == uuid.Nil {
		return newID()
	}
	return id
}

// dayOf returns the calendar day of a midnight UTC.
func dayOf(day time.Time) ladder.Day { return ladder.DayOf(day) }

// mayDecide reports whether the role has the coach's word.
func mayDecide(role gym.Role) bool { return role == gym.Coach || role == gym.Owner }
