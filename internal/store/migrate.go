package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"github.com/golang-migrate/migrate/v4"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"ropewalk.example/internal/problem"
	"ropewalk.example/migrations"
)

// The roles. Migrations run as whoever owns the schema; the app role owns
// nothing and is bound by row-level security; the backup role reads everything;
// the erasure role alone deletes facts, and the app takes it on by name.
const (
	AppRole     = "ropewalk_app"
	BackupRole  = "ropewalk_backup"
	ErasureRole = "ropewalk_erasure"
)

// EnsureRoles makes the app, backup and erasure roles on the server at url if
// they are missing. The role at url must be allowed to; if a database person made them
// beforehand, nothing is done. password, if not empty, lets the app role sign in.
func EnsureRoles(ctx context.Context, url, password string) error {
	conn, err := knock(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	// Roles belong to the whole server: two starts at once take turns.
	if err := takeTurn(ctx, conn); err != nil {
		return err
	}
	if err := ensureRole(ctx, conn, AppRole, "NOSUPERUSER NOBYPASSRLS"); err != nil {
		return err
	}
	if err := ensureRole(ctx, conn, BackupRole, "NOSUPERUSER BYPASSRLS"); err != nil {
		// Only a superuser may let a role read past row-level security. Without
		// that the app works; backups then need a role that somebody else made.
		if err := ensureRole(ctx, conn, BackupRole, "NOSUPERUSER"); err != nil {
			return err
		}
	}
	if err := ensureErasure(ctx, conn); err != nil {
		return err
	}
	if _, err := conn.Exec(ctx, `GRANT `+AppRole+` TO CURRENT_USER`); err != nil {
		return fmt.Errorf("letting the owner act as the app: %w", err)
	}
	// Without it the app works; backups then say what is missing.
	if _, err := conn.Exec(ctx, `GRANT `+BackupRole+` TO CURRENT_USER`); err != nil && !hasCode(err, insufficientPrivilege) {
		return fmt.Errorf("letting the owner make backups: %w", err)
	}
	if err := limitRole(ctx, conn); err != nil {
		return err
	}
	if password == "" {
		return nil
	}
	quoted := "'" + strings.ReplaceAll(password, "'", "''") + "'"
	if _, err := conn.Exec(ctx, `ALTER ROLE `+AppRole+` LOGIN PASSWORD `+quoted); err != nil {
		return fmt.Errorf("giving the app role its password: %w", err)
	}
	return nil
}

// ensureErasure makes the erasure role and lets the app take it on, without
// having its rights before it does.
func ensureErasure(ctx context.Context, conn *pgx.Conn) error {
	if err := ensureRole(ctx, conn, ErasureRole, "NOSUPERUSER NOBYPASSRLS NOLOGIN"); err != nil {
		return err
	}
	var inherits, app, owner bool
	err := conn.QueryRow(ctx, `
		SELECT rolinherit, pg_has_role(oid, $2::regrole, 'MEMBER'), pg_has_role(current_user, $2::regrole, 'MEMBER')
		FROM pg_roles WHERE rolname = $1`, AppRole, ErasureRole).Scan(&inherits, &app, &owner)
	if err != nil {
		return fmt.Errorf("looking at the erasure role: %w", err)
	}
	var missing []string
	if inherits { // before membership, so that no right slips through
		missing = append(missing, `ALTER ROLE `+AppRole+` NOINHERIT`)
	}
	if !app {
		missing = append(missing, `GRANT `+ErasureRole+` TO `+AppRole)
	}
	if !owner { // who steps down to the app must be a member too
		missing = append(missing, `GRANT `+ErasureRole+` TO CURRENT_USER`)
	}
	for _, sql := range missing {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return problem.Wrap(err, problem.Forbidden, "The database role may not do: %s. Ask whoever runs Postgres for it.", sql)
		}
	}
	return nil
}

// ensureRole makes a role unless it exists.
func ensureRole(ctx context.Context, conn *pgx.Conn, role, options string) error {
	var exists bool
	if err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1)`, role).Scan(&exists); err != nil {
		return fmt.Errorf("looking for role %s: %w", role, err)
	}
	if exists {
		return nil
	}
	if _, err := conn.Exec(ctx, `CREATE ROLE `+role+` `+options); err != nil {
		return problem.Wrap(err, problem.Forbidden,
			"The database role may not make the role %s. Ask whoever runs Postgres for: CREATE ROLE %s %s", role, role, options)
	}
	return nil
}

// migrateLock is the advisory lock under which replicas take turns.
const migrateLock = 7411

// Migrate brings the schema at url, opened as its owner, to the newest version.
// Replicas that start together take turns. The roles must exist: EnsureRoles.
func Migrate(ctx context.Context, url string) error {
	config, err := pgx.ParseConfig(url)
	if err != nil {
		return fmt.Errorf("reading the database address: %w", err)
	}
	m, err := migrator(*config)
	if err != nil {
		return classify(err)
	}
	defer m.Close() // gives the turn back, too
	conn, err := pgx.ConnectConfig(ctx, config)
	if err != nil {
		return classify(fmt.Errorf("connecting to migrate: %w", err))
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, `GRANT USAGE ON SCHEMA public TO `+AppRole+`, `+BackupRole); err != nil {
		return fmt.Errorf("opening the schema to the app: %w", err)
	}
	if err := up(m); err != nil {
		return err
	}
	for _, sql := range []string{
		`GRANT SELECT ON schema_migrations TO ` + AppRole,
		`GRANT SELECT ON ALL TABLES IN SCHEMA public, river TO ` + BackupRole,
		`GRANT SELECT ON ALL SEQUENCES IN SCHEMA public, river TO ` + BackupRole,
	} {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return fmt.Errorf("opening the schema to the roles: %w", err)
		}
	}
	return nil
}

// BrokenOff returns the number of a migration that was broken off in the
// database at url, opened as its owner, 0 if there is none.
func BrokenOff(ctx context.Context, url string) (int, error) {
	conn, err := knock(ctx, url)
	if err != nil {
		return 0, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var made bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('public.schema_migrations') IS NOT NULL`).Scan(&made); err != nil || !made {
		return 0, classify(err)
	}
	var broken int
	if err := conn.QueryRow(ctx, `SELECT coalesce(max(version), 0)::int FROM schema_migrations WHERE dirty`).Scan(&broken); err != nil {
		return 0, classify(fmt.Errorf("looking for a broken-off migration: %w", err))
	}
	return broken, nil
}

// migrator returns what migrates, once it is its turn. The turn belongs to the
// one session in which migrations run: where the program was killed, its turn
// lasts until the server has finished or dropped what that session asked for.
func migrator(config pgx.ConnConfig) (*migrate.Migrate, error) {
	source, err := iofs.New(migrations.FS, ".")
	if err != nil {
		return nil, fmt.Errorf("reading migrations: %w", err)
	}
	db := stdlib.OpenDB(config, stdlib.OptionAfterConnect(takeTurn))
	db.SetMaxOpenConns(1)
	driver, err := migratepgx.WithInstance(db, &migratepgx.Config{MultiStatementEnabled: false})
	if err != nil {
		return nil, errors.Join(fmt.Errorf("connecting to migrate: %w", err), db.Close())
	}
	m, err := migrate.NewWithInstance("migrations", source, "pgx", whole{driver})
	if err != nil {
		return nil, errors.Join(fmt.Errorf("preparing to migrate: %w", err), driver.Close())
	}
	return m, nil
}

// up repairs a migration that was broken off, then runs those that are missing.
func up(m *migrate.Migrate) error {
	version, dirty, err := m.Version()
	if err != nil && !errors.Is(err, migrate.ErrNilVersion) {
		return fmt.Errorf("reading the schema's version: %w", err)
	}
	if newest := newestMigration(); int(version) > newest {
		return problem.New(problem.Conflict,
			"This database was made by a newer Ropewalk (schema %d, this one knows %d). Start the newer program.", version, newest)
	}
	if dirty { // it left nothing: see whole
		before := int(version) - 1
		if before == 0 {
			before = -1 // golang-migrate's "nothing yet"
		}
		if err := m.Force(before); err != nil {
			return fmt.Errorf("taking back a broken-off migration: %w", err)
		}
	}
	if err := m.Up(); err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return problem.Wrap(err, problem.Unavailable,
			"The database could not be brought up to date. What was there is unchanged. Start again; if it says the same, keep the data and look at the details.")
	}
	return nil
}

// takeTurn waits for the migration lock by asking, for at most a minute, so
// that a stuck replica gives a sentence and not a silent wait. The lock is held
// until the session ends.
func takeTurn(ctx context.Context, conn *pgx.Conn) error {
	for range 300 {
		var mine bool
		if err := conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, migrateLock).Scan(&mine); err != nil {
			return fmt.Errorf("asking for the migration lock: %w", err)
		}
		if mine {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(200 * time.Millisecond):
		}
	}
	return problem.New(problem.Unavailable, "Another Ropewalk has been changing the schema for over a minute. Look at its log, then start this one again.")
}

// newestMigration returns the highest version among the embedded migrations.
func newestMigration() int {
	newest := 0
	names, _ := fs.Glob(migrations.FS, "*.up.sql") // the pattern is well-formed
	for _, name := range names {
		number, _, _ := strings.Cut(name, "_")
		if version, err := strconv.Atoi(number); err == nil && version > newest {
			newest = version
		}
	}
	return newest
}
