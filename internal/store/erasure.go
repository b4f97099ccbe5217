package store

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// takeOn makes the transaction act as the erasure role, which alone may change
// and delete facts, until it ends.
const takeOn = `SET LOCAL ROLE ` + ErasureRole

// detached are the columns that point at an athlete without belonging to one:
// the pointer goes, the row stays.
var detached = map[string]string{"rope": "athlete_id"}

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

// An edge is a foreign key within a gym: child.column points at parent.key.
type edge struct {
	Child, Column string
	Nullable      bool
	Parent, Key   string
}

func (e *eraser) edges(ctx context.Context) ([]edge, error) {
	rows, _ := e.tx.tx.Query(ctx, `
		SELECT c.conrelid::regclass::text AS child, child.attname::text AS column, NOT child.attnotnull AS nullable,
		       c.confrelid::regclass::text AS parent, parent.attname::text AS key
		FROM pg_constraint c
		JOIN pg_attribute child ON child.attrelid = c.conrelid AND child.attnum = c.conkey[2]
		JOIN pg_attribute parent ON parent.attrelid = c.confrelid AND parent.attnum = c.confkey[2]
		WHERE c.contype = 'f' AND c.connamespace = 'public'::regnamespace AND cardinality(c.conkey) = 2 AND c.conrelid <> c.confrelid
		ORDER BY 1, 2`) // the collector reports Query's error
	edges, err := pgx.CollectRows(rows, pgx.RowToStructByName[edge])
	if err != nil {
		return nil, fmt.Errorf("reading the foreign keys: %w", err)
	}
	return edges, nil
}

// A doomed table is one with rows that go: those for which condition holds.
// Conditions are about $1, the gym, and $2, the athlete.
type doomed struct {
	table, condition string
	own              bool // the rows say themselves whose they are
}

// deleteRows deletes the athlete's rows, children before parents.
func (e *eraser) deleteRows(ctx context.Context) error {
	edges, err := e.edges(ctx)
	if err != nil {
		return err
	}
	found := []doomed{{table: "athlete", condition: "athlete_id = $2", own: true}}
	at := func(table string) int {
		return slices.IndexFunc(found, func(d doomed) bool { return d.table == table })
	}
	for _, k := range edges { // rows that say whose they are
		if k.Parent != "athlete" || detached[k.Child] == k.Column {
			continue
		}
		if i := at(k.Child); i >= 0 {
			found[i].condition += " OR " + k.Column + " = $2"
			continue
		}
		found = append(found, doomed{table: k.Child, condition: k.Column + " = $2", own: true})
	}
	for i := 0; i < len(found); i++ { // rows that belong to those; the list grows meanwhile
		for _, k := range edges {
			if k.Parent != found[i].table || k.Nullable || at(k.Child) >= 0 {
				continue
			}
			found = append(found, doomed{table: k.Child, condition: k.Column + " IN (SELECT " + k.Key + " FROM " + k.Parent + " WHERE gym_id = $1 AND (" + found[i].condition + "))"})
		}
	}
	if err := e.cutPointers(ctx, edges, found); err != nil {
		return err
	}
	for len(found) > 0 {
		i := slices.IndexFunc(found, func(d doomed) bool { // nothing that is left points here
			return !slices.ContainsFunc(edges, func(k edge) bool { return k.Parent == d.table && at(k.Child) >= 0 })
		})
		if i < 0 {
			return fmt.Errorf("the foreign keys of %v go in a circle", found)
		}
		tag, err := e.tx.tx.Exec(ctx, "DELETE FROM "+found[i].table+" WHERE gym_id = $1 AND ("+found[i].condition+")", e.tx.gym, e.athlete)
		if err != nil {
			return fmt.Errorf("deleting from %s: %w", found[i].table, err)
		}
		if tag.RowsAffected() > 0 {
			e.erased.Rows[found[i].table] = int(tag.RowsAffected())
		}
		found = slices.Delete(found, i, i+1)
	}
	_, err = e.tx.tx.Exec(ctx, `DELETE FROM sign_in WHERE gym_id = $1 AND athlete_id = $2`, e.tx.gym, e.athlete)
	return err
}

// cutPointers takes pointers at doomed rows out of rows that stay.
func (e *eraser) cutPointers(ctx context.Context, edges []edge, found []doomed) error {
	for _, k := range edges {
		parent := slices.IndexFunc(found, func(d doomed) bool { return d.table == k.Parent })
		if parent < 0 || !k.Nullable {
			continue
		}
		child := slices.IndexFunc(found, func(d doomed) bool { return d.table == k.Child })
		if child >= 0 && k.Parent == "athlete" {
			continue // the column says whose the row is
		}
		stays := "true"
		if child >= 0 {
			stays = "NOT coalesce((" + found[child].condition + "), false)"
		}
		sql := "UPDATE " + k.Child + " SET " + k.Column + " = NULL WHERE gym_id = $1 AND " + stays + " AND " + k.Column +
			" IN (SELECT " + k.Key + " FROM " + k.Parent + " WHERE gym_id = $1 AND (" + found[parent].condition + "))"
		tag, err := e.tx.tx.Exec(ctx, sql, e.tx.gym, e.athlete)
		if err != nil {
			return fmt.Errorf("cutting %s.%s: %w", k.Child, k.Column, err)
		}
		e.erased.Traces += int(tag.RowsAffected())
	}
	return nil
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

const selectErasure = `
	SELECT erasure_id, about, about_id, asked_for, asked_at, asked_by, keep_incidents, due_at, undone_at, done_at, report
	FROM erasure`

// Erasures reads who is to be forgotten, and was, newest first.
func Erasures(into *[]gym.Erasure) Reading {
	return many("erasures", into, selectErasure+`
		ORDER BY asked_at DESC, erasure_id DESC`, pgx.StrictNamedArgs{})
}

// Erasure reads one.
func Erasure(id uuid.UUID, into *gym.Erasure) Reading {
	return one("erasure", "There is nothing like that to undo in this gym.", into, selectErasure+`
		WHERE erasure_id = @erasure`, pgx.StrictNamedArgs{"erasure": id})
}

// AddErasure keeps that somebody is to be forgotten, and takes an athlete out of
// every list at once; asked twice is asked once.
func (tx *Tx) AddErasure(ctx context.Context, x gym.Erasure) error {
	_, err := tx.exec(ctx, "asking for an erasure", `
		INSERT INTO erasure (gym_id, erasure_id, about, about_id, asked_for, asked_at, asked_by, keep_incidents, due_at)
		VALUES (@gym, @id, @about, @about_id, @for, @at, @by, @keep, @due)
		ON CONFLICT DO NOTHING`,
		pgx.StrictNamedArgs{"id": x.ErasureID, "about": x.About, "about_id": x.AboutID, "for": x.AskedFor, "at": x.AskedAt, "by": x.AskedBy,
			"keep": x.KeepIncidents, "due": x.DueAt})
	if err != nil || x.About != "athlete" {
		return err
	}
	n, err := tx.exec(ctx, "taking an athlete out of the lists", `
		UPDATE athlete SET archived_at = coalesce(archived_at, @at) WHERE gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": x.AboutID, "at": x.AskedAt})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.NotFound, "There is no such athlete in this gym.")
	}
	_, err = tx.exec(ctx, "ending an athlete's sign-ins", endSignIns+`gym_id = @gym AND athlete_id = @athlete`, pgx.StrictNamedArgs{"athlete": x.AboutID})
	return err
}

// UndoErasure brings somebody back who is to be forgotten, while there is time.
func (tx *Tx) UndoErasure(ctx context.Context, x gym.Erasure, at time.Time, by uuid.UUID) error {
	n, err := tx.exec(ctx, "undoing an erasure", `
		UPDATE erasure SET undone_at = @at, undone_by = @by
		WHERE gym_id = @gym AND erasure_id = @id AND undone_at IS NULL AND done_at IS NULL`,
		pgx.StrictNamedArgs{"id": x.ErasureID, "at": at, "by": by})
	if err != nil {
		return err
	}
	if n == 0 {
		return problem.New(problem.Conflict, "That was undone already, or it is done and cannot be undone.")
	}
	if x.About != "athlete" {
		return nil
	}
	_, err = tx.exec(ctx, "bringing an athlete back", `UPDATE athlete SET archived_at = NULL WHERE gym_id = @gym AND athlete_id = @athlete`,
		pgx.StrictNamedArgs{"athlete": x.AboutID})
	return err
}

// FinishErasure keeps that it was done and what it came to.
func (tx *Tx) FinishErasure(ctx context.Context, id uuid.UUID, at time.Time, rows map[string]int) error {
	report, err := json.Marshal(rows)
	if err != nil {
		return fmt.Errorf("keeping the report of an erasure: %w", err)
	}
	_, err = tx.exec(ctx, "finishing an erasure", `
		UPDATE erasure SET done_at = @at, report = @report WHERE gym_id = @gym AND erasure_id = @id AND done_at IS NULL`,
		pgx.StrictNamedArgs{"id": id, "at": at, "report": string(report)})
	return err
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

// FormerStaff reads the people who worked in the gym and do so no more, newest
// first. Those who are forgotten are not among them.
func FormerStaff(into *[]gym.Former) Reading {
	return many("former staff", into, `
		SELECT m.person_id, p.name, max(m.until) AS until
		FROM membership m JOIN person p USING (person_id)
		WHERE m.role <> 'guardian' AND p.sign_in_name NOT LIKE 'erased-%' AND m.gym_id = current_setting('ropewalk.gym')::uuid
		  AND NOT EXISTS (SELECT FROM membership live
		                  WHERE live.gym_id = m.gym_id AND live.person_id = m.person_id AND live.role <> 'guardian' AND live.until IS NULL)
		GROUP BY m.person_id, p.name
		ORDER BY max(m.until) DESC, m.person_id`, pgx.StrictNamedArgs{})
}

// ErasureNames reads the names of those who are to be forgotten, by id, with the
// moment when they are.
func ErasureNames(into *[]gym.Former) Reading {
	return many("names of those to be forgotten", into, `
		SELECT e.about_id AS person_id, coalesce(a.name, p.name, '') AS name, e.due_at AS until
		FROM erasure e
		LEFT JOIN athlete a ON a.gym_id = e.gym_id AND a.athlete_id = e.about_id
		LEFT JOIN person p ON p.person_id = e.about_id AND e.about = 'person'
		WHERE e.undone_at IS NULL AND e.done_at IS NULL
		ORDER BY e.due_at, e.about_id`, pgx.StrictNamedArgs{})
}
