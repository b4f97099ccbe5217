package store

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ropewalk.example/internal/problem"
)

// A Refill fills a gym that does not exist yet with the rows of an export.
type Refill struct {
	tx     pgx.Tx
	gym    uuid.UUID
	Shapes []Shape
}

// Refill calls f with a gym to be, all in one transaction: it is there whole or
// not at all. A gym that exists already is a Conflict.
func (s *Store) Refill(ctx context.Context, gymID uuid.UUID, f func(r *Refill) error) error {
	return classify(pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if err := plainly(ctx, tx, gymID); err != nil {
			return err
		}
		var there bool
		if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM gym)`).Scan(&there); err != nil {
			return fmt.Errorf("looking for the gym: %w", err)
		}
		if there {
			return problem.New(problem.Conflict, "This gym is here already.")
		}
		r := &Refill{tx: tx, gym: gymID}
		var err error
		if r.Shapes, err = shapesOf(ctx, tx); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `CREATE TEMP TABLE incoming (body json NOT NULL) ON COMMIT DROP`); err != nil {
			return fmt.Errorf("making room for rows: %w", err)
		}
		return f(r)
	}))
}

// mostAtOnce is how many rows go to the database in one statement.
const mostAtOnce = 2000

// Add adds all rows of a table, JSON objects with the given columns, and returns
// how many. next returns one after the other, nil at the end.
func (r *Refill) Add(ctx context.Context, table string, columns []string, next func() ([]byte, error)) (int, error) {
	if _, err := r.tx.Exec(ctx, `TRUNCATE incoming`); err != nil {
		return 0, fmt.Errorf("making room for rows of %s: %w", table, err)
	}
	count := 0
	for more := true; more; {
		var some []string
		for len(some) < mostAtOnce {
			row, err := next()
			if err != nil {
				return 0, err
			}
			if row == nil {
				more = false
				break
			}
			some = append(some, string(row))
		}
		if _, err := r.tx.Exec(ctx, `INSERT INTO incoming SELECT unnest($1::text[])::json`, some); err != nil {
			return 0, fmt.Errorf("bringing rows of %s: %w", table, err)
		}
		count += len(some)
	}
	// One statement for the whole table: rows may point at each other.
	names, values := strings.Join(quoted(columns), ", "), make([]string, len(columns))
	for i, c := range quoted(columns) {
		values[i] = "row." + c
	}
	target := pgx.Identifier{table}.Sanitize()
	sql := `INSERT INTO ` + target + ` (gym_id, ` + names + `) SELECT $1, ` + strings.Join(values, ", ")
	args := []any{r.gym}
	conflict := ""
	if table == people {
		// Somebody who works in another gym of this server is here already.
		sql = `INSERT INTO ` + target + ` (password_hash, ` + names + `) SELECT '', ` + strings.Join(values, ", ")
		args, conflict = nil, ` ON CONFLICT (person_id) DO NOTHING`
	}
	sql += ` FROM incoming, json_populate_record(NULL::` + target + `, body) AS row` + conflict
	if _, err := r.tx.Exec(ctx, sql, args...); err != nil {
		if broke(err, "person_sign_in_name_key") {
			return 0, problem.Wrap(err, problem.Conflict, "Somebody else signs in here with a name that this data has too. Bring it into a server of its own.")
		}
		if wrong, ok := errors.AsType[*pgconn.PgError](err); ok && (strings.HasPrefix(wrong.Code, "22") || strings.HasPrefix(wrong.Code, "23")) {
			return 0, problem.Wrap(err, problem.Invalid, "This export is damaged: rows of %s do not fit the others. Nothing was brought in. Copy the file once more.", table)
		}
		return 0, fmt.Errorf("adding rows of %s: %w", table, err)
	}
	return count, nil
}

// Tx is the transaction that the gym is made in, for what goes with it or not at
// all.
func (r *Refill) Tx() *Tx { return &Tx{tx: r.tx, gym: r.gym} }

// AddCode lets a class be found by its new code.
func (r *Refill) AddCode(ctx context.Context, class uuid.UUID, key string) error {
	_, err := r.tx.Exec(ctx, `INSERT INTO class_code (code, gym_id, class_id) VALUES ($1, $2, $3)`, key, r.gym, class)
	if err != nil {
		return fmt.Errorf("keeping a class code: %w", err)
	}
	return nil
}

// Note adds a line to the audit log.
func (r *Refill) Note(ctx context.Context, id, by uuid.UUID, action string) error {
	_, err := r.tx.Exec(ctx, `INSERT INTO audit (gym_id, audit_id, at, by, action, subject, subject_id) VALUES ($1, $2, now(), $3, $4, 'gym', $1)`, r.gym, id, by, action)
	if err != nil {
		return fmt.Errorf("noting in the audit log: %w", err)
	}
	return nil
}
