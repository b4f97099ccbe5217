package leading

import (
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A CheckIn says who is away from a meeting of a class; everybody else is here.
type CheckIn struct {
	Class   uuid.UUID
	Day     time.Time // on the gym's calendar
	Starts  time.Time
	Minutes int
	Away    []uuid.UUID
}

// CheckIn opens the session of a meeting, or the one that is open already, and
// notes who is here. It returns the session's id.
func (lead *Leading) CheckIn(ctx context.Context, who gym.Who, c CheckIn) (uuid.UUID, error) {
	now := lead.Now()
	var session uuid.UUID
	err := lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var class gym.Class
		var athletes []gym.Athlete
		if err := tx.Read(ctx, store.Class(c.Class, &class), store.AthletesOf(c.Class, &athletes)); err != nil {
			return err
		}
		if len(athletes) == 0 {
			return problem.New(problem.Conflict, "This class has no athletes yet. Bring in names first.")
		}
		var err error
		session, err = tx.EnsureSession(ctx, gym.Session{SessionID: newID(), ClassID: c.Class, Day: c.Day, StartsAt: c.Starts, Minutes: c.Minutes})
		if err != nil {
			return err
		}
		if err := tx.OpenSession(ctx, session, now); err != nil {
			return err
		}
		ids, here := make([]uuid.UUID, len(athletes)), make([]bool, len(athletes))
		for i, athlete := range athletes {
			ids[i], here[i] = athlete.AthleteID, !slices.Contains(c.Away, athlete.AthleteID)
		}
		if err := tx.SetAttendance(ctx, session, ids, here, now, who.ID()); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "checked a class in", "session", session)
	})
	return session, err
}

// TakeBackCheckIn undoes a check-in from which nothing has come yet.
func (lead *Leading) TakeBackCheckIn(ctx context.Context, who gym.Who, session uuid.UUID) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Session
		if err := tx.Read(ctx, store.Session(session, &there)); err != nil {
			return err
		}
		if err := tx.UnopenSession(ctx, session); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "took a check-in back", "session", session)
	})
}

// SetHere notes that one athlete is here or away after all.
func (lead *Leading) SetHere(ctx context.Context, who gym.Who, session, athlete uuid.UUID, here bool) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Session
		var known gym.Athlete
		if err := tx.Read(ctx, store.Session(session, &there), store.Athlete(athlete, &known)); err != nil {
			return err
		}
		return tx.SetAttendance(ctx, session, []uuid.UUID{athlete}, []bool{here}, lead.Now(), who.ID())
	})
}

// HereOf returns who is here, by id; an athlete without a word is taken to be
// here, as check-in does.
func HereOf(athletes []gym.Athlete, noted []store.Attendance) map[uuid.UUID]bool {
	here := make(map[uuid.UUID]bool, len(athletes))
	for _, athlete := range athletes {
		here[athlete.AthleteID] = true
	}
	for _, a := range noted {
		if _, inClass := here[a.AthleteID]; inClass {
			here[a.AthleteID] = a.Here
		}
	}
	return here
}
