package store

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// Addresses are the ways to one database for the app's role.
type Addresses struct {
	// Main reads and writes. With Direct set it leads through a pooler that may
	// give every transaction another session, as pgbouncer does.
	Main string
	// Direct leads past the pooler, for what needs a session of its own:
	// listening, and the queue of background work. Empty: Main does.
	Direct string
	// Replica leads to a streaming replica that takes reads off the database.
	// Empty: there is none.
	Replica string
}

// OpenAt returns a Store on the database at a. It makes no connection yet.
// Each tune may change the pools of the database and of its replica, before
// there are any.
func OpenAt(ctx context.Context, a Addresses, tune ...func(*pgxpool.Config)) (*Store, error) {
	config, err := poolAt(a.Main)
	if err != nil {
		return nil, err
	}
	s := &Store{}
	if a.Direct != "" {
		shareSessions(config, a.Main)
		direct, err := poolAt(a.Direct)
		if err != nil {
			return nil, err
		}
		trace(direct)
		s.direct = direct.ConnConfig
	}
	for _, change := range tune {
		change(config)
	}
	trace(config)
	if s.pool, err = pgxpool.NewWithConfig(ctx, config); err != nil {
		return nil, fmt.Errorf("opening the database: %w", err)
	}
	if s.direct == nil {
		s.direct = s.pool.Config().ConnConfig
	}
	if a.Replica == "" {
		return s, nil
	}
	if s.replica, err = openReplica(ctx, a.Replica, tune); err != nil {
		s.pool.Close()
		return nil, err
	}
	return s, nil
}

func poolAt(url string) (*pgxpool.Config, error) {
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("reading the database address: %w", err)
	}
	bound(config, url)
	return config, nil
}

// shareSessions keeps no prepared statement on a session that the next
// transaction may not meet again: only what the server told of it is kept. An
// address that chooses a mode itself has its way, since pgbouncer from 1.21 on
// carries prepared statements over.
func shareSessions(config *pgxpool.Config, url string) {
	if !strings.Contains(url, "default_query_exec_mode") {
		config.ConnConfig.DefaultQueryExecMode = pgx.QueryExecModeCacheDescribe
	}
}

// SessionPool returns a pool of a few connections of its own, whose sessions
// last: past any pooler. Whoever asks closes it.
func (s *Store) SessionPool(ctx context.Context, most int32) (*pgxpool.Pool, error) {
	config := s.pool.Config().Copy()
	config.ConnConfig = s.direct.Copy()
	config.MaxConns, config.MinConns = most, 0
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("opening connections of its own: %w", err)
	}
	return pool, nil
}
