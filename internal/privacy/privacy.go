// Package privacy keeps the promises made to the people whose data a gym has:
// it forgets whom somebody asks to forget, and what has become old, it shows
// health notes to few and writes down each look, and it sees to it that
// guardians learn of pain and incidents. It uses the store; it knows no HTTP.
package privacy

import (
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/store"
)

// Privacy holds what its verbs need. Tombstones may be empty: then what was
// erased is not remembered outside the database.
type Privacy struct {
	Store      *store.Store
	Now        func() time.Time
	Tombstones string // file that outlives the database, see Reapply
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }
