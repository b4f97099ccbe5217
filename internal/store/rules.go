package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

const selectRules = `
	SELECT rules_id, rules, reason, set_at, set_by
	FROM gym_rules
	ORDER BY set_at DESC, rules_id DESC`

// RulesInForce reads the gym's newest rules; none leaves *into empty.
func RulesInForce(into *[]gym.Rules) Reading {
	return many("rules in force", into, selectRules+`
	LIMIT 1`, pgx.StrictNamedArgs{})
}

// AllRules reads every setting of the gym's rules, newest first.
func AllRules(into *[]gym.Rules) Reading {
	return many("rules", into, selectRules, pgx.StrictNamedArgs{})
}

// AddRules puts rules into force; the same id again changes nothing.
func (tx *Tx) AddRules(ctx context.Context, r gym.Rules) error {
	_, err := tx.exec(ctx, "setting the rules", `
		INSERT INTO gym_rules (gym_id, rules_id, rules, reason, set_at, set_by)
		VALUES (@gym, @id, @rules::text::json, @reason, @at, @by)
		ON CONFLICT (gym_id, rules_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": r.RulesID, "rules": string(r.Rules), "reason": r.Reason, "at": r.SetAt, "by": r.SetBy})
	return err
}

const setLogColumns = `
	l.set_log_id, l.athlete_id, l.plan_id, l.set_number, l.bursts, l.clean_bursts, l.catches_steady, l.catches_burst,
	l.shortened, l.done_at, l.recorded_at, l.recorded_by`

// SetLogsOf reads the sets that an athlete logged since a moment, oldest first.
func SetLogsOf(athlete uuid.UUID, since time.Time, into *[]gym.SetLog) Reading {
	return many("set logs of an athlete", into, `
		SELECT `+setLogColumns+`
		FROM set_log l
		WHERE l.athlete_id = @athlete AND l.done_at >= @since
		ORDER BY l.done_at, l.set_number, l.set_log_id`, pgx.StrictNamedArgs{"athlete": athlete, "since": since})
}

// SetLogsOfClass reads the sets that everybody in a class logged since a
// moment, by athlete, oldest first.
func SetLogsOfClass(class uuid.UUID, since time.Time, into *[]gym.SetLog) Reading {
	return many("set logs of a class", into, `
		SELECT `+setLogColumns+`
		FROM set_log l JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL AND l.done_at >= @since
		ORDER BY l.athlete_id, l.done_at, l.set_number, l.set_log_id`, pgx.StrictNamedArgs{"class": class, "since": since})
}

// A Retest is two tests of one athlete that followed each other, of one kind.
type Retest struct {
	FirstRotations, SecondRotations int
	Seconds                         float64
}

// RetestsAround reads pairs of base tests of one length, step and rope that
// followed each other within the given days, of everybody who shares a class
// with an athlete: how far two tests lie apart by themselves. Results kept as
// odd are left out.
func RetestsAround(athlete uuid.UUID, since time.Time, within int, into *[]Retest) Reading {
	return many("pairs of tests", into, `
		WITH classmate AS (
			SELECT DISTINCT other.gym_id, other.athlete_id
			FROM enrolment own JOIN enrolment other USING (gym_id, class_id)
			WHERE own.athlete_id = @athlete AND own.until IS NULL AND other.until IS NULL
		), pair AS (
			SELECT lag(r.rotations) OVER tests AS first_rotations, r.rotations AS second_rotations, r.seconds,
			       r.day - lag(r.day) OVER tests AS days
			FROM result r JOIN classmate USING (gym_id, athlete_id)
			WHERE r.protocol = 'base' AND r.day >= @since AND NOT r.kept_odd
			  AND r.rotations IS NOT NULL AND r.seconds IS NOT NULL`+standing+`
			WINDOW tests AS (PARTITION BY r.athlete_id, r.seconds, r.step, r.rope_kind ORDER BY r.day, r.taken_at, r.result_id)
		)
		SELECT first_rotations, second_rotations, seconds
		FROM pair
		WHERE days BETWEEN 1 AND @within`, pgx.StrictNamedArgs{"athlete": athlete, "since": since, "within": within})
}
