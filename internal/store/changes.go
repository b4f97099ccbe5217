package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"
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

// MeetingChanges reads what is other than the weekly times say, of all classes,
// oldest first.
func MeetingChanges(into *[]gym.MeetingChange) Reading {
	return many("meeting changes", into, `
		SELECT `+changeColumns()+`
		FROM meeting_change
		ORDER BY made_at, change_id`, pgx.StrictNamedArgs{})
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

// SetTerm changes a term's name and days.
func (tx *Tx) SetTerm(ctx context.Context, t gym.Term) error {
	n, err := tx.exec(ctx, "changing a term", `
		UPDATE term SET name = @name, starts_on = @starts, ends_on = @ends
		WHERE gym_id = @gym AND term_id = @id`,
		pgx.StrictNamedArgs{"id": t.TermID, "name": t.Name, "starts": t.StartsOn, "ends": t.EndsOn})
	return noneIs(n, err, "There is no such term in this gym.")
}

// DropTerm removes a term. What happened in it stays.
func (tx *Tx) DropTerm(ctx context.Context, id uuid.UUID) error {
	n, err := tx.exec(ctx, "removing a term", `DELETE FROM term WHERE gym_id = @gym AND term_id = @id`, pgx.StrictNamedArgs{"id": id})
	if broke(err, "report_comment_gym_id_term_id_fkey") {
		return problem.Wrap(err, problem.Conflict, "Coaches wrote comments for reports of this term. Change its days instead of removing it.")
	}
	return noneIs(n, err, "There is no such term in this gym.")
}

// SetHoliday adds a holiday, or changes the one with its id.
func (tx *Tx) SetHoliday(ctx context.Context, h gym.Holiday) error {
	_, err := tx.exec(ctx, "setting a holiday", `
		INSERT INTO holiday (gym_id, holiday_id, name, starts_on, ends_on)
		VALUES (@gym, @id, @name, @starts, @ends)
		ON CONFLICT (gym_id, holiday_id) DO UPDATE SET name = @name, starts_on = @starts, ends_on = @ends`,
		pgx.StrictNamedArgs{"id": h.HolidayID, "name": h.Name, "starts": h.StartsOn, "ends": h.EndsOn})
	return err
}

// DropHoliday removes a holiday.
func (tx *Tx) DropHoliday(ctx context.Context, id uuid.UUID) error {
	n, err := tx.exec(ctx, "removing a holiday", `DELETE FROM holiday WHERE gym_id = @gym AND holiday_id = @id`, pgx.StrictNamedArgs{"id": id})
	return noneIs(n, err, "There is no such holiday in this gym.")
}

// noneIs turns a statement that found no row into a NotFound problem.
func noneIs(n int64, err error, missing string) error {
	if err == nil && n == 0 {
		return problem.New(problem.NotFound, "%s", missing)
	}
	return err
}

const selectLink = `
	SELECT link_id, kind, coalesce(class_id, '00000000-0000-0000-0000-000000000000') AS class_id,
	       coalesce(athlete_id, '00000000-0000-0000-0000-000000000000') AS athlete_id,
	       coalesce(session_id, '00000000-0000-0000-0000-000000000000') AS session_id,
	       names, made_at, made_by, expires_at, ended_at
	FROM link`

// Links reads the gym's links of a kind that are not ended, newest first.
func Links(kind gym.LinkKind, into *[]gym.Link) Reading {
	return many("links", into, selectLink+`
		WHERE kind = @kind AND ended_at IS NULL
		ORDER BY made_at DESC, link_id DESC`, pgx.StrictNamedArgs{"kind": kind})
}

// Link reads one link, ended or not.
func Link(id uuid.UUID, into *gym.Link) Reading {
	return one("link", "This link is not in use any more.", into, selectLink+`
		WHERE link_id = @link`, pgx.StrictNamedArgs{"link": id})
}

// AddLink keeps a link and what its secret hashes to.
func (tx *Tx) AddLink(ctx context.Context, l gym.Link, secretHash []byte) error {
	_, err := tx.exec(ctx, "adding a link", `
		INSERT INTO link (gym_id, link_id, kind, class_id, athlete_id, session_id, names, made_at, made_by, expires_at)
		VALUES (@gym, @id, @kind, @class, @athlete, @session, @names, @at, @by, @expires)`,
		pgx.StrictNamedArgs{"id": l.LinkID, "kind": l.Kind, "class": orNull(l.ClassID), "athlete": orNull(l.AthleteID),
			"session": orNull(l.SessionID), "names": l.Names, "at": l.MadeAt, "by": l.MadeBy, "expires": l.ExpiresAt})
	if err != nil {
		return err
	}
	_, err = tx.exec(ctx, "keeping a link's secret", `
		INSERT INTO link_secret (secret_hash, gym_id, link_id) VALUES (@hash, @gym, @id)`,
		pgx.StrictNamedArgs{"hash": secretHash, "id": l.LinkID})
	return err
}

// EndLink makes a link lead nowhere, and tells whoever watches by it.
func (tx *Tx) EndLink(ctx context.Context, id uuid.UUID, at time.Time) error {
	var watched uuid.UUID
	err := tx.tx.QueryRow(ctx, `
		UPDATE link SET ended_at = @at WHERE gym_id = @gym AND link_id = @id AND ended_at IS NULL
		RETURNING coalesce(session_id, link_id)`, pgx.StrictNamedArgs{"gym": tx.gym, "id": id, "at": at}).Scan(&watched)
	if errors.Is(err, pgx.ErrNoRows) {
		return problem.New(problem.NotFound, "There is no such link in this gym, or it has ended.")
	}
	if err != nil {
		return fmt.Errorf("ending a link: %w", err)
	}
	_, err = tx.exec(ctx, "forgetting a link's secret", `DELETE FROM link_secret WHERE gym_id = @gym AND link_id = @id`, pgx.StrictNamedArgs{"id": id})
	tx.announce(watched)
	return err
}

// LinkBySecret returns the gym and link behind a secret; found is false if
// there is none.
func (s *Store) LinkBySecret(ctx context.Context, secretHash []byte) (gymID, link uuid.UUID, found bool, err error) {
	err = s.pool.QueryRow(ctx, `SELECT gym_id, link_id FROM link_secret WHERE secret_hash = $1`, secretHash).Scan(&gymID, &link)
	if errors.Is(err, pgx.ErrNoRows) {
		return uuid.Nil, uuid.Nil, false, nil
	}
	if err != nil {
		return uuid.Nil, uuid.Nil, false, classify(fmt.Errorf("link by secret: %w", err))
	}
	return gymID, link, true, nil
}
