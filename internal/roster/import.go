package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// Imported says what an import did.
type Imported struct {
	Added    int // athletes new to the gym
	Enrolled int // athletes new to the class
	Known    int // in the class already
}

// Import adds what a roster file brings to the gym and to the class, all or
// none. A row that may be somebody here already is taken for that person,
// unless others holds its line: then it is another person.
func (ro *Roster) Import(ctx context.Context, who gym.Who, class uuid.UUID, matches []Match, others map[int]bool, day time.Time) (Imported, error) {
	var known []uuid.UUID // per person; uuid.Nil stands for the next of rows
	var rows []Row
	for _, m := range matches {
		here := m.Verdict == Same || m.Verdict == Ask && !others[m.Row.Line]
		switch {
		case !here:
			known, rows = append(known, uuid.Nil), append(rows, m.Row)
		case m.Known.ID != uuid.Nil: // else the person stands on an earlier line
			known = append(known, m.Known.ID)
		}
	}
	athletes, err := ro.newAthletes(ctx, rows)
	if err != nil {
		return Imported{}, err
	}
	now := ro.Now()
	var done Imported
	err = ro.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Class
		if err := tx.Read(ctx, store.Class(class, &there)); err != nil {
			return err
		}
		fresh, added, err := tx.AddAthletes(ctx, athletes, now)
		if err != nil {
			return err
		}
		ids := inOrder(known, fresh)
		enrolled, err := tx.Enrol(ctx, class, ids, day)
		if err != nil {
			return err
		}
		done = Imported{Added: added, Enrolled: enrolled, Known: len(ids) - enrolled}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "brought in names", "class", class)
	})
	if err != nil {
		return Imported{}, fmt.Errorf("importing %d athletes: %w", len(matches), err)
	}
	return done, nil
}

// inOrder fills the gaps of known with the fresh ids, each id once.
func inOrder(known, fresh []uuid.UUID) []uuid.UUID {
	seen := map[uuid.UUID]bool{}
	var ids []uuid.UUID
	for _, id := range known {
		if id == uuid.Nil {
			id, fresh = fresh[0], fresh[1:]
		}
		if !seen[id] {
			seen[id] = true
			ids = append(ids, id)
		}
	}
	return ids
}

// newAthletes gives the rows ids and hashes of the PINs that the file brings.
func (ro *Roster) newAthletes(ctx context.Context, rows []Row) ([]store.NewAthlete, error) {
	athletes := make([]store.NewAthlete, len(rows))
	for i, row := range rows {
		athletes[i] = store.NewAthlete{
			Athlete: gym.Athlete{AthleteID: uuid.Must(uuid.NewV7()), Name: row.Name, SortName: row.SortName, Lang: row.Lang, BirthYear: row.BirthYear},
			NameKey: NameKey(row.Name),
		}
		if row.PIN == "" {
			continue
		}
		hash, err := ro.Hasher.HashPIN(ctx, row.PIN)
		if err != nil {
			return nil, err
		}
		athletes[i].PINHash = hash
	}
	return athletes, nil
}
