package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/store"
)

// The whole of the data: three years of one meeting a week in term time, at
// each meeting one test, a plan and ten sets per athlete.
const (
	allAthletes  = 10_000
	meetings     = 100
	setsAMeeting = 10
	largestGym   = 1_000 // the first gym of each database, which is the one measured
	otherGyms    = 300
	classSize    = 30
	weeks        = 156
)

// keepFor is how long data are used again: pages read what is recent, and that
// is worked out from the day on which the data were made.
const keepFor = 7 * 24 * time.Hour

// appPassword lets the app's role into a server that nobody else can reach.
const appPassword = "bench"

// A Database is made data of one size.
type Database struct {
	Percent int    // of all athletes
	Owner   string // address of the schema's owner
	App     string // address of the role that row-level security binds
	Home    Home
	Made    time.Time
}

func (d Database) athletes() int { return allAthletes * d.Percent / 100 }

// rows are the tests and the sets in it.
func (d Database) rows() (tests, sets int) {
	return d.athletes() * meetings, d.athletes() * meetings * setsAMeeting
}

// Prepare makes the data of a size in a database of its own on cluster, unless
// they are there.
func Prepare(ctx context.Context, cluster *localpg.Cluster, percent int, say func(format string, args ...any)) (Database, error) {
	name := fmt.Sprintf("ropewalk_%d", percent)
	db := Database{Percent: percent, Owner: cluster.URL(name), App: cluster.RoleURL(store.AppRole, appPassword, name)}
	var err error
	if db.Made, err = madeOn(ctx, cluster, name); err != nil {
		return db, err
	}
	fresh := time.Since(db.Made) > keepFor
	if fresh {
		if err := recreate(ctx, cluster, name); err != nil {
			return db, err
		}
		db.Made = time.Now().UTC().Truncate(time.Second)
	}
	if err := store.EnsureRoles(ctx, db.Owner, appPassword); err != nil {
		return db, err
	}
	if err := store.Migrate(ctx, db.Owner); err != nil {
		return db, err
	}
	f := newFilling(db)
	db.Home = f.home()
	if !fresh {
		return db, nil
	}
	began := time.Now()
	if err := f.fill(ctx, say); err != nil {
		return db, fmt.Errorf("making the data of %s: %w", name, err)
	}
	say("made %s in %s", name, time.Since(began).Round(time.Second))
	return db, asSuperuser(ctx, cluster, fmt.Sprintf(`COMMENT ON DATABASE %s IS '%s'`, name, db.Made.Format(time.RFC3339)))
}

// madeOn returns when the data of a database were made; zero if they never were,
// or not to the end.
func madeOn(ctx context.Context, cluster *localpg.Cluster, name string) (time.Time, error) {
	conn, err := pgx.Connect(ctx, cluster.URL("postgres"))
	if err != nil {
		return time.Time{}, fmt.Errorf("looking for the data: %w", err)
	}
	defer conn.Close(ctx)
	var comment string
	err = conn.QueryRow(ctx, `SELECT coalesce((SELECT shobj_description(oid, 'pg_database') FROM pg_database WHERE datname = $1), '')`, name).Scan(&comment)
	if err != nil {
		return time.Time{}, fmt.Errorf("looking for the data: %w", err)
	}
	made, err := time.Parse(time.RFC3339, comment)
	if err != nil {
		return time.Time{}, nil
	}
	return made, nil
}

func recreate(ctx context.Context, cluster *localpg.Cluster, name string) error {
	return asSuperuser(ctx, cluster, `DROP DATABASE IF EXISTS `+name+` WITH (FORCE)`, `CREATE DATABASE `+name)
}

func asSuperuser(ctx context.Context, cluster *localpg.Cluster, statements ...string) error {
	conn, err := pgx.Connect(ctx, cluster.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connecting to the database server: %w", err)
	}
	defer conn.Close(ctx)
	for _, sql := range statements {
		if _, err := conn.Exec(ctx, sql); err != nil {
			return fmt.Errorf("%s: %w", sql, err)
		}
	}
	return nil
}
