package store

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// A replica is a copy of the database that follows it a moment behind. It
// answers a read only once it has everything that was committed before the read
// began, so that nobody misses what somebody else, or they themselves, have just
// saved. Where it is away or too far behind, the database itself answers.
type replica struct {
	pool  *pgxpool.Pool
	avoid atomic.Int64 // until when it is not asked, in Unix nanoseconds
}

// How much patience a replica gets.
const (
	catchUpWithin  = 500 * time.Millisecond
	firstLook      = 2 * time.Millisecond
	avoidedFor     = 5 * time.Second
	divisionByZero = "22012"
)

// byReplica marks a context whose reads a replica may answer.
type byReplica struct{}

// ByReplica returns a context for reads that a replica may answer, where there
// is one: large ones, and those that many look at.
func ByReplica(ctx context.Context) context.Context {
	return context.WithValue(ctx, byReplica{}, true)
}

func (s *Store) mayLag(ctx context.Context) bool {
	return s.replica != nil && ctx.Value(byReplica{}) != nil
}

func openReplica(ctx context.Context, url string, tune []func(*pgxpool.Config)) (*replica, error) {
	config, err := poolAt(url)
	if err != nil {
		return nil, err
	}
	for _, change := range tune {
		change(config)
	}
	config.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error { return checkRole(ctx, conn) }
	trace(config)
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("opening the replica: %w", err)
	}
	return &replica{pool: pool}, nil
}

// hasAll breaks a batch off, at next to no cost, on a server that has not
// replayed the log up to $1. A replica that was promoted follows nobody: it
// counts as one that never catches up.
const hasAll = `SELECT 1 / (CASE WHEN pg_is_in_recovery() AND pg_last_wal_replay_lsn() >= $1::text::pg_lsn THEN 1 ELSE 0 END)`

var errAvoided = errors.New("the replica is not asked for a while")

// read runs readings on the replica; an error means that it did not.
func (r *replica) read(ctx context.Context, s *Store, gym uuid.UUID, readings []Reading) error {
	if time.Now().UnixNano() < r.avoid.Load() {
		return errAvoided
	}
	var committed string
	if err := s.pool.QueryRow(ctx, `SELECT pg_current_wal_lsn()::text`).Scan(&committed); err != nil {
		return fmt.Errorf("asking how far the log is: %w", err)
	}
	pause := firstLook
	for began := time.Now(); ; pause *= 2 {
		batch := &pgx.Batch{}
		batch.Queue(hasAll, committed)
		err := readBatch(ctx, r.pool, batch, gym, readings)
		behind := hasCode(err, divisionByZero)
		if behind && time.Since(began) < catchUpWithin && wait(ctx, pause) == nil {
			continue
		}
		if behind || away(err) {
			r.avoid.Store(time.Now().Add(avoidedFor).UnixNano())
		}
		return err
	}
}
