package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/problem"
)

// takeOn makes the transaction act as the erasure role, which alone may change
// and delete facts, until it ends.
const takeOn = `SET LOCAL ROLE ` + ErasureRole

// Erased says what erasing somebody came to.
type Erased struct {
	Rows   map[string]int // deleted, by table
	Words  int            // texts about others in which the name stood
	Traces int            // ids in rows about others
}

// Erase deletes everything that is kept of an athlete, by walking the foreign
// keys of the catalog, so that a new table is not forgotten. In rows about
// others, such as the log, the id becomes pseudonym and the name becomes
// "[erased]". Files that may show the athlete are removed; they can be made
// again. An athlete who is not there is no error.
func (s *Store) Erase(ctx context.Context, gymID, athlete, pseudonym uuid.UUID, keepIncidents bool, at time.Time) (Erased, error) {
	erased := Erased{}
	err := s.Write(Unhurried(ctx), gymID, func(tx *Tx) error {
		erased = Erased{Rows: map[string]int{}}
		name, birthYear, err := tx.nameOf(ctx, athlete)
		if err != nil || name == "" {
			return err
		}
		if _, err := tx.tx.Exec(ctx, takeOn); err != nil {
			return fmt.Errorf("taking on the erasure role: %w", err)
		}
		e := eraser{tx: tx, athlete: athlete, pseudonym: pseudonym, name: name, keep: keepIncidents, erased: &erased}
		steps := []func(context.Context) error{e.deleteRows, e.dropFiles, e.replaceIDs, e.replaceName}
		if keepIncidents {
			steps = append([]func(context.Context) error{func(ctx context.Context) error { return e.keepIncidents(ctx, birthYear) }}, steps...)
		}
		for _, step := range steps {
			if err := step(ctx); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return Erased{}, fmt.Errorf("erasing an athlete: %w", err)
	}
	return erased, nil
}

// nameOf returns an athlete's name, archived or not, "" if there is none.
func (tx *Tx) nameOf(ctx context.Context, athlete uuid.UUID) (name string, birthYear int, err error) {
	rows, _ := tx.tx.Query(ctx, `SELECT name, coalesce(birth_year, 0) AS birth_year FROM athlete WHERE athlete_id = $1`, athlete) // the collector reports Query's error
	found, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct {
		Name      string
		BirthYear int
	}])
	if err != nil || len(found) == 0 {
		return "", 0, err
	}
	return found[0].Name, found[0].BirthYear, nil
}

type eraser struct {
	tx                 *Tx
	athlete, pseudonym uuid.UUID
	name               string
	keep               bool // incidents
	erased             *Erased
}

// keepIncidents writes into incidents whom they concern, and cuts them off the
// athlete, so that they stay as long as law or insurer asks.
func (e *eraser) keepIncidents(ctx context.Context, birthYear int) error {
	whom := e.name
	if birthYear > 0 {
		whom += fmt.Sprintf(", born %d", birthYear)
	}
	_, err := e.tx.tx.Exec(ctx, `
		UPDATE incident SET what = 'Concerns ' || $3 || '. ' || what, athlete_id = NULL
		WHERE gym_id = $1 AND athlete_id = $2`, e.tx.gym, e.athlete, whom)
	if err != nil {
		return fmt.Errorf("keeping incidents: %w", err)
	}
	return nil
}

// dropFiles removes the bytes of every made file of the gym that shows several
// people, and stops those that are being made; their rows stay, and they can be
// made again.
func (e *eraser) dropFiles(ctx context.Context) error {
	if _, err := e.tx.tx.Exec(ctx, `UPDATE report SET removed_at = now() WHERE gym_id = $1 AND state = 'done' AND removed_at IS NULL`, e.tx.gym); err != nil {
		return fmt.Errorf("marking files: %w", err)
	}
	if _, err := e.tx.tx.Exec(ctx, `UPDATE report SET state = 'stopped', attempt = NULL, finished_at = now() WHERE gym_id = $1 AND state = 'working'`, e.tx.gym); err != nil {
		return fmt.Errorf("stopping files: %w", err)
	}
	if _, err := e.tx.tx.Exec(ctx, `DELETE FROM report_piece WHERE gym_id = $1`, e.tx.gym); err != nil {
		return fmt.Errorf("removing files: %w", err)
	}
	return nil
}

// A place is a column that may hold a trace.
type place struct{ Table, Column, Type string }

func (e *eraser) places(ctx context.Context, types ...string) ([]place, error) {
	rows, _ := e.tx.tx.Query(ctx, `
		SELECT a.attrelid::regclass::text AS "table", a.attname::text AS "column", format_type(a.atttypid, a.atttypmod) AS type
		FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
		WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND a.attnum > 0 AND NOT a.attisdropped
		  AND format_type(a.atttypid, a.atttypmod) = ANY ($1)
		  AND EXISTS (SELECT FROM pg_attribute g WHERE g.attrelid = c.oid AND g.attname = 'gym_id')
		  AND NOT EXISTS (SELECT FROM pg_index i WHERE i.indrelid = c.oid AND i.indisprimary AND a.attnum = ANY (i.indkey))
		ORDER BY 1, 2`, types) // the collector reports Query's error
	found, err := pgx.CollectRows(rows, pgx.RowToStructByName[place])
	if err != nil {
		return nil, fmt.Errorf("reading the columns: %w", err)
	}
	return found, nil
}

// replaceIDs puts the pseudonym in the place of the athlete's id.
func (e *eraser) replaceIDs(ctx context.Context) error {
	places, err := e.places(ctx, "uuid", "json", "jsonb", "text")
	if err != nil {
		return err
	}
	for _, p := range places {
		if p.Table == "erasure" { // the sign that it was done
			continue
		}
		sql := "UPDATE " + p.Table + " SET " + p.Column + " = $3 WHERE gym_id = $1 AND " + p.Column + " = $2"
		if p.Type != "uuid" {
			sql = "UPDATE " + p.Table + " SET " + p.Column + " = replace(" + p.Column + "::text, $2::uuid::text, $3::uuid::text)::" + p.Type +
				" WHERE gym_id = $1 AND position($2::uuid::text IN " + p.Column + "::text) > 0"
		}
		tag, err := e.tx.tx.Exec(ctx, sql, e.tx.gym, e.athlete, e.pseudonym)
		if err != nil {
			return fmt.Errorf("replacing the id in %s.%s: %w", p.Table, p.Column, err)
		}
		e.erased.Traces += int(tag.RowsAffected())
	}
	return nil
}

// named are tables whose texts are names of their own: another person may have
// the same one.
var named = []string{"athlete", "guardian", "class", "term", "holiday", "rope", "gym", "gym_rules", "ladder", "ladder_version", "ladder_draft", "stage",
	"invitation", "membership", "api_token"}

// replaceName takes the name out of what was written about others.
func (e *eraser) replaceName(ctx context.Context) error {
	places, err := e.places(ctx, "json", "jsonb", "text")
	if err != nil {
		return err
	}
	for _, p := range places {
		if slices.Contains(named, p.Table) || e.keep && p.Table == "incident" {
			continue
		}
		tag, err := e.tx.tx.Exec(ctx, "UPDATE "+p.Table+" SET "+p.Column+" = replace("+p.Column+"::text, $2, '[erased]')::"+p.Type+
			" WHERE gym_id = $1 AND position($2 IN "+p.Column+"::text) > 0", e.tx.gym, e.name)
		if err != nil {
			return fmt.Errorf("replacing the name in %s.%s: %w", p.Table, p.Column, err)
		}
		e.erased.Words += int(tag.RowsAffected())
	}
	return nil
}

// ErasePerson takes the name, the sign-in name and every way in from a person
// who works in no gym any more. What the person did stays, done by somebody.
func (s *Store) ErasePerson(ctx context.Context, gymID, person uuid.UUID) error {
	memberships, err := s.MembershipsOf(ctx, person)
	if err != nil {
		return err
	}
	if len(memberships) > 0 {
		return problem.New(problem.Conflict, "This person still works here or in another gym. End the work first.")
	}
	return s.Write(ctx, gymID, func(tx *Tx) error {
		if _, err := tx.tx.Exec(ctx, takeOn); err != nil {
			return fmt.Errorf("taking on the erasure role: %w", err)
		}
		for _, table := range []string{"recovery_code", "second_factor", "known_browser", "way_back"} {
			if _, err := tx.tx.Exec(ctx, `DELETE FROM `+table+` WHERE person_id = $1`, person); err != nil {
				return fmt.Errorf("deleting from %s: %w", table, err)
			}
		}
		if _, err := tx.tx.Exec(ctx, `DELETE FROM sign_in WHERE person_id = $1`, person); err != nil {
			return fmt.Errorf("deleting sign-ins: %w", err)
		}
		_, err := tx.tx.Exec(ctx, `
			UPDATE person SET name = 'Somebody who left', sign_in_name = 'erased-' || person_id, password_hash = '', lang = ''
			WHERE person_id = $1`, person)
		if err != nil {
			return fmt.Errorf("erasing a person: %w", err)
		}
		return nil
	})
}
