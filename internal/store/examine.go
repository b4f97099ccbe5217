package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// An Examination is what a database tells of itself, for whoever looks after it.
type Examination struct {
	Server      string    // PostgreSQL's version, "15.18"
	Schema      int       // newest migration, 0 without any
	Dirty       bool      // a migration was broken off
	Clock       time.Time // of the server
	Connections int       // in use
	Room        int       // for connections
	Bytes       int64     // of the whole database
	Backups     bool      // backups may read everything
	Unlimited   []string  // limits that the app's role lacks
	Durable     bool      // a commit waits for the disk
}

// Examine looks at the database at url, opened as its owner, and changes nothing.
func Examine(ctx context.Context, url string) (Examination, error) {
	var x Examination
	conn, err := knock(ctx, url)
	if err != nil {
		return x, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	x.Clock = time.Now() // the middle of the round trip is near enough
	err = conn.QueryRow(ctx, `
		SELECT split_part(current_setting('server_version'), ' ', 1), clock_timestamp(),
		       (SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend'), current_setting('max_connections')::int,
		       pg_database_size(current_database()), current_setting('fsync')::bool AND current_setting('synchronous_commit') <> 'off'`).
		Scan(&x.Server, &x.Clock, &x.Connections, &x.Room, &x.Bytes, &x.Durable)
	if err != nil {
		return x, classify(fmt.Errorf("looking at the database: %w", err))
	}
	var made bool
	if err := conn.QueryRow(ctx, `SELECT to_regclass('public.schema_migrations') IS NOT NULL`).Scan(&made); err != nil {
		return x, classify(fmt.Errorf("looking for the schema: %w", err))
	}
	if !made {
		return x, nil
	}
	if err := conn.QueryRow(ctx, `SELECT version::int, dirty FROM schema_migrations`).Scan(&x.Schema, &x.Dirty); err != nil {
		return x, classify(fmt.Errorf("reading the schema's version: %w", err))
	}
	_, err = readerOfAll(ctx, conn)
	x.Backups = err == nil
	x.Unlimited, err = unlimited(ctx, conn)
	return x, err
}

// unlimited lists the limits that the app's role lacks.
func unlimited(ctx context.Context, conn *pgx.Conn) ([]string, error) {
	var missing []string
	for setting := range Limits() {
		var has bool
		err := conn.QueryRow(ctx, `
			SELECT EXISTS (SELECT FROM pg_roles, unnest(rolconfig) AS kept WHERE rolname = $1 AND kept LIKE $2 || '=%')`, AppRole, setting).Scan(&has)
		if err != nil {
			return nil, classify(fmt.Errorf("reading the app role's limits: %w", err))
		}
		if !has {
			missing = append(missing, setting)
		}
	}
	return missing, nil
}
