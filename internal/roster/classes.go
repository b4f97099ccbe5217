package roster

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Roster keeps classes and who is in them. All fields are required.
type Roster struct {
	Store  *store.Store
	Hasher *account.Hasher
	Now    func() time.Time
}

// NewClass is what a new class needs.
type NewClass struct {
	Name     string
	Weekday  int           // ISO: 1 is Monday
	StartsAt time.Duration // since midnight on the gym's clock; negative: not given
	Minutes  int
}

// Problems returns a message per field that needs mending.
func (c NewClass) Problems() map[string]string {
	problems := map[string]string{}
	if fault := classNameFault(c.Name); fault != "" {
		problems["name"] = fault
	}
	if c.Weekday < 1 || c.Weekday > 7 {
		problems["weekday"] = "Choose the day of the week."
	}
	if c.StartsAt < 0 || c.StartsAt >= 24*time.Hour {
		problems["starts_at"] = "Type when the class starts, like 17:00."
	}
	if c.Minutes < 10 || c.Minutes > 240 {
		problems["minutes"] = "Minutes must be a whole number from 10 to 240."
	}
	return problems
}

// codeSigns makes a class code: 31⁶ are enough to be guessed by nobody, and it
// opens nothing without a PIN.
const codeSigns = 6

// AddClass makes a class under id with one weekly time and a fresh code, and
// returns the id. The same id again is the same class.
func (ro *Roster) AddClass(ctx context.Context, who gym.Who, id uuid.UUID, c NewClass) (uuid.UUID, error) {
	if err := problem.Form(c.Problems()); err != nil {
		return uuid.Nil, err
	}
	var there gym.Class
	if err := ro.Store.Read(ctx, who.GymID, store.Class(id, &there)); err == nil {
		return id, nil // the form was sent twice
	} else if problem.KindOf(err) != problem.NotFound {
		return uuid.Nil, err
	}
	now := ro.Now()
	name := clean(c.Name)
	class := gym.Class{ClassID: id, Name: name, Code: account.NewCode(codeSigns), CreatedAt: now}
	err := ro.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddClass(ctx, class, NameKey(name), account.FoldCode(class.Code)); err != nil {
			return err
		}
		if err := tx.SetClassTimes(ctx, id, []gym.ClassTime{{ClassID: id, Weekday: c.Weekday, StartsAt: c.StartsAt, Minutes: c.Minutes}}); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "made a class", "class", id)
	})
	if problem.KindOf(err) == problem.Conflict {
		return uuid.Nil, problem.Form(map[string]string{"name": problem.MessageOf(err)})
	}
	if err != nil {
		return uuid.Nil, fmt.Errorf("class %q: %w", name, err)
	}
	return id, nil
}
