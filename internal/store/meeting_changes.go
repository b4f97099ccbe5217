package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// nanoseconds since midnight of a time column.
const sinceMidnight = `(extract(epoch FROM %s) * 1000000000)::bigint`

func changeColumns() string {
	return `change_id, class_id, kind, day, ` + fmt.Sprintf(sinceMidnight, "starts_at") + ` AS starts_at, to_day, ` +
		fmt.Sprintf(sinceMidnight, "to_starts_at") + ` AS to_starts_at, to_minutes, reason, made_at, made_by`
}

// MeetingChanges reads what is other than the weekly times say of days since one,
// of all classes, oldest first.
func MeetingChanges(since time.Time, into *[]gym.MeetingChange) Reading {
	return many("meeting changes", into, `
		SELECT `+changeColumns()+`
		FROM meeting_change
		WHERE day >= @since
		ORDER BY made_at, change_id`, pgx.StrictNamedArgs{"since": since})
}

// AddMeetingChange keeps a change; the same id again changes nothing.
func (tx *Tx) AddMeetingChange(ctx context.Context, c gym.MeetingChange) error {
	var to *float64
	if c.ToStartsAt != nil {
		seconds := c.ToStartsAt.Seconds()
		to = &seconds
	}
	_, err := tx.exec(ctx, "changing a meeting", `
		INSERT INTO meeting_change (gym_id, change_id, class_id, kind, day, starts_at, to_day, to_starts_at, to_minutes, reason, made_at, made_by)
		VALUES (@gym, @id, @class, @kind, @day, time '00:00' + make_interval(secs => @starts), @to_day,
			time '00:00' + make_interval(secs => @to_starts), @minutes, @reason, @at, @by)
		ON CONFLICT (gym_id, change_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": c.ChangeID, "class": c.ClassID, "kind": c.Kind, "day": c.Day, "starts": c.StartsAt.Seconds(),
			"to_day": c.ToDay, "to_starts": to, "minutes": c.ToMinutes, "reason": c.Reason, "at": c.MadeAt, "by": c.MadeBy})
	return err
}

// noneIs turns a statement that found no row into a NotFound problem.
func noneIs(n int64, err error, missing string) error {
	if err == nil && n == 0 {
		return problem.New(problem.NotFound, "%s", missing)
	}
	return err
}
