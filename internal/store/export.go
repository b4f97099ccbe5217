package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// A Shape is one table as exports have it: without the gym's id and without what
// opens doors.
type Shape struct {
	Table   string
	Columns []ShapeColumn // in the table's order
	Key     []string      // columns that tell rows apart
	Refers  []string      // other tables that rows point at
}

// A ShapeColumn is one column of a Shape. Type is Postgres's name.
type ShapeColumn struct {
	Name     string
	Type     string
	Nullable bool
}

// Has reports whether the shape has a column.
func (s Shape) Has(column string) bool {
	return slices.ContainsFunc(s.Columns, func(c ShapeColumn) bool { return c.Name == column })
}

// leftOut are the tables and columns that no export holds, each with why. The
// sign-ins of athletes and staff do not move: they get new PINs and passwords.
func leftOut() map[string]string {
	return map[string]string{
		"report":               "files are made of the other tables",
		"report_piece":         "files are made of the other tables",
		"api_token":            "opens a door",
		"card":                 "opens a door",
		"device":               "opens a door",
		"link":                 "opens a door",
		"invitation":           "opens a door",
		"phone_entry":          "belongs to phones that were let in here",
		"athlete.pin_hash":     "opens a door",
		"class.code":           "opens a door",
		"person.password_hash": "opens a door",
	}
}

// LeftOut lists the tables that no export holds, with why.
func LeftOut() map[string]string {
	tables := map[string]string{}
	for what, why := range leftOut() {
		if !strings.Contains(what, ".") {
			tables[what] = why
		}
	}
	return tables
}

// people is the one table that belongs to no gym and still goes with it: who
// works or worked there or is a guardian there, without passwords.
const people = "person"

// A Snapshot reads a gym as it was at one moment, however long that takes.
type Snapshot struct {
	tx     pgx.Tx
	gym    uuid.UUID
	Schema int     // version of the schema
	Shapes []Shape // what there is to read, tables that others point at first
}

// Snapshot calls f with the gym as it is now. Nothing that is written meanwhile
// shows.
func (s *Store) Snapshot(ctx context.Context, gymID uuid.UUID, f func(snap *Snapshot) error) error {
	options := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	return classify(pgx.BeginTxFunc(ctx, s.pool, options, func(tx pgx.Tx) error {
		if err := plainly(ctx, tx, gymID); err != nil {
			return err
		}
		snap := &Snapshot{tx: tx, gym: gymID}
		if err := tx.QueryRow(ctx, `SELECT version FROM schema_migrations`).Scan(&snap.Schema); err != nil {
			return fmt.Errorf("asking for the schema's version: %w", err)
		}
		var err error
		if snap.Shapes, err = shapesOf(ctx, tx); err != nil {
			return err
		}
		return f(snap)
	}))
}

// plainly names the gym and lets times be written alike everywhere.
func plainly(ctx context.Context, tx pgx.Tx, gymID uuid.UUID) error {
	if _, err := tx.Exec(ctx, nameGym, gymID.String()); err != nil {
		return fmt.Errorf("naming the gym: %w", err)
	}
	_, err := tx.Exec(ctx, `SELECT set_config('TimeZone', 'UTC', true), set_config('DateStyle', 'ISO, YMD', true), set_config('IntervalStyle', 'iso_8601', true)`)
	if err != nil {
		return fmt.Errorf("settling how times are written: %w", err)
	}
	return nil
}

// shapesOf reads from the catalog what exports hold, so that a new table is in
// them from its first day.
func shapesOf(ctx context.Context, tx pgx.Tx) ([]Shape, error) {
	rows, _ := tx.Query(ctx, `
		SELECT c.relname::text AS table_name, a.attname::text AS name, format_type(a.atttypid, NULL) AS type, NOT a.attnotnull AS nullable,
		       coalesce(array_position(i.indkey::int2[], a.attnum), -1) AS key_place,
		       ARRAY(SELECT DISTINCT r.relname::text FROM pg_constraint f JOIN pg_class r ON r.oid = f.confrelid
		             WHERE f.contype = 'f' AND f.conrelid = c.oid AND f.confrelid <> c.oid ORDER BY 1) AS refers
		FROM pg_class c
		JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum > 0 AND NOT a.attisdropped
		LEFT JOIN pg_index i ON i.indrelid = c.oid AND i.indisprimary
		WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p')
		  AND (c.relrowsecurity OR c.relname = 'person')
		ORDER BY c.relname, a.attnum`) // the collector reports Query's error
	type line struct {
		TableName string
		Name      string
		Type      string
		Nullable  bool
		KeyPlace  int
		Refers    []string
	}
	lines, err := pgx.CollectRows(rows, pgx.RowToStructByName[line])
	if err != nil {
		return nil, fmt.Errorf("reading the catalog: %w", err)
	}
	without := leftOut()
	var shapes []Shape
	keys := map[string]map[int]string{}
	for _, l := range lines {
		if _, out := without[l.TableName]; out || l.Name == "gym_id" {
			continue
		}
		if _, out := without[l.TableName+"."+l.Name]; out {
			continue
		}
		if len(shapes) == 0 || shapes[len(shapes)-1].Table != l.TableName {
			shapes = append(shapes, Shape{Table: l.TableName, Refers: l.Refers})
			keys[l.TableName] = map[int]string{}
		}
		s := &shapes[len(shapes)-1]
		s.Columns = append(s.Columns, ShapeColumn{l.Name, l.Type, l.Nullable})
		if l.KeyPlace >= 0 {
			keys[l.TableName][l.KeyPlace] = l.Name
		}
	}
	for i := range shapes {
		for place := range 16 {
			if name, ok := keys[shapes[i].Table][place]; ok {
				shapes[i].Key = append(shapes[i].Key, name)
			}
		}
	}
	return inOrder(shapes)
}

// inOrder puts tables that others point at before those.
func inOrder(shapes []Shape) ([]Shape, error) {
	var ordered []Shape
	placed := map[string]bool{}
	waiting := func(s Shape) bool {
		return slices.ContainsFunc(s.Refers, func(table string) bool {
			return !placed[table] && slices.ContainsFunc(shapes, func(o Shape) bool { return o.Table == table })
		})
	}
	for len(ordered) < len(shapes) {
		before := len(ordered)
		for _, s := range shapes {
			if !placed[s.Table] && !waiting(s) {
				ordered, placed[s.Table] = append(ordered, s), true
			}
		}
		if len(ordered) == before {
			return nil, errors.New("tables point at each other in a circle")
		}
	}
	return ordered, nil
}

// Rows hands over the rows of a table as JSON objects, in the order of the key,
// one a call: of the whole gym, or of one athlete where the table has athletes.
func (snap *Snapshot) Rows(ctx context.Context, s Shape, athlete uuid.UUID, each func(row []byte) error) error {
	columns := make([]string, len(s.Columns))
	for i, c := range s.Columns {
		columns[i] = pgx.Identifier{c.Name}.Sanitize()
	}
	sql := `SELECT row_to_json(t)::text FROM (SELECT ` + strings.Join(columns, ", ") + ` FROM ` + pgx.Identifier{s.Table}.Sanitize() + ` x`
	var args []any
	switch {
	case s.Table == people:
		sql += ` WHERE EXISTS (SELECT FROM membership m WHERE m.gym_id = $1 AND m.person_id = x.person_id)
			OR EXISTS (SELECT FROM guardian g WHERE g.gym_id = $1 AND g.person_id = x.person_id)`
		args = append(args, snap.gym)
	case s.Table == "audit":
		sql += ` WHERE action <> ALL ($1)`
		args = append(args, AuditOfMoves())
	case athlete != uuid.Nil:
		sql += ` WHERE athlete_id = $1`
		args = append(args, athlete)
	}
	if len(s.Key) > 0 { // the gym itself is one row
		sql += ` ORDER BY ` + strings.Join(quoted(s.Key), ", ")
	}
	sql += `) t`
	rows, _ := snap.tx.Query(ctx, sql, args...) // ForEachRow reports Query's error
	var row []byte
	_, err := pgx.ForEachRow(rows, []any{&row}, func() error { return each(row) })
	if err != nil {
		return fmt.Errorf("reading table %s: %w", s.Table, err)
	}
	return nil
}

// MeetingsOf hands over the classes and sessions that an athlete's rows point
// at, without what was noted about others.
func (snap *Snapshot) MeetingsOf(ctx context.Context, athlete uuid.UUID, class, session func(row []byte) error) error {
	for _, read := range []struct {
		sql  string
		each func(row []byte) error
	}{
		{`SELECT row_to_json(t)::text FROM (SELECT c.class_id, c.name FROM class c
			WHERE EXISTS (SELECT FROM enrolment e WHERE e.gym_id = c.gym_id AND e.class_id = c.class_id AND e.athlete_id = $1) ORDER BY c.class_id) t`, class},
		{`SELECT row_to_json(t)::text FROM (SELECT s.session_id, s.class_id, s.day, s.starts_at, s.minutes FROM session s
			WHERE EXISTS (SELECT FROM attendance t WHERE t.gym_id = s.gym_id AND t.session_id = s.session_id AND t.athlete_id = $1) ORDER BY s.session_id) t`, session},
	} {
		rows, _ := snap.tx.Query(ctx, read.sql, athlete) // ForEachRow reports Query's error
		var row []byte
		if _, err := pgx.ForEachRow(rows, []any{&row}, func() error { return read.each(row) }); err != nil {
			return fmt.Errorf("reading the meetings of an athlete: %w", err)
		}
	}
	return nil
}

func quoted(names []string) []string {
	all := make([]string, len(names))
	for i, name := range names {
		all[i] = pgx.Identifier{name}.Sanitize()
	}
	return all
}

// What the audit log says when data leave or come. Exports leave these lines out:
// they tell of a server, not of the gym.
const (
	NotedExport = "took data out"
	NotedImport = "brought data in"
)

// AuditOfMoves are the lines of the audit log that exports leave out.
func AuditOfMoves() []string { return []string{NotedExport, NotedImport} }
