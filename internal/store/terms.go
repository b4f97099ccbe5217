package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// Terms reads the gym's terms, newest first.
func Terms(into *[]gym.Term) Reading {
	return many("terms", into, `
		SELECT term_id, name, starts_on, ends_on
		FROM term
		ORDER BY starts_on DESC, term_id`, pgx.StrictNamedArgs{})
}

// TermsSince reads the terms that were not over on a day, newest first.
func TermsSince(day time.Time, into *[]gym.Term) Reading {
	return many("terms since a day", into, `
		SELECT term_id, name, starts_on, ends_on
		FROM term
		WHERE ends_on >= @since
		ORDER BY starts_on DESC, term_id`, pgx.StrictNamedArgs{"since": day})
}

// AddTerm adds a term.
func (tx *Tx) AddTerm(ctx context.Context, t gym.Term) error {
	_, err := tx.exec(ctx, "adding a term", `
		INSERT INTO term (gym_id, term_id, name, starts_on, ends_on)
		VALUES (@gym, @id, @name, @starts, @ends)
		ON CONFLICT (gym_id, term_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": t.TermID, "name": t.Name, "starts": t.StartsOn, "ends": t.EndsOn})
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

// Holidays reads the gym's holidays in order.
func Holidays(into *[]gym.Holiday) Reading {
	return many("holidays", into, `
		SELECT holiday_id, name, starts_on, ends_on
		FROM holiday
		ORDER BY starts_on, holiday_id`, pgx.StrictNamedArgs{})
}

// HolidaysSince reads the holidays that were not over on a day, in order.
func HolidaysSince(day time.Time, into *[]gym.Holiday) Reading {
	return many("holidays since a day", into, `
		SELECT holiday_id, name, starts_on, ends_on
		FROM holiday
		WHERE ends_on >= @since
		ORDER BY starts_on, holiday_id`, pgx.StrictNamedArgs{"since": day})
}

// AddHoliday adds a holiday.
func (tx *Tx) AddHoliday(ctx context.Context, h gym.Holiday) error {
	_, err := tx.exec(ctx, "adding a holiday", `
		INSERT INTO holiday (gym_id, holiday_id, name, starts_on, ends_on)
		VALUES (@gym, @id, @name, @starts, @ends)
		ON CONFLICT (gym_id, holiday_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": h.HolidayID, "name": h.Name, "starts": h.StartsOn, "ends": h.EndsOn})
	return err
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
