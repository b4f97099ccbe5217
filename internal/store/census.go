package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/problem"
)

// A Census is what a whole database holds at one moment, for backups to be
// compared with.
type Census struct {
	Schema   int // number of the newest migration
	Postgres int // major version of the server
	Tables   []TableCount
}

// A TableCount is how many rows a table has, and a sum over their text that
// does not depend on their order.
type TableCount struct {
	Name string `json:"name"`
	Rows int64  `json:"rows"`
	Sum  string `json:"sum"`
}

// Rows returns the rows of all tables.
func (c Census) Rows() int64 {
	n := int64(0)
	for _, table := range c.Tables {
		n += table.Rows
	}
	return n
}

// Passing are the tables whose rows are worth nothing after a restore, and
// would be dangerous: sign-ins that ended since would be good again.
func Passing() []string {
	return []string{"public.sign_in", "public.wrong_try", "public.first_code", "river.river_leader"}
}

// TakeCensus counts the database at url, opened as its owner, and calls during
// while that moment can still be seen by others under the name snapshot. role
// is the role to read it as, empty for the owner itself.
func TakeCensus(ctx context.Context, url string, during func(c Census, snapshot, role string) error) error {
	conn, err := knock(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	role, err := readerOfAll(ctx, conn)
	if err != nil {
		return err
	}
	return pgx.BeginTxFunc(ctx, conn, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, func(tx pgx.Tx) error {
		if role != "" {
			if _, err := tx.Exec(ctx, `SET LOCAL ROLE `+role); err != nil {
				return fmt.Errorf("reading as %s: %w", role, err)
			}
		}
		c, snapshot, err := census(ctx, tx)
		if err != nil {
			return fmt.Errorf("counting the database: %w", err)
		}
		return during(c, snapshot, role)
	})
}

// readerOfAll returns the role that reads past row-level security, empty if the
// one that is signed in does.
func readerOfAll(ctx context.Context, conn *pgx.Conn) (string, error) {
	var free, backupFree, member bool
	err := conn.QueryRow(ctx, `
		SELECT own.rolsuper OR own.rolbypassrls, backup.rolbypassrls, pg_has_role(own.oid, backup.oid, 'MEMBER')
		FROM pg_roles own, pg_roles backup WHERE own.rolname = current_user AND backup.rolname = $1`, BackupRole).Scan(&free, &backupFree, &member)
	switch {
	case err != nil:
		return "", classify(fmt.Errorf("asking who may read everything: %w", err))
	case free:
		return "", nil
	case backupFree && member:
		return BackupRole, nil
	}
	return "", problem.New(problem.Forbidden,
		"The database's owner may not read past the walls between gyms, so no backup can be made. Ask whoever runs Postgres for: ALTER ROLE %s BYPASSRLS; GRANT %s TO the owner.", BackupRole, BackupRole)
}

func census(ctx context.Context, tx pgx.Tx) (c Census, snapshot string, err error) {
	for setting, value := range map[string]string{"TimeZone": "UTC", "DateStyle": "ISO", "IntervalStyle": "postgres", "extra_float_digits": "1", "bytea_output": "hex"} {
		if _, err := tx.Exec(ctx, `SELECT set_config($1, $2, true)`, setting, value); err != nil {
			return c, "", err
		}
	}
	err = tx.QueryRow(ctx, `SELECT version::int, current_setting('server_version_num')::int / 10000, pg_export_snapshot() FROM schema_migrations WHERE NOT dirty`).
		Scan(&c.Schema, &c.Postgres, &snapshot)
	if err != nil {
		return c, "", err
	}
	rows, _ := tx.Query(ctx, `
		SELECT quote_ident(nspname) || '.' || quote_ident(relname)
		FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace
		WHERE nspname IN ('public', 'river') AND relkind IN ('r', 'p') AND nspname || '.' || relname <> ALL ($1)
		ORDER BY 1`, Passing()) // the collector reports Query's error
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return c, "", err
	}
	for _, name := range names {
		table := TableCount{Name: name}
		err := tx.QueryRow(ctx, `SELECT count(*), coalesce(sum(hashtextextended(t::text, 0)), 0)::text FROM `+name+` t`).Scan(&table.Rows, &table.Sum)
		if err != nil {
			return c, "", fmt.Errorf("%s: %w", name, err)
		}
		c.Tables = append(c.Tables, table)
	}
	return c, snapshot, nil
}

// Differences lists the tables of which two censuses tell different things. Sums
// of different server versions are not compared: they may write a value otherwise.
func (c Census) Differences(other Census) []string {
	var lines []string
	theirs := map[string]TableCount{}
	for _, table := range other.Tables {
		theirs[table.Name] = table
	}
	for _, mine := range c.Tables {
		their, there := theirs[mine.Name]
		delete(theirs, mine.Name)
		switch {
		case !there:
			lines = append(lines, mine.Name+" is missing")
		case mine.Rows != their.Rows:
			lines = append(lines, fmt.Sprintf("%s has %d rows, not %d", mine.Name, their.Rows, mine.Rows))
		case mine.Sum != their.Sum && c.Postgres == other.Postgres:
			lines = append(lines, mine.Name+" has other content")
		}
	}
	for _, their := range other.Tables {
		if _, left := theirs[their.Name]; left {
			lines = append(lines, their.Name+" was not expected")
		}
	}
	return lines
}

// NewestSchema returns the number of the newest migration that this program knows.
func NewestSchema() int { return newestMigration() }

// Vacant reports whether the database at url, opened as its owner, holds no gym
// and no person, so that a backup may take its place.
func Vacant(ctx context.Context, url string) (bool, error) {
	conn, err := knock(ctx, url)
	if err != nil {
		return false, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var made bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('public.gym') IS NOT NULL OR to_regclass('public.person') IS NOT NULL`).Scan(&made); err != nil {
		return false, classify(fmt.Errorf("looking at the database: %w", err))
	}
	if !made {
		return true, nil
	}
	role, err := readerOfAll(ctx, conn)
	if err != nil {
		return false, err
	}
	if role != "" {
		if _, err := conn.Exec(ctx, `SET ROLE `+role); err != nil {
			return false, fmt.Errorf("reading as %s: %w", role, err)
		}
	}
	var vacant bool
	if err := conn.QueryRow(ctx, `SELECT NOT EXISTS (SELECT FROM gym) AND NOT EXISTS (SELECT FROM person)`).Scan(&vacant); err != nil {
		return false, classify(fmt.Errorf("looking for gyms: %w", err))
	}
	return vacant, nil
}

// Clear drops everything from the database at url, opened as its owner. It
// refuses one that is not vacant, unless it holds only what a restore left that
// broke off: whoever calls says so by halfDone.
func Clear(ctx context.Context, url string, halfDone bool) error {
	if !halfDone {
		vacant, err := Vacant(ctx, url)
		if err != nil {
			return err
		}
		if !vacant {
			return problem.New(problem.Conflict, "The database holds a gym already. A backup is only restored into an empty one.")
		}
	}
	conn, err := knock(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var anything bool
	err = conn.QueryRow(ctx, `
		SELECT EXISTS (SELECT FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace WHERE nspname IN ('public', 'river'))
		    OR EXISTS (SELECT FROM pg_proc JOIN pg_namespace n ON n.oid = pronamespace WHERE nspname IN ('public', 'river'))`).Scan(&anything)
	if err != nil {
		return classify(fmt.Errorf("looking at the database: %w", err))
	}
	if !anything {
		return nil
	}
	_, err = conn.Exec(ctx, `
		BEGIN;
		DROP SCHEMA IF EXISTS river CASCADE;
		DROP SCHEMA public CASCADE;
		CREATE SCHEMA public;
		GRANT USAGE ON SCHEMA public TO PUBLIC;
		COMMIT`)
	if err != nil {
		return fmt.Errorf("emptying the database: %w", err)
	}
	return nil
}

// Settle tells the planner of queries what a restored database holds.
func Settle(ctx context.Context, url string) error {
	conn, err := knock(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, `ANALYZE`); err != nil {
		return fmt.Errorf("gathering statistics: %w", err)
	}
	return nil
}
