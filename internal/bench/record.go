package bench

import (
	"context"
	"sync"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// A trip is what goes to the database and back at once.
type trip []statement

type statement struct {
	sql  string
	args []any
}

// A recorder is a tracer that notes which statements a request sends, by trip.
// What the program sends on its own account is left out.
type recorder struct {
	mu    sync.Mutex
	trips []trip
}

// requested marks the context of the request that is noted.
type requested struct{}

func (r *recorder) note(ctx context.Context, fresh bool, s ...statement) {
	if ctx.Value(requested{}) == nil {
		return
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if fresh || len(r.trips) == 0 {
		r.trips = append(r.trips, nil)
	}
	last := len(r.trips) - 1
	r.trips[last] = append(r.trips[last], s...)
}

// taken returns what was noted, and begins anew.
func (r *recorder) taken() []trip {
	r.mu.Lock()
	defer r.mu.Unlock()
	trips := r.trips
	r.trips = nil
	return trips
}

// TraceQueryStart implements pgx.QueryTracer.
func (r *recorder) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	if q.SQL != "-- ping" { // the pool's look at a connection that rested
		r.note(ctx, true, statement{q.SQL, q.Args})
	}
	return ctx
}

// TraceQueryEnd implements pgx.QueryTracer.
func (r *recorder) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// TraceBatchStart implements pgx.BatchTracer.
func (r *recorder) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	r.note(ctx, true)
	return ctx
}

// TraceBatchQuery implements pgx.BatchTracer.
func (r *recorder) TraceBatchQuery(ctx context.Context, _ *pgx.Conn, q pgx.TraceBatchQueryData) {
	r.note(ctx, false, statement{q.SQL, q.Args})
}

// TraceBatchEnd implements pgx.BatchTracer.
func (r *recorder) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData) {}

// replay sends the trips once more over one connection and reads every row. Ids
// that the program made for this request are made anew, so that what was
// inserted is inserted again.
func replay(ctx context.Context, conn *pgx.Conn, trips []trip, made map[uuid.UUID]bool) error {
	fresh := map[uuid.UUID]uuid.UUID{}
	for _, t := range trips {
		if len(t) == 1 && len(t[0].args) == 0 { // BEGIN with the gym's name, COMMIT
			if _, err := conn.Exec(ctx, t[0].sql); err != nil {
				return err
			}
			continue
		}
		if len(t) == 1 {
			rows, err := conn.Query(ctx, t[0].sql, renew(t[0].args, made, fresh)...)
			if err != nil {
				return err
			}
			if err := drain(rows); err != nil {
				return err
			}
			continue
		}
		batch := &pgx.Batch{}
		for _, s := range t {
			batch.Queue(s.sql, renew(s.args, made, fresh)...)
		}
		results := conn.SendBatch(ctx, batch)
		for range t {
			rows, err := results.Query()
			if err != nil {
				results.Close()
				return err
			}
			if err := drain(rows); err != nil {
				results.Close()
				return err
			}
		}
		if err := results.Close(); err != nil {
			return err
		}
	}
	return nil
}

func drain(rows pgx.Rows) error {
	for rows.Next() {
	}
	rows.Close()
	return rows.Err()
}

// renew puts a fresh id in the place of each one that the request made.
func renew(args []any, made map[uuid.UUID]bool, fresh map[uuid.UUID]uuid.UUID) []any {
	if len(made) == 0 {
		return args
	}
	another := func(id uuid.UUID) uuid.UUID {
		if !made[id] {
			return id
		}
		if fresh[id] == uuid.Nil {
			fresh[id] = uuid.Must(uuid.NewV7())
		}
		return fresh[id]
	}
	renewed := make([]any, len(args))
	for i, arg := range args {
		switch v := arg.(type) {
		case uuid.UUID:
			renewed[i] = another(v)
		case []uuid.UUID:
			list := make([]uuid.UUID, len(v))
			for j, id := range v {
				list[j] = another(id)
			}
			renewed[i] = list
		case pgx.StrictNamedArgs:
			named := make(pgx.StrictNamedArgs, len(v))
			for name, value := range v {
				named[name] = renew([]any{value}, made, fresh)[0]
			}
			renewed[i] = named
		default:
			renewed[i] = arg
		}
	}
	return renewed
}

// madeSince returns the ids in the arguments of trips that were made at or after
// a time: they are of version 7 and begin with their time.
func madeSince(trips []trip, seconds, nanoseconds int64) map[uuid.UUID]bool {
	made := map[uuid.UUID]bool{}
	look := func(id uuid.UUID) {
		if id.Version() != 7 {
			return
		}
		if s, ns := id.Time().UnixTime(); s > seconds || s == seconds && ns >= nanoseconds {
			made[id] = true
		}
	}
	var visit func(arg any)
	visit = func(arg any) {
		switch v := arg.(type) {
		case uuid.UUID:
			look(v)
		case []uuid.UUID:
			for _, id := range v {
				look(id)
			}
		case pgx.StrictNamedArgs:
			for _, value := range v {
				visit(value)
			}
		}
	}
	for _, t := range trips {
		for _, s := range t {
			for _, arg := range s.args {
				visit(arg)
			}
		}
	}
	return made
}
