// Package account decides who somebody is and what they may do: the first owner,
// staff by name, password and second factor, athletes by class code and PIN or by
// a card, guardians by what they agreed to; how people are invited and come back,
// how many wrong tries are borne, and the table of rights. It uses the store; it
// knows no HTTP.
package account

import (
	"context"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/store"
)

// Accounts answers sign-ins. All fields but Clock are required.
type Accounts struct {
	Store  *store.Store
	Hasher *Hasher
	Now    func() time.Time
	Clock  func() time.Time // the world's, by which phones compute codes; nil: this machine's
}

func newID() uuid.UUID { return uuid.Must(uuid.NewV7()) }

// note adds one line to the gym's log.
func (a *Accounts) note(ctx context.Context, gymID, by uuid.UUID, action, subject string, id uuid.UUID) error {
	return a.Store.Write(ctx, gymID, func(tx *store.Tx) error { return tx.Note(ctx, newID(), a.Now(), by, action, subject, id) })
}
