package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const selectAthlete = `
	SELECT a.athlete_id, a.name, a.sort_name, a.lang, coalesce(a.birth_year, 0) AS birth_year,
	       a.pin_hash <> '' AS has_pin, coalesce(a.started_on, '0001-01-01') AS started_on
	FROM athlete a`

// AthletesOf reads the athletes of a class in the order they stand in.
func AthletesOf(class uuid.UUID, into *[]gym.Athlete) Reading {
	return many("athletes of a class", into, selectAthlete+`
		JOIN enrolment e USING (gym_id, athlete_id)
		WHERE e.class_id = @class AND e.until IS NULL AND a.archived_at IS NULL
		ORDER BY e.place, a.athlete_id`, pgx.StrictNamedArgs{"class": class})
}

// Athletes reads every athlete of the gym, by name.
func Athletes(into *[]gym.Athlete) Reading {
	return many("athletes", into, selectAthlete+`
		WHERE a.archived_at IS NULL
		ORDER BY CASE WHEN a.sort_name <> '' THEN lower(a.sort_name) ELSE a.name_key END, a.athlete_id`, pgx.StrictNamedArgs{})
}

// Names reads names of athletes of the gym, in their order.
func Names(p Page, into *[]gym.Named) Reading {
	after := ""
	if p.After != uuid.Nil {
		after = ` AND (` + byName + `) > (SELECT ` + strings.ReplaceAll(byName, "a.", "before.") + ` FROM athlete before WHERE before.athlete_id = @after)`
	}
	return many("names", into, `
		SELECT a.athlete_id, a.name, a.lang
		FROM athlete a
		WHERE a.archived_at IS NULL`+after+`
		ORDER BY `+byName+`
		LIMIT @most`, p.with(pgx.StrictNamedArgs{}))
}

// Athlete reads one athlete.
func Athlete(id uuid.UUID, into *gym.Athlete) Reading {
	return one("athlete", "There is no such athlete in this gym.", into, selectAthlete+`
		WHERE a.athlete_id = @athlete AND a.archived_at IS NULL`, pgx.StrictNamedArgs{"athlete": id})
}

// AthleteOfResult reads the athlete whose result it is.
func AthleteOfResult(result uuid.UUID, into *gym.Athlete) Reading {
	return one("athlete of a result", "There is no such result in this gym.", into, selectAthlete+`
		JOIN result r USING (gym_id, athlete_id)
		WHERE r.result_id = @result`, pgx.StrictNamedArgs{"result": result})
}

// ClassesOf reads the classes that an athlete is in.
func ClassesOf(athlete uuid.UUID, into *[]gym.Class) Reading {
	return many("classes of an athlete", into, selectClass+`
		JOIN enrolment own USING (gym_id, class_id)
		WHERE own.athlete_id = @athlete AND own.until IS NULL AND class.archived_at IS NULL
		ORDER BY name_key, class_id`, pgx.StrictNamedArgs{"athlete": athlete})
}

// NewAthlete is an athlete about to be added, with what the roster keeps.
type NewAthlete struct {
	gym.Athlete
	NameKey string
	PINHash string
}

// AddAthletes adds those athletes whose name and birth year the gym does not
// have, and returns the id under which each is kept, in the order given, with
// how many were new.
func (tx *Tx) AddAthletes(ctx context.Context, athletes []NewAthlete, at time.Time) (ids []uuid.UUID, added int, err error) {
	n := len(athletes)
	newIDs, names, keys, sorts, langs, pins := make([]uuid.UUID, n), make([]string, n), make([]string, n), make([]string, n), make([]string, n), make([]string, n)
	years, starts := make([]*int16, n), make([]*time.Time, n)
	for i, a := range athletes {
		newIDs[i], names[i], keys[i], sorts[i], langs[i], pins[i] = a.AthleteID, a.Name, a.NameKey, a.SortName, a.Lang, a.PINHash
		if a.BirthYear != 0 {
			year := int16(a.BirthYear)
			years[i] = &year
		}
		if !a.StartedOn.IsZero() {
			starts[i] = &a.StartedOn
		}
	}
	args := pgx.StrictNamedArgs{"ids": newIDs, "names": names, "keys": keys, "sorts": sorts,
		"langs": langs, "years": years, "pins": pins, "starts": starts, "at": at}
	count, err := tx.exec(ctx, "adding athletes", `
		INSERT INTO athlete (gym_id, athlete_id, name, name_key, sort_name, lang, birth_year, pin_hash, started_on, created_at)
		SELECT @gym, u.id, u.name, u.key, u.sort, u.lang, u.year, u.pin, u.started, @at
		FROM unnest(@ids::uuid[], @names::text[], @keys::text[], @sorts::text[], @langs::text[], @years::smallint[], @pins::text[], @starts::date[])
		     AS u (id, name, key, sort, lang, year, pin, started)
		ON CONFLICT DO NOTHING`, args)
	if err != nil {
		return nil, 0, err
	}
	rows, _ := tx.tx.Query(ctx, `
		SELECT a.athlete_id
		FROM unnest(@keys::text[], @years::smallint[]) WITH ORDINALITY AS u (key, year, n)
		JOIN athlete a ON a.gym_id = @gym AND a.name_key = u.key AND coalesce(a.birth_year, 0) = coalesce(u.year, 0)
		ORDER BY u.n`, pgx.StrictNamedArgs{"gym": tx.gym, "keys": keys, "years": years}) // the collector reports Query's error
	ids, err = pgx.CollectRows(rows, pgx.RowTo[uuid.UUID])
	if err != nil {
		return nil, 0, fmt.Errorf("finding the added athletes: %w", err)
	}
	return ids, int(count), nil
}

// Enrol puts athletes into a class behind those who stand there, and returns
// how many were not in it before.
func (tx *Tx) Enrol(ctx context.Context, class uuid.UUID, athletes []uuid.UUID, since time.Time) (int, error) {
	added, err := tx.exec(ctx, "enrolling athletes", `
		INSERT INTO enrolment (gym_id, class_id, athlete_id, place, since)
		SELECT @gym, @class, u.id, last.place + u.n, @since
		FROM unnest(@ids::uuid[]) WITH ORDINALITY AS u (id, n),
		     (SELECT coalesce(max(place), 0)::int AS place FROM enrolment WHERE gym_id = @gym AND class_id = @class) AS last
		ON CONFLICT (gym_id, class_id, athlete_id) DO UPDATE SET until = NULL WHERE enrolment.until IS NOT NULL`,
		pgx.StrictNamedArgs{"class": class, "ids": athletes, "since": since})
	return int(added), err
}

// SetAthlete changes an athlete's name and birth year. Somebody else of that name
// and year is a Conflict.
func (tx *Tx) SetAthlete(ctx context.Context, a gym.Athlete, nameKey string) error {
	n, err := tx.exec(ctx, "changing an athlete", `
		UPDATE athlete SET name = @name, name_key = @key, sort_name = @sort, birth_year = nullif(@year, 0)
		WHERE gym_id = @gym AND athlete_id = @id`,
		pgx.StrictNamedArgs{"id": a.AthleteID, "name": a.Name, "key": nameKey, "sort": a.SortName, "year": int16(a.BirthYear)})
	if broke(err, "athlete_once") {
		return problem.Wrap(err, problem.Conflict, "Somebody of this name and birth year is here already. Add a word that tells them apart.")
	}
	return noneIs(n, err, "There is no such athlete in this gym.")
}

// LeaveOtherClasses takes an athlete out of every class but these.
func (tx *Tx) LeaveOtherClasses(ctx context.Context, athlete uuid.UUID, stays []uuid.UUID, day time.Time) error {
	_, err := tx.exec(ctx, "taking an athlete out of classes", `
		UPDATE enrolment SET until = @day
		WHERE gym_id = @gym AND athlete_id = @athlete AND until IS NULL AND NOT class_id = ANY(@stays::uuid[])`,
		pgx.StrictNamedArgs{"athlete": athlete, "stays": append([]uuid.UUID{}, stays...), "day": day})
	return err
}

// SetPIN gives an athlete a new PIN and ends the sign-ins made with the old one.
func (tx *Tx) SetPIN(ctx context.Context, athlete uuid.UUID, hash string) error {
	n, err := tx.exec(ctx, "setting a PIN", `UPDATE athlete SET pin_hash = @hash WHERE gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": athlete, "hash": hash})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such athlete in this gym.")
	}
	_, err = tx.exec(ctx, "ending sign-ins", endSignIns+`gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": athlete})
	return err
}

// PINHash returns the hash of an athlete's PIN, "" if there is none.
func (s *Store) PINHash(ctx context.Context, gymID, athlete uuid.UUID) (string, error) {
	hash := ""
	err := s.Read(ctx, gymID, func(batch *pgx.Batch) {
		batch.Queue(`SELECT pin_hash FROM athlete WHERE athlete_id = $1 AND archived_at IS NULL`, athlete).QueryRow(func(row pgx.Row) error {
			if err := row.Scan(&hash); err != nil && !errors.Is(err, pgx.ErrNoRows) {
				return fmt.Errorf("PIN of an athlete: %w", err)
			}
			return nil
		})
	})
	return hash, err
}

// Classmates reads the athletes who share a class with an athlete, by the order
// they stand in, without the athlete.
func Classmates(athlete uuid.UUID, into *[]gym.Athlete) Reading {
	return many("class-mates", into, selectAthlete+`
		WHERE a.archived_at IS NULL AND a.athlete_id <> @athlete AND EXISTS (
			SELECT FROM enrolment own JOIN enrolment other USING (gym_id, class_id)
			WHERE own.athlete_id = @athlete AND own.until IS NULL AND other.athlete_id = a.athlete_id AND other.until IS NULL)
		ORDER BY CASE WHEN a.sort_name <> '' THEN lower(a.sort_name) ELSE a.name_key END, a.athlete_id`,
		pgx.StrictNamedArgs{"athlete": athlete})
}
