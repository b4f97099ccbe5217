package metrics

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/prometheus/client_golang/prometheus"
)

// A Tally is what one request asked of the database.
type Tally struct {
	trips atomic.Int64
	nanos atomic.Int64
}

// Trips returns how many round trips there were.
func (t *Tally) Trips() int64 { return t.trips.Load() }

// Time returns how long they took.
func (t *Tally) Time() time.Duration { return time.Duration(t.nanos.Load()) }

type tallied struct{}

// Count returns a context whose round trips are counted in the tally, too.
func Count(ctx context.Context) (context.Context, *Tally) {
	t := &Tally{}
	return context.WithValue(ctx, tallied{}, t), t
}

// Trace has a pool count its round trips here.
func (m *Metrics) Trace(config *pgxpool.Config) { config.ConnConfig.Tracer = tracer{m} }

// A tracer hears of each round trip to the database.
type tracer struct{ m *Metrics }

// A trip is a round trip that is under way.
type trip struct {
	kind  string
	began time.Time
}

type underWay struct{}

func begin(ctx context.Context, kind string) context.Context {
	return context.WithValue(ctx, underWay{}, trip{kind, time.Now()})
}

func (t tracer) end(ctx context.Context, err error) {
	trip, ok := ctx.Value(underWay{}).(trip)
	if !ok {
		return
	}
	took := time.Since(trip.began)
	t.m.trips.WithLabelValues(trip.kind).Observe(took.Seconds())
	if tally, ok := ctx.Value(tallied{}).(*Tally); ok {
		tally.trips.Add(1)
		tally.nanos.Add(int64(took))
	}
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		t.m.faults.WithLabelValues(class(err)).Inc()
	}
}

// class is the class of an error's SQLSTATE (PostgreSQL's manual, appendix A),
// or what else it was.
func class(err error) string {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok && len(pg.Code) == 5 {
		return pg.Code[:2]
	}
	if errors.Is(err, context.Canceled) {
		return "left" // whoever asked
	}
	if errors.Is(err, context.DeadlineExceeded) {
		return "late"
	}
	return "lost" // the connection
}

// ping is the pool's own look at a connection that rested.
const ping = "-- ping"

// TraceQueryStart implements pgx.QueryTracer.
func (t tracer) TraceQueryStart(ctx context.Context, _ *pgx.Conn, data pgx.TraceQueryStartData) context.Context {
	if data.SQL == ping {
		return begin(ctx, "ping")
	}
	t.m.queries.Inc()
	return begin(ctx, "query")
}

// TraceQueryEnd implements pgx.QueryTracer.
func (t tracer) TraceQueryEnd(ctx context.Context, _ *pgx.Conn, data pgx.TraceQueryEndData) {
	t.end(ctx, data.Err)
}

// TraceBatchStart implements pgx.BatchTracer.
func (t tracer) TraceBatchStart(ctx context.Context, _ *pgx.Conn, data pgx.TraceBatchStartData) context.Context {
	if data.Batch != nil {
		t.m.queries.Add(float64(data.Batch.Len()))
	}
	return begin(ctx, "batch")
}

// TraceBatchQuery implements pgx.BatchTracer.
func (tracer) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}

// TraceBatchEnd implements pgx.BatchTracer.
func (t tracer) TraceBatchEnd(ctx context.Context, _ *pgx.Conn, data pgx.TraceBatchEndData) {
	t.end(ctx, data.Err)
}

// TracePrepareStart implements pgx.PrepareTracer.
func (t tracer) TracePrepareStart(ctx context.Context, _ *pgx.Conn, _ pgx.TracePrepareStartData) context.Context {
	return begin(ctx, "prepare")
}

// TracePrepareEnd implements pgx.PrepareTracer.
func (t tracer) TracePrepareEnd(ctx context.Context, _ *pgx.Conn, data pgx.TracePrepareEndData) {
	if !data.AlreadyPrepared {
		t.end(ctx, data.Err)
	}
}

// Pool shows a pool of connections under a name until the program ends.
func (m *Metrics) Pool(name string, stat func() *pgxpool.Stat) {
	if m == nil {
		return
	}
	m.registry.MustRegister(newPool(name, stat))
}

// A pool is a pool of connections as a scrape sees it.
type pool struct {
	stat                             func() *pgxpool.Stat
	connections, most, waits, waited *prometheus.Desc
}

func newPool(name string, stat func() *pgxpool.Stat) pool {
	desc := func(what, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc(prometheus.BuildFQName(namespace, "pool", what), help, labels, prometheus.Labels{"pool": name})
	}
	return pool{stat: stat,
		connections: desc("connections", "Connections to the database.", "state"),
		most:        desc("connections_max", "Connections that there may be."),
		waits:       desc("waits_total", "How often somebody waited for a connection."),
		waited:      desc("wait_seconds_total", "How long they waited.")}
}

// Describe implements prometheus.Collector.
func (p pool) Describe(to chan<- *prometheus.Desc) { prometheus.DescribeByCollect(p, to) }

// Collect implements prometheus.Collector.
func (p pool) Collect(to chan<- prometheus.Metric) {
	s := p.stat()
	for state, n := range map[string]int32{"acquired": s.AcquiredConns(), "idle": s.IdleConns(), "connecting": s.ConstructingConns()} {
		to <- prometheus.MustNewConstMetric(p.connections, prometheus.GaugeValue, float64(n), state)
	}
	to <- prometheus.MustNewConstMetric(p.most, prometheus.GaugeValue, float64(s.MaxConns()))
	to <- prometheus.MustNewConstMetric(p.waits, prometheus.CounterValue, float64(s.EmptyAcquireCount()))
	to <- prometheus.MustNewConstMetric(p.waited, prometheus.CounterValue, s.EmptyAcquireWaitTime().Seconds())
}
