package backup

import (
	"time"

	"ropewalk.example/internal/store"
)

// format numbers the layout of a backup's file.
const format = 1

// A Manifest says what a backup holds, so that it can be refused before
// anything is changed.
type Manifest struct {
	Format   int                `json:"format"`
	Program  string             `json:"program"`  // version that made it
	MadeAt   time.Time          `json:"made_at"`  // UTC
	Schema   int                `json:"schema"`   // newest migration in it
	Postgres int                `json:"postgres"` // major version of the server
	Tables   []store.TableCount `json:"tables"`
}

func (m *Manifest) count(c store.Census) {
	m.Schema, m.Postgres, m.Tables = c.Schema, c.Postgres, c.Tables
}

// Census returns what the database held.
func (m Manifest) Census() store.Census {
	return store.Census{Schema: m.Schema, Postgres: m.Postgres, Tables: m.Tables}
}
