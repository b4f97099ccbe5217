// Package store keeps everything in Postgres. SQL lives here and nowhere else.
//
// A page's queries are Readings: values that say what to read and where to put
// it. Store.Read sends them all in one round trip, in one implicit transaction
// that starts by naming the gym, so that row-level security shows that gym's
// rows only. Writes go through Store.Write, one transaction each. The package
// returns the nouns of package gym and imports no other package of ours but
// problem and migrations.
package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// A Store reads and writes one database through a pool of the app role.
type Store struct {
	pool    *pgxpool.Pool
	direct  *pgx.ConnConfig // where a session lasts, past any pooler
	replica *replica        // nil without one
	crier   crier
}

// Open returns a Store on the database at url. It makes no connection yet.
// Each tune may change the pool, before there is one.
func Open(ctx context.Context, url string, tune ...func(*pgxpool.Config)) (*Store, error) {
	return OpenAt(ctx, Addresses{Main: url}, tune...)
}

// Stat tells how the main pool is used.
func (s *Store) Stat() *pgxpool.Stat { return s.pool.Stat() }

// Close gives every connection back.
func (s *Store) Close() {
	s.pool.Close()
	if s.replica != nil {
		s.replica.pool.Close()
	}
}

// Ping reports whether the database answers and has the schema that this
// program needs.
func (s *Store) Ping(ctx context.Context) error {
	var version int
	var dirty bool
	err := s.pool.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&version, &dirty)
	if err != nil {
		return classify(fmt.Errorf("asking for the schema's version: %w", err))
	}
	if newest := newestMigration(); dirty || version != newest {
		return fmt.Errorf("the schema is at version %d (dirty: %t), this program needs %d", version, dirty, newest)
	}
	return nil
}

// CheckRole refuses a database role that row-level security does not bind.
func (s *Store) CheckRole(ctx context.Context) error { return checkRole(ctx, s.pool) }

// asker is what a pool and a connection share for one question.
type asker interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

func checkRole(ctx context.Context, a asker) error {
	var free bool
	err := a.QueryRow(ctx, `
		SELECT rolsuper OR rolbypassrls OR EXISTS (
			SELECT FROM pg_class
			WHERE relnamespace = 'public'::regnamespace AND pg_has_role(pg_roles.oid, relowner, 'MEMBER'))
		FROM pg_roles WHERE rolname = current_user`).Scan(&free)
	if err != nil {
		return classify(fmt.Errorf("asking for the role's rights: %w", err))
	}
	if free {
		return problem.New(problem.Forbidden,
			"The database role can see past the walls between gyms. Use the role ropewalk_app, or leave that to Ropewalk by giving only DATABASE_URL.")
	}
	return nil
}

// A Reading is one query of a page: what to read, and where to put it.
type Reading func(batch *pgx.Batch)

// Read runs readings for gym in one round trip; once more if the connection
// broke.
func (s *Store) Read(ctx context.Context, gym uuid.UUID, readings ...Reading) error {
	if s.mayLag(ctx) && s.replica.read(ctx, s, gym, readings) == nil {
		return nil
	}
	if g, ok := ctx.Value(glancing{}).(*Glance); ok {
		return s.again(ctx, func() error { return s.glance(ctx, g, gym, readings) })
	}
	return s.again(ctx, func() error { return read(ctx, s.pool, gym, readings) })
}

// batcher is what a pool and a transaction share for reading.
type batcher interface {
	SendBatch(ctx context.Context, batch *pgx.Batch) pgx.BatchResults
}

func read(ctx context.Context, b batcher, gym uuid.UUID, readings []Reading) error {
	return readBatch(ctx, b, &pgx.Batch{}, gym, readings)
}

// readBatch adds readings to a batch, and sends it.
func readBatch(ctx context.Context, b batcher, batch *pgx.Batch, gym uuid.UUID, readings []Reading) error {
	queue(ctx, batch, gym, readings)
	return classify(b.SendBatch(ctx, batch).Close())
}

// queue puts readings on a batch, behind the name of their gym.
func queue(ctx context.Context, batch *pgx.Batch, gym uuid.UUID, readings []Reading) {
	batch.Queue(nameGym, gym.String())
	if isUnhurried(ctx) {
		batch.Queue(lift)
	}
	for _, reading := range readings {
		reading(batch)
	}
}

// nameGym tells row-level security which gym's rows to show, until the end of
// the transaction.
const nameGym = `SELECT set_config('ropewalk.gym', $1, true)`

// A Tx is one transaction in one gym. Its methods write.
type Tx struct {
	tx      pgx.Tx
	gym     uuid.UUID
	changed []Changed               // to be told to listeners after the commit
	bases   map[uuid.UUID]gym.Basis // of what is kept of athletes, as far as asked
	notes   *pgx.Batch              // for the audit log, sent before the commit; nil: each at once
}

// Write calls f with a transaction in gym, which commits if f returns nil and
// rolls back otherwise. f is called again where nothing was committed and
// another try may help, so it must not build on what it left outside.
//
// An Unavailable error may mean that the commit happened and only its answer
// was lost: whoever asked repeats it under the same id, which changes nothing.
func (s *Store) Write(ctx context.Context, gym uuid.UUID, f func(tx *Tx) error) error {
	return s.WriteOn(ctx, gym, func(*Tx) []Reading { return nil }, f)
}

// WriteOn is Write on what readings bring, which are read in the round trip that
// begins the transaction.
func (s *Store) WriteOn(ctx context.Context, gym uuid.UUID, readings func(tx *Tx) []Reading, f func(tx *Tx) error) error {
	var changed []Changed
	err := s.again(ctx, func() error {
		conn, err := s.pool.Acquire(ctx)
		if err != nil {
			return fmt.Errorf("beginning to write: %w", err)
		}
		defer conn.Release()
		written := &Tx{gym: gym, notes: &pgx.Batch{}}
		var opening pgx.Batch
		opening.BeginTx(pgx.TxOptions{})
		queue(ctx, &opening, gym, readings(written))
		opened := conn.SendBatch(ctx, &opening)
		written.tx = opened.Tx()
		defer func() {
			if conn.Conn().PgConn().TxStatus() != idle {
				_ = written.tx.Rollback(context.WithoutCancel(ctx)) // the connection is closed if it cannot
			}
		}()
		if err := opened.Close(); err != nil {
			return fmt.Errorf("beginning to write: %w", err)
		}
		if err := f(written); err != nil {
			return err
		}
		changed = written.changed
		return written.commit(ctx)
	})
	if err == nil {
		s.crier.tell(s.pool, changed)
	}
	return classify(err)
}

// idle is the status of a connection outside of a transaction: PostgreSQL's
// protocol, ReadyForQuery.
const idle = 'I'

// commit commits, with the notes for the audit log in the same round trip. A
// note that cannot be kept keeps the rest from being committed.
func (tx *Tx) commit(ctx context.Context) error {
	if tx.notes.Len() == 0 {
		if err := tx.tx.Commit(ctx); err != nil {
			return uncommitted{err}
		}
		return nil
	}
	tx.notes.Queue(`COMMIT`)
	if err := tx.tx.SendBatch(ctx, tx.notes).Close(); err != nil {
		return uncommitted{fmt.Errorf("noting in the audit log: %w", err)}
	}
	return nil
}

// Read runs readings inside the transaction, in one round trip.
func (tx *Tx) Read(ctx context.Context, readings ...Reading) error {
	return read(ctx, tx.tx, tx.gym, readings)
}

// Gym returns the gym that the transaction writes in.
func (tx *Tx) Gym() uuid.UUID { return tx.gym }

// exec runs one statement; args needs no gym, it is added as @gym.
func (tx *Tx) exec(ctx context.Context, doing, sql string, args pgx.StrictNamedArgs) (int64, error) {
	args["gym"] = tx.gym
	tag, err := tx.tx.Exec(ctx, sql, args)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", doing, err)
	}
	return tag.RowsAffected(), nil
}

// many reads all rows of a query into *into, an empty slice if there are none.
func many[T any](doing string, into *[]T, sql string, args pgx.StrictNamedArgs) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(sql, args).Query(func(rows pgx.Rows) error {
			found, err := collect[T](rows, sql)
			if err != nil {
				return fmt.Errorf("%s: %w", doing, err)
			}
			*into = found
			return nil
		})
	}
}

// one reads exactly one row; without one the answer is missing, a NotFound
// problem with that sentence.
func one[T any](doing, missing string, into *T, sql string, args pgx.StrictNamedArgs) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(sql, args).Query(func(rows pgx.Rows) error {
			found, err := collectOne[T](rows, sql)
			if errors.Is(err, pgx.ErrNoRows) {
				return problem.New(problem.NotFound, "%s", missing)
			}
			if err != nil {
				return fmt.Errorf("%s: %w", doing, err)
			}
			*into = found
			return nil
		})
	}
}

// orNull returns nil for the zero id, which the database keeps as NULL.
func orNull(id uuid.UUID) *uuid.UUID {
	if id == uuid.Nil {
		return nil
	}
	return &id
}
