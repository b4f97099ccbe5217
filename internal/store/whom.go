package store

import (
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// Whom says whose rows a Reading reads: one query serves one athlete, a class
// and the whole gym alike. The zero Whom is nobody.
type Whom struct {
	among string      // a condition that follows a column with an athlete's id
	id    uuid.UUID   // @whom in it; uuid.Nil where it has none
	ids   []uuid.UUID // @whom in it, of several
	term  uuid.UUID   // @term in it; uuid.Nil where it has none
	from  string      // rest of a query for the athletes themselves
}

// Everybody is every athlete of the gym, by name.
func Everybody() Whom {
	return Whom{
		among: `IN (SELECT w.athlete_id FROM athlete w WHERE w.archived_at IS NULL)`,
		from:  `WHERE a.archived_at IS NULL ORDER BY ` + byName,
	}
}

// InClass is whoever is in a class today, in the order they stand in.
func InClass(class uuid.UUID) Whom {
	return Whom{
		among: `IN (SELECT w.athlete_id FROM enrolment w WHERE w.class_id = @whom AND w.until IS NULL)`,
		id:    class,
		from: `JOIN enrolment e USING (gym_id, athlete_id)
			WHERE e.class_id = @whom AND e.until IS NULL AND a.archived_at IS NULL ORDER BY e.place, a.athlete_id`,
	}
}

// Only is one athlete.
func Only(athlete uuid.UUID) Whom {
	return Whom{among: `= @whom`, id: athlete, from: `WHERE a.athlete_id = @whom AND a.archived_at IS NULL`}
}

// Those are the athletes with the given ids, by name.
func Those(athletes []uuid.UUID) Whom {
	return Whom{
		among: `= ANY(@whom::uuid[])`,
		ids:   athletes,
		from:  `WHERE a.athlete_id = ANY(@whom::uuid[]) AND a.archived_at IS NULL ORDER BY ` + byName,
	}
}

const byName = `CASE WHEN a.sort_name <> '' THEN lower(a.sort_name) ELSE a.name_key END, a.athlete_id`

// with adds what w's condition asks for to args.
func (w Whom) with(args pgx.StrictNamedArgs) pgx.StrictNamedArgs {
	switch {
	case w.id != uuid.Nil:
		args["whom"] = w.id
	case w.ids != nil:
		args["whom"] = w.ids
	}
	if w.term != uuid.Nil {
		args["term"] = w.term
	}
	return args
}

// AthletesPart reads some of the athletes, in the order of their ids.
func AthletesPart(w Whom, p Page, into *[]gym.Athlete) Reading {
	return many("a part of the athletes", into, selectAthlete+`
		WHERE a.athlete_id `+w.among+` AND a.archived_at IS NULL`+p.later("athlete", "a", "athlete_id")+`
		ORDER BY a.athlete_id
		LIMIT @most`, p.with(w.with(pgx.StrictNamedArgs{})))
}

// AthletesAmong reads the athletes themselves.
func AthletesAmong(w Whom, into *[]gym.Athlete) Reading {
	return many("athletes", into, selectAthlete+` `+w.from, w.with(pgx.StrictNamedArgs{}))
}
