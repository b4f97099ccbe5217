// Package coaching is the coach's verbs: plan a class, hear how a session
// went, hold and release for pain, set the gym's rules. It loads with few
// queries, lets the pure packages compute, and keeps what they answer. It uses
// the store, packages measuring and deciding, and the pure packages; it knows no
// HTTP.
package coaching

import (
	"runtime"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/errgroup"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// Coaching holds what its verbs need. All fields but Planned are required.
type Coaching struct {
	Store   *store.Store
	Now     func() time.Time
	Planned func(plans int, took time.Duration) // hears how long the plans of a class took to compose

	shelf standing.Shelf // of ladders in use
}

// each does something with each of n, as many at once as there are processors.
func each(n int, do func(i int) error) error {
	var all errgroup.Group
	all.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		all.Go(func() error { return do(i) })
	}
	return all.Wait()
}

// Lookback is how far back plans, sets and debriefs are read: enough for two
// sessions running, a month's contacts and a long absence.
const Lookback = 120 * 24 * time.Hour

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// days returns whole days from a to b, both midnight UTC.
func days(a, b time.Time) int { return int(b.Sub(a).Hours() / 24) }

// Facts are what is known of one athlete when a plan is made. The record's plans
// stand newest first, one a day, its results and debriefs newest first.
type Facts struct {
	Athlete gym.Athlete
	Stage   *ladder.Stage // nil where nobody has decided
	Odds    []deciding.Odds
	Record  finding.Record
	Holds   []gym.Hold // newest first
}
