package leading

import (
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
)

// OpenTest keeps a test that a class is about to do together. known is how many
// of the day's tests whoever opens it has seen: where somebody else has opened
// one like it since, that one is returned, so that two people type on one sheet.
// The same id again returns what is kept.
//
// The first of its kind in a class hour holds results since check-in, such as
// phones sent; on a day that is past, results since the class met.
func (lead *Leading) OpenTest(ctx context.Context, who gym.Who, t gym.ClassTest, known int) (gym.ClassTest, error) {
	if err := checkTest(t); err != nil {
		return gym.ClassTest{}, err
	}
	t.OpenedBy = who.ID()
	err := lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.LockCount(ctx, t.ClassID, t.ClassID); err != nil {
			return err
		}
		var day testDay
		if err := tx.Read(ctx, day.readings(t)...); err != nil {
			return err
		}
		for i, other := range day.tests {
			if other.ClassTestID == t.ClassTestID || i >= known && other.Like(t) {
				t = other
				return nil
			}
		}
		t.OpenedAt = day.openedAt(t, lead.Now())
		return tx.AddClassTest(ctx, t)
	})
	return t, err
}

// testDay is what the time of a class's test follows from.
type testDay struct {
	gym      gym.Gym
	class    gym.Class
	tests    []gym.ClassTest
	sessions []gym.Session
	year     calendar.Year
}

func (d *testDay) readings(t gym.ClassTest) []store.Reading {
	return append(YearReadings(t.Day, &d.year), store.TheGym(&d.gym), store.Class(t.ClassID, &d.class), store.ClassTests(t.ClassID, t.Day, &d.tests),
		store.Sessions(t.ClassID, t.Day.AddDate(0, 0, -14), t.Day.AddDate(0, 0, 14), &d.sessions))
}

// betweenTests keeps the tests of a day that is past apart.
const betweenTests = 30 * time.Minute

func (d *testDay) openedAt(t gym.ClassTest, now time.Time) time.Time {
	alike := 0
	for _, other := range d.tests {
		if other.Like(t) {
			alike++
		}
	}
	if t.Day.Before(d.gym.DayOf(now)) {
		d.year.Zone = d.gym.Zone()
		begins := time.Date(t.Day.Year(), t.Day.Month(), t.Day.Day(), 12, 0, 0, 0, d.gym.Zone())
		if m, meets, err := d.year.On(t.ClassID, t.Day); err == nil && meets {
			begins = m.Starts
		}
		return begins.Add(time.Duration(alike) * betweenTests)
	}
	for _, session := range d.sessions {
		if alike == 0 && session.SessionID == t.SessionID && session.OpenedAt != nil && d.gym.DayOf(*session.OpenedAt).Equal(t.Day) {
			return *session.OpenedAt
		}
	}
	return now
}

// checkTest lets the measuring look at the set-up, as if nothing was counted.
func checkTest(t gym.ClassTest) error {
	none, seconds := 0, t.Seconds
	if protocol, ok := rate.ProtocolOf(t.Protocol); !ok || protocol.Measured != rate.Rotations {
		return problem.Form(map[string]string{"test": "Choose a test from the list."})
	}
	return measuring.Check(gym.Result{Protocol: t.Protocol, Rotations: &none, Seconds: &seconds, Step: t.Step, RopeKind: t.RopeKind,
		Surface: t.Surface, CountedBy: t.CountedBy})
}

// A Count is one number of a class's test as somebody typed it.
type Count struct {
	Test   gym.ClassTest
	Result gym.Result // with the id that whoever typed it made
	Seen   uuid.UUID  // the count that stood on the sheet, uuid.Nil if none did
}

// Counted says what became of a Count.
type Counted struct {
	measuring.Answer
	Stands gym.Result  // what is kept now; the zero Result if nothing is
	Clash  *gym.Result // somebody else's count that stands; the typed one was not kept
}

// Count keeps a number of a class's test. Where nobody has counted this athlete
// yet, it is added; where the one who typed has seen what stands, it takes that
// one's place, which stays in the history; where somebody else was faster, the
// other count stands and is returned as a clash, for a person to decide. The
// same id again changes nothing.
func (lead *Leading) Count(ctx context.Context, who gym.Who, c Count) (Counted, error) {
	var counted Counted
	err := lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		counted = Counted{}
		if err := tx.LockCount(ctx, c.Test.ClassTestID, c.Result.AthleteID); err != nil {
			return err
		}
		var history []gym.Result
		if err := tx.Read(ctx, store.ResultsOf(c.Result.AthleteID, c.Result.Day.Add(-measuring.Lookback), &history)); err != nil {
			return err
		}
		standing := CountsOf(c.Test, history)
		if i := slices.IndexFunc(standing, func(r gym.Result) bool { return r.ResultID == c.Result.ResultID }); i >= 0 {
			counted.Stands = standing[i] // sent twice
			return nil
		}
		r := c.Result
		if len(standing) > 0 {
			last := standing[0]
			switch {
			case last.ResultID == c.Seen:
				r.Corrects = last.ResultID
			case sameCount(last, r):
				counted.Stands = last
				return nil
			default:
				counted.Stands, counted.Clash = last, &last
				return nil
			}
		}
		var err error
		counted.Answer, err = lead.Measuring.RecordIn(ctx, tx, who, r, history)
		if counted.Problem == nil {
			counted.Stands = r
			counted.Stands.KeptOdd = len(counted.Odd) > 0
		}
		return err
	})
	return counted, err
}

// sameCount reports whether two people came to the same number.
func sameCount(a, b gym.Result) bool {
	return a.Rotations != nil && b.Rotations != nil && *a.Rotations == *b.Rotations && (b.Catches == 0 || a.Catches == b.Catches)
}

// CountsOf returns those of an athlete's standing results that belong to a
// class's test, the one kept last first. More than one is a clash.
func CountsOf(t gym.ClassTest, results []gym.Result) []gym.Result {
	var found []gym.Result
	for _, r := range results {
		if t.Holds(r) {
			found = append(found, r)
		}
	}
	slices.SortStableFunc(found, func(a, b gym.Result) int {
		return cmp.Or(b.RecordedAt.Compare(a.RecordedAt), cmp.Compare(b.ResultID.String(), a.ResultID.String()))
	})
	return found
}

// Settle decides between several counts of one athlete in a class's test: keep
// stands, the others are taken back.
func (lead *Leading) Settle(ctx context.Context, who gym.Who, t gym.ClassTest, athlete, keep uuid.UUID) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.LockCount(ctx, t.ClassTestID, athlete); err != nil {
			return err
		}
		var history []gym.Result
		if err := tx.Read(ctx, store.ResultsOf(athlete, t.Day, &history)); err != nil {
			return err
		}
		standing := CountsOf(t, history)
		if !slices.ContainsFunc(standing, func(r gym.Result) bool { return r.ResultID == keep }) {
			return problem.New(problem.Conflict, "Somebody changed these counts before you. Look again, then choose.")
		}
		for _, r := range standing {
			if r.ResultID == keep {
				continue
			}
			if err := lead.takeBack(ctx, tx, who, r); err != nil {
				return err
			}
		}
		return nil
	})
}

// UndoWithin is how long the sheet offers to take a count back at once; after
// that the history page does.
const UndoWithin = 10 * time.Second

// Undo takes back a count that was just kept, and brings back the one that it
// took the place of. Taken back before, it changes nothing.
func (lead *Leading) Undo(ctx context.Context, who gym.Who, t gym.ClassTest, athlete, result uuid.UUID) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.LockCount(ctx, t.ClassTestID, athlete); err != nil {
			return err
		}
		var all []gym.Result
		if err := tx.Read(ctx, store.ResultHistory(athlete, t.Day.AddDate(0, 0, -1), &all)); err != nil {
			return err
		}
		i := slices.IndexFunc(all, func(r gym.Result) bool { return r.ResultID == result })
		if i < 0 {
			return problem.New(problem.NotFound, "There is no such result of this athlete.")
		}
		if slices.ContainsFunc(all, func(r gym.Result) bool { return r.Corrects == result }) {
			return nil
		}
		before := slices.IndexFunc(all, func(r gym.Result) bool { return all[i].Corrects != uuid.Nil && r.ResultID == all[i].Corrects })
		if before < 0 {
			return lead.takeBack(ctx, tx, who, all[i])
		}
		back := all[before]
		back.ResultID, back.Corrects = newID(), result
		back.RecordedAt, back.RecordedBy = lead.Now(), who.ID()
		if _, err := tx.AddResult(ctx, back); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "undid a result", "result", result)
	})
}

// takeBack withdraws a result; it stays in the history.
func (lead *Leading) takeBack(ctx context.Context, tx *store.Tx, who gym.Who, r gym.Result) error {
	gone := r
	gone.ResultID, gone.Corrects, gone.Void = newID(), r.ResultID, true
	gone.RecordedAt, gone.RecordedBy = lead.Now(), who.ID()
	if _, err := tx.AddResult(ctx, gone); err != nil {
		return err
	}
	return tx.Note(ctx, newID(), lead.Now(), who.ID(), "took a result back", "result", r.ResultID)
}
