package store

import (
	"context"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

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

// AddSetLog keeps a set as it was done; the same id again changes nothing.
func (tx *Tx) AddSetLog(ctx context.Context, l gym.SetLog) (added bool, err error) {
	if err := tx.mayKeep(ctx, l.DoneAt.Year(), l.AthleteID); err != nil {
		return false, err
	}
	n, err := tx.exec(ctx, "adding a set", `
		INSERT INTO set_log (gym_id, set_log_id, athlete_id, plan_id, set_number, bursts, clean_bursts, catches_steady, catches_burst,
			shortened, done_at, recorded_at, recorded_by)
		VALUES (@gym, @id, @athlete, @plan, @number, @bursts, @clean, @steady, @burst, @shortened, @done, @recorded, @by)
		ON CONFLICT (gym_id, set_log_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": l.SetLogID, "athlete": l.AthleteID, "plan": l.PlanID, "number": l.SetNumber, "bursts": l.Bursts,
			"clean": l.CleanBursts, "steady": l.CatchesSteady, "burst": l.CatchesBurst, "shortened": l.Shortened, "done": l.DoneAt,
			"recorded": l.RecordedAt, "by": l.RecordedBy})
	if broke(err, "set_log_gym_id_plan_id_fkey") {
		return false, problem.Wrap(err, problem.NotFound, "There is no such plan in this gym.")
	}
	tx.announce(l.AthleteID)
	return n == 1, err
}
