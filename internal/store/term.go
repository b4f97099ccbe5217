package store

import (
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// Results reads the standing results of some athletes from one day to another,
// both included, by athlete, oldest first.
func Results(whom Whom, from, to time.Time, into *[]gym.Result) Reading {
	return many("results of a term", into, `
		SELECT `+resultColumns+`
		FROM result r
		WHERE r.athlete_id `+whom.among+` AND r.day BETWEEN @from AND @to`+standing+`
		ORDER BY r.athlete_id, r.day, r.taken_at, r.result_id`, whom.with(pgx.StrictNamedArgs{"from": from, "to": to}))
}

// Debriefs reads how sessions went for some athletes from one day to another,
// by athlete, oldest first.
func Debriefs(whom Whom, from, to time.Time, into *[]gym.Debrief) Reading {
	return many("debriefs of a term", into, `
		SELECT `+debriefColumns+`
		FROM debrief d
		WHERE d.athlete_id `+whom.among+` AND d.day BETWEEN @from AND @to`+standingDebrief+`
		ORDER BY d.athlete_id, d.day, d.recorded_at, d.debrief_id`, whom.with(pgx.StrictNamedArgs{"from": from, "to": to}))
}

// Meetings reads the sessions that were held from one day to another while each
// athlete was in the class, by athlete, oldest first. A session counts as held
// once check-in began.
func Meetings(whom Whom, from, to time.Time, into *[]gym.Meeting) Reading {
	return many("meetings of a term", into, `
		SELECT e.athlete_id, s.session_id, s.class_id, s.day, s.minutes, t.here
		FROM enrolment e
		JOIN session s ON s.gym_id = e.gym_id AND s.class_id = e.class_id
		              AND s.day >= e.since AND (e.until IS NULL OR s.day < e.until)
		LEFT JOIN attendance t ON t.gym_id = s.gym_id AND t.session_id = s.session_id AND t.athlete_id = e.athlete_id
		WHERE e.athlete_id `+whom.among+` AND s.day BETWEEN @from AND @to AND s.opened_at IS NOT NULL
		ORDER BY e.athlete_id, s.starts_at, s.session_id`, whom.with(pgx.StrictNamedArgs{"from": from, "to": to}))
}

// mostRepeats bounds the pairs of tests that are read: the newest ones say how
// far tests lie apart just as well as all of them.
const mostRepeats = 2000

// Repeats reads pairs of base and of burst tests of the whole gym, from one day
// to another, that followed each other within so many days, newest first.
// Results kept as odd are left out.
func Repeats(from, to time.Time, within int, into *[]gym.Repeat) Reading {
	return many("pairs of tests of a term", into, `
		WITH pair AS (
			SELECT r.protocol, r.seconds, r.day, r.result_id,
			       lag(r.rotations) OVER tests AS first, r.rotations AS second,
			       lag(CASE WHEN r.catches = 0 THEN 0 ELSE r.lost_seconds END) OVER tests AS first_lost,
			       CASE WHEN r.catches = 0 THEN 0 ELSE r.lost_seconds END AS second_lost,
			       r.day - lag(r.day) OVER tests AS days
			FROM result r
			WHERE r.protocol IN ('base', 'burst') AND r.day BETWEEN @from AND @to AND NOT r.kept_odd AND NOT r.one_foot
			  AND r.rotations IS NOT NULL AND r.seconds IS NOT NULL`+standing+`
			WINDOW tests AS (PARTITION BY r.athlete_id, r.protocol, r.seconds, r.step, r.rope_kind ORDER BY r.day, r.taken_at, r.result_id)
		)
		SELECT protocol, seconds, first, second, first_lost, second_lost
		FROM pair
		WHERE days BETWEEN 1 AND @within
		ORDER BY day DESC, result_id DESC
		LIMIT @most`, pgx.StrictNamedArgs{"from": from, "to": to, "within": within, "most": mostRepeats})
}

// Term reads one term.
func Term(id uuid.UUID, into *gym.Term) Reading {
	return one("term", "There is no such term in this gym.", into, `
		SELECT term_id, name, starts_on, ends_on
		FROM term
		WHERE term_id = @term`, pgx.StrictNamedArgs{"term": id})
}
