package reporting_test

import (
	"bytes"
	"context"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// A hall is the invented gym in a database of its own.
type hall struct {
	*reporting.Reporting
	t        *testing.T
	gym      uuid.UUID
	term     gym.Term
	classes  []gym.Class
	athletes []gym.Athlete
	owner    gym.Who
	queued   []uuid.UUID // files that were put into the queue
	trips    atomic.Int64
}

func fill(t *testing.T) *hall {
	t.Helper()
	h := &hall{t: t, gym: demoseed.GymID()}
	st, err := store.Open(t.Context(), testdb.New(t).AppURL, func(c *pgxpool.Config) { c.ConnConfig.Tracer = trips{&h.trips} })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	seeder := demoseed.Seeder{Store: st, Hasher: hasher, Log: slog.New(slog.DiscardHandler)}
	if _, err := seeder.Fill(t.Context(), demo.Now()); err != nil {
		t.Fatal(err)
	}
	h.Reporting = &reporting.Reporting{Store: st, Now: demo.Now, Queue: func(_ context.Context, _ *store.Tx, id uuid.UUID, _ int) error {
		h.queued = append(h.queued, id)
		return nil
	}}
	var terms []gym.Term
	h.read(h.gym, store.Terms(&terms), store.Classes(&h.classes), store.AthletesAmong(store.Everybody(), &h.athletes))
	for _, term := range terms {
		if !demo.Now().Before(term.StartsOn) {
			h.term = term
		}
	}
	h.owner = gym.Who{GymID: h.gym, PersonID: uuid.New(), Role: gym.Owner}
	return h
}

func (h *hall) read(gymID uuid.UUID, readings ...store.Reading) {
	h.t.Helper()
	if err := h.Store.Read(h.t.Context(), gymID, readings...); err != nil {
		h.t.Fatal(err)
	}
}

// export takes all data of a gym out.
func (h *hall) export(gymID uuid.UUID) []byte {
	h.t.Helper()
	var body bytes.Buffer
	if err := h.ExportGym(h.t.Context(), gymID, &body); err != nil {
		h.t.Fatal(err)
	}
	return body.Bytes()
}

// trips counts what goes to the database and back.
type trips struct{ n *atomic.Int64 }

func (c trips) TraceQueryStart(ctx context.Context, _ *pgx.Conn, data pgx.TraceQueryStartData) context.Context {
	// Neither the pool's own look at a connection that rested nor news to other servers is anybody's wait.
	if data.SQL != "-- ping" && !strings.Contains(data.SQL, "pg_notify") {
		c.n.Add(1)
	}
	return ctx
}
func (trips) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

func (c trips) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	c.n.Add(1)
	return ctx
}
func (trips) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}
func (trips) TraceBatchEnd(context.Context, *pgx.Conn, pgx.TraceBatchEndData)     {}
