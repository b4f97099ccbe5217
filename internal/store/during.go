package store

import (
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// A During is the part of a term up to a day; the zero Until is all of it. The
// database knows the term's days, so a page needs no trip of its own for them.
type During struct {
	Term  uuid.UUID
	Until time.Time
}

// days is a condition on a column with a day.
func (d During) days(column string) string {
	return column + ` BETWEEN (SELECT starts_on FROM term WHERE term_id = @term)
		  AND (SELECT least(ends_on, @until::date) FROM term WHERE term_id = @term)`
}

// with adds what the condition asks for to args; least leaves a NULL out.
func (d During) with(args pgx.StrictNamedArgs) pgx.StrictNamedArgs {
	args["term"], args["until"] = d.Term, dayOrNull(d.Until)
	return args
}

// InClassDuring is whoever was in a class at some time of a term, by name.
func InClassDuring(class uuid.UUID, d During) Whom {
	member := `(SELECT w.athlete_id FROM enrolment w, term t WHERE w.class_id = @whom AND t.term_id = @term
		AND w.since <= t.ends_on AND (w.until IS NULL OR w.until > t.starts_on))`
	return Whom{
		among: `IN ` + member,
		id:    class,
		term:  d.Term,
		from:  `WHERE a.athlete_id IN ` + member + ` AND a.archived_at IS NULL ORDER BY ` + byName,
	}
}

// Results reads the standing results of some athletes of a term, by athlete,
// oldest first.
func Results(whom Whom, d During, into *[]gym.Result) Reading {
	return many("results of a term", into, `
		SELECT `+resultColumns+`
		FROM result r
		WHERE r.athlete_id `+whom.among+` AND `+d.days("r.day")+standing+`
		ORDER BY r.athlete_id, r.day, r.taken_at, r.result_id`, whom.with(d.with(pgx.StrictNamedArgs{})))
}

// Debriefs reads how sessions of a term went for some athletes, by athlete,
// oldest first.
func Debriefs(whom Whom, d During, into *[]gym.Debrief) Reading {
	return many("debriefs of a term", into, `
		SELECT `+debriefColumns+`
		FROM debrief d
		WHERE d.athlete_id `+whom.among+` AND `+d.days("d.day")+standingDebrief+`
		ORDER BY d.athlete_id, d.day, d.recorded_at, d.debrief_id`, whom.with(d.with(pgx.StrictNamedArgs{})))
}

// Meetings reads the sessions of a term that were held while each athlete was in
// the class, by athlete, oldest first. A session counts as held once check-in
// began.
func Meetings(whom Whom, d During, into *[]gym.Meeting) Reading {
	return many("meetings of a term", into, `
		SELECT e.athlete_id, s.session_id, s.class_id, s.day, s.minutes, t.here
		FROM enrolment e
		JOIN session s ON s.gym_id = e.gym_id AND s.class_id = e.class_id
		              AND s.day >= e.since AND (e.until IS NULL OR s.day < e.until)
		LEFT JOIN attendance t ON t.gym_id = s.gym_id AND t.session_id = s.session_id AND t.athlete_id = e.athlete_id
		WHERE e.athlete_id `+whom.among+` AND `+d.days("s.day")+` AND s.opened_at IS NOT NULL
		ORDER BY e.athlete_id, s.starts_at, s.session_id`, whom.with(d.with(pgx.StrictNamedArgs{})))
}

// mostRepeats bounds the pairs of tests that are read: the newest ones say how
// far tests lie apart just as well as all of them.
const mostRepeats = 20000

// Repeats reads pairs of base and of burst tests of the whole gym in a term that
// followed each other within so many days, newest first. Results kept as odd are
// left out.
func Repeats(d During, within int, into *[]gym.Repeat) Reading {
	return many("pairs of tests of a term", into, `
		WITH pair AS (
			SELECT r.gym_id, r.athlete_id, r.protocol, r.seconds, r.day, r.result_id,
			       lag(r.rotations) OVER tests AS first, r.rotations AS second,
			       lag(CASE WHEN r.catches = 0 THEN 0 ELSE r.lost_seconds END) OVER tests AS first_lost,
			       CASE WHEN r.catches = 0 THEN 0 ELSE r.lost_seconds END AS second_lost,
			       r.day - lag(r.day) OVER tests AS days
			FROM result r
			WHERE r.protocol IN ('base', 'burst') AND `+d.days("r.day")+` AND NOT r.kept_odd AND NOT r.one_foot
			  AND r.rotations IS NOT NULL AND r.seconds IS NOT NULL`+standing+`
			WINDOW tests AS (PARTITION BY r.athlete_id, r.protocol, r.seconds, r.step, r.rope_kind ORDER BY r.day, r.taken_at, r.result_id)
		)
		SELECT e.class_id, p.protocol, p.seconds, p.first, p.second, p.first_lost, p.second_lost
		FROM pair p JOIN enrolment e USING (gym_id, athlete_id)
		WHERE p.days BETWEEN 1 AND @within
		ORDER BY p.day DESC, p.result_id DESC, e.class_id
		LIMIT @most`, d.with(pgx.StrictNamedArgs{"within": within, "most": mostRepeats}))
}

// Term reads one term.
func Term(id uuid.UUID, into *gym.Term) Reading {
	return one("term", "There is no such term in this gym.", into, `
		SELECT term_id, name, starts_on, ends_on
		FROM term
		WHERE term_id = @term`, pgx.StrictNamedArgs{"term": id})
}
