package bench

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

// costs are processor seconds of the program and the database together.
type costs struct {
	page map[string]float64 // of one page
	save float64            // of one result saved
}

// A year of one gym, for counting its cost (assumed): ten classes of thirty meet
// 34 times. At each meeting the coach opens twenty pages and saves a result of
// each athlete; each athlete looks at four pages.
const (
	yearAthletes = 300
	yearMeetings = 34
	coachPages   = 20
	ownPages     = 4
)

// cost works out what one gym of 300 athletes comes to in a year.
func (b *bench) cost(ctx context.Context) error {
	db := b.db()
	rows, bytes, err := sizeOf(ctx, db)
	if err != nil {
		return err
	}
	share := float64(yearAthletes*yearMeetings) / float64(db.athletes()*meetings)
	classes := float64(yearAthletes/classSize) * yearMeetings
	turns := float64(yearAthletes) * yearMeetings
	seconds := classes*coachPages*b.costs.page["class"] + turns*ownPages*b.costs.page["athlete"] + turns*b.costs.save
	b.year = fmt.Sprintf("One gym of %d athletes for a year, %d meetings of each class: %.0f rows, %.0f MB with indexes, %.0f s of processor time for "+
		"%.0f pages of coaches, %.0f of athletes and %.0f results saved.", yearAthletes, yearMeetings, float64(rows)*share, float64(bytes)*share/1e6, seconds,
		classes*coachPages, turns*ownPages, turns)
	return nil
}

// sizeOf counts the rows and bytes of a database's tables.
func sizeOf(ctx context.Context, db Database) (rows, bytes int64, err error) {
	conn, err := pgx.Connect(ctx, db.Owner)
	if err != nil {
		return 0, 0, fmt.Errorf("measuring the data: %w", err)
	}
	defer conn.Close(ctx)
	err = conn.QueryRow(ctx, `SELECT sum(reltuples)::bigint, sum(pg_total_relation_size(oid))::bigint FROM pg_class
		WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND reltuples > 0`).Scan(&rows, &bytes)
	if err != nil {
		return 0, 0, fmt.Errorf("measuring the data: %w", err)
	}
	return rows, bytes, nil
}

// spent is the processor time of the program and the database so far.
func (b *bench) spent(s *site) (time.Duration, error) {
	own, err := s.processor()
	if err != nil {
		return 0, err
	}
	database, err := databaseProcessor(b.cluster)
	return own + database, err
}
