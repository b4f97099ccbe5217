package store

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const resultColumns = `
	r.result_id, r.athlete_id, coalesce(r.session_id, '00000000-0000-0000-0000-000000000000') AS session_id,
	r.protocol, r.day, r.taken_at, r.rotations, r.one_foot, r.counts, r.task, r.seconds, r.catches, r.lost_seconds, r.longest_restart_seconds,
	r.stopped_clean, r.successes, r.attempts, r.bouts, r.rest_seconds, r.flight_seconds, r.taps,
	r.rotations_per_tap, r.rpm_from_taps, r.standard_error_rpm, r.step, r.rope_kind,
	coalesce(r.rope_id, '00000000-0000-0000-0000-000000000000') AS rope_id,
	r.surface, r.counted_by, r.seen_by_coach, r.unattended, r.timing, r.note, r.kept_odd,
	coalesce(r.corrects, '00000000-0000-0000-0000-000000000000') AS corrects, r.void,
	r.recorded_at, r.recorded_by, r.device_at`

// standing keeps the results that nothing corrected and nobody withdrew.
const standing = `
	AND NOT r.void
	AND NOT EXISTS (SELECT FROM result later WHERE later.gym_id = r.gym_id AND later.corrects = r.result_id)`

// ResultsOfClass reads the standing results of everybody in a class since a
// day, by athlete, newest first.
func ResultsOfClass(class uuid.UUID, since time.Time, into *[]gym.Result) Reading {
	return many("results of a class", into, `
		SELECT `+resultColumns+`
		FROM result r JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL AND r.day >= @since`+standing+`
		ORDER BY r.athlete_id, r.day DESC, r.taken_at DESC, r.result_id DESC`,
		pgx.StrictNamedArgs{"class": class, "since": since})
}

// A Tested is when an athlete was last tested, and how many results need a look.
type Tested struct {
	AthleteID uuid.UUID
	Newest    time.Time // day
	Odd       int
}

// TestedOfClass reads it of everybody in a class who was tested since a day.
func TestedOfClass(class uuid.UUID, since time.Time, into *[]Tested) Reading {
	return many("when a class was tested", into, `
		SELECT r.athlete_id, max(r.day) AS newest, (count(*) FILTER (WHERE r.kept_odd))::int AS odd
		FROM result r JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL AND r.day >= @since`+standing+`
		GROUP BY r.athlete_id`, pgx.StrictNamedArgs{"class": class, "since": since})
}

// ResultsOf reads the standing results of one athlete since a day, newest first.
func ResultsOf(athlete uuid.UUID, since time.Time, into *[]gym.Result) Reading {
	return many("results of an athlete", into, `
		SELECT `+resultColumns+`
		FROM result r
		WHERE r.athlete_id = @athlete AND r.day >= @since`+standing+`
		ORDER BY r.day DESC, r.taken_at DESC, r.result_id DESC`,
		pgx.StrictNamedArgs{"athlete": athlete, "since": since})
}

// ResultsLike reads the standing results of one athlete in one protocol since a
// day, newest first: what a new one is compared with.
func ResultsLike(athlete uuid.UUID, protocol string, since time.Time, into *[]gym.Result) Reading {
	return many("results like one", into, `
		SELECT `+resultColumns+`
		FROM result r
		WHERE r.athlete_id = @athlete AND r.protocol = @protocol AND r.day >= @since`+standing+`
		ORDER BY r.day DESC, r.taken_at DESC, r.result_id DESC`,
		pgx.StrictNamedArgs{"athlete": athlete, "protocol": protocol, "since": since})
}

// ResultHistory reads everything recorded of an athlete's days since one,
// corrected and withdrawn results too, newest record first.
func ResultHistory(athlete uuid.UUID, since time.Time, into *[]gym.Result) Reading {
	return many("result history", into, `
		SELECT `+resultColumns+`
		FROM result r
		WHERE r.athlete_id = @athlete AND r.day >= @since
		ORDER BY r.recorded_at DESC, r.result_id DESC`, pgx.StrictNamedArgs{"athlete": athlete, "since": since})
}

// A Recorded is a result as it was recorded, and whether another took its place
// or it was withdrawn.
type Recorded struct {
	gym.Result
	Replaced bool
}

// RecordedOf reads results of an athlete, replaced ones too, newest test first.
func RecordedOf(athlete uuid.UUID, p Page, into *[]Recorded) Reading {
	return many("recorded results", into, `
		SELECT `+resultColumns+`,
		       EXISTS (SELECT FROM result later WHERE later.gym_id = r.gym_id AND later.corrects = r.result_id) AS replaced
		FROM result r
		WHERE r.athlete_id = @athlete AND NOT r.void`+p.older("result", "r", "day", "taken_at", "result_id")+`
		ORDER BY r.day DESC, r.taken_at DESC, r.result_id DESC
		LIMIT @most`, p.with(pgx.StrictNamedArgs{"athlete": athlete}))
}

// Result reads one result, standing or not.
func Result(id uuid.UUID, into *gym.Result) Reading {
	return one("result", "There is no such result in this gym.", into, `
		SELECT `+resultColumns+`
		FROM result r
		WHERE r.result_id = @result`, pgx.StrictNamedArgs{"result": id})
}

// AddResult keeps a result under the id that whoever counted it made. The same
// id again changes nothing and added is false: the first answer stands.
func (tx *Tx) AddResult(ctx context.Context, r gym.Result) (added bool, err error) {
	if !r.Void { // whoever took a consent back may still have something taken out
		if err := tx.mayKeep(ctx, r.Day.Year(), r.AthleteID); err != nil {
			return false, err
		}
	}
	n, err := tx.exec(ctx, fmt.Sprintf("adding result %s", r.ResultID), `
		INSERT INTO result (gym_id, result_id, athlete_id, session_id, protocol, day, taken_at, rotations, one_foot, counts, task, seconds,
			catches, lost_seconds, longest_restart_seconds, stopped_clean, successes, attempts, bouts, rest_seconds,
			flight_seconds, taps, rotations_per_tap, rpm_from_taps, standard_error_rpm, step, rope_kind, rope_id, surface,
			counted_by, seen_by_coach, unattended, timing, note, kept_odd, corrects, void, recorded_at, recorded_by, device_at)
		VALUES (@gym, @id, @athlete, @session, @protocol, @day, @taken, @rotations, @one_foot, @counts, @task, @seconds,
			@catches, @lost, @restart, @clean, @successes, @attempts, @bouts, @rest,
			@flight, @taps, @per_tap, @rpm_from_taps, @se, @step, @rope_kind, @rope, @surface,
			@counted_by, @seen, @unattended, @timing, @note, @kept_odd, @corrects, @void, @recorded, @by, @device)
		ON CONFLICT (gym_id, result_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": r.ResultID, "athlete": r.AthleteID, "session": orNull(r.SessionID), "protocol": r.Protocol,
			"day": r.Day, "taken": r.TakenAt, "rotations": r.Rotations, "one_foot": r.OneFoot, "counts": r.Counts, "task": r.Task, "seconds": r.Seconds, "catches": r.Catches,
			"lost": r.LostSeconds, "restart": r.LongestRestartSeconds, "clean": r.StoppedClean, "successes": r.Successes,
			"attempts": r.Attempts, "bouts": r.Bouts, "rest": r.RestSeconds, "flight": r.FlightSeconds, "taps": r.Taps,
			"per_tap": r.RotationsPerTap, "rpm_from_taps": r.RPMFromTaps, "se": r.StandardErrorRPM, "step": r.Step,
			"rope_kind": r.RopeKind, "rope": orNull(r.RopeID), "surface": r.Surface, "counted_by": r.CountedBy,
			"seen": r.SeenByCoach, "unattended": r.Unattended, "timing": r.Timing, "note": r.Note, "kept_odd": r.KeptOdd, "corrects": orNull(r.Corrects),
			"void": r.Void, "recorded": r.RecordedAt, "by": r.RecordedBy, "device": r.DeviceAt})
	switch {
	case broke(err, "result_corrected_once"):
		return false, problem.Wrap(err, problem.Conflict, "Somebody corrected this result before you. Open the athlete's history to see both.")
	case broke(err, "result_gym_id_athlete_id_fkey"):
		return false, problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	tx.announce(r.AthleteID)
	return n == 1, err
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
