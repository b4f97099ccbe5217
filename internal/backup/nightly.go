package backup

import (
	"context"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// When the nightly backup is due, by the machine's clock, and how often that is
// looked at: a machine that is off at night makes it later.
const (
	dueHour   = 3
	lookEvery = 10 * time.Minute
	afterFail = time.Hour
)

// A Book keeps what became of backups.
type Book struct {
	Last func(ctx context.Context) (at time.Time, err error) // when the last good one was made, zero for never
	Note func(ctx context.Context, b gym.Backup) error
}

// Nightly makes a backup each night until ctx ends.
func (b *Backups) Nightly(ctx context.Context, book Book) {
	var missed time.Time // when the last try did not succeed
	for wait(ctx, lookEvery) {
		last, err := book.Last(ctx)
		if err != nil {
			continue // the database is away; the next look comes soon
		}
		now := b.Now()
		if !Due(last, now) || now.Sub(missed) < afterFail {
			continue
		}
		done, err := b.Make(ctx)
		if problem.KindOf(err) == problem.Conflict {
			continue // another program makes it
		}
		if err != nil {
			missed = now
			b.Log.ErrorContext(ctx, "no backup was made", "error", err)
		}
		if err := book.Note(context.WithoutCancel(ctx), done); err != nil {
			b.Log.ErrorContext(ctx, "a backup could not be noted", "error", err)
		}
	}
}

// Due reports whether a backup is due: the last is from before three o'clock of
// the last night.
func Due(last, now time.Time) bool {
	night := time.Date(now.Year(), now.Month(), now.Day(), dueHour, 0, 0, 0, now.Location())
	if now.Before(night) {
		night = night.AddDate(0, 0, -1)
	}
	return last.Before(night)
}

// Next returns when the next nightly backup is due, if the last good one is from
// last: now, where it should have been made already.
func Next(last, now time.Time) time.Time {
	if Due(last, now) {
		return now
	}
	night := time.Date(now.Year(), now.Month(), now.Day(), dueHour, 0, 0, 0, now.Location())
	if !now.Before(night) {
		night = night.AddDate(0, 0, 1)
	}
	return night
}

// wait waits and reports whether ctx goes on.
func wait(ctx context.Context, pause time.Duration) bool {
	timer := time.NewTimer(pause)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}
