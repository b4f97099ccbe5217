package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/multitracer"
	"github.com/jackc/pgx/v5/pgxpool"
)

// How long the database may take before a person is told that it is away.
const (
	connectWithin = 2 * time.Second
	pingWithin    = time.Second
	answerWithin  = 5 * time.Second // one statement, one page's batch, or the wait for a free connection
	lookAfter     = 15 * time.Second
)

// connections is how many each program holds at most, unless its address says
// pool_max_conns. PostgreSQL takes 100 by default: four programs.
const connections = 20

// Limits are what the server itself holds the app's role to, by setting: how
// long a statement may run, wait for a lock, and dawdle inside a transaction.
func Limits() map[string]string {
	return map[string]string{
		"statement_timeout":                   "5s",
		"lock_timeout":                        "2s",
		"idle_in_transaction_session_timeout": "10s",
	}
}

// bound gives the pool of the database at url its limits.
func bound(config *pgxpool.Config, url string) {
	if !strings.Contains(url, "pool_max_conns") {
		config.MaxConns = connections
	}
	if !strings.Contains(url, "connect_timeout") {
		config.ConnConfig.ConnectTimeout = connectWithin
	}
	config.PingTimeout, config.HealthCheckPeriod = pingWithin, lookAfter
}

// trace adds the time limit to the tracer that config has.
func trace(config *pgxpool.Config) {
	tracers := []pgx.QueryTracer{patience{}}
	if config.ConnConfig.Tracer != nil {
		tracers = append(tracers, config.ConnConfig.Tracer)
	}
	config.ConnConfig.Tracer = multitracer.New(tracers...)
}

// limitRole has the server hold the app's role to its Limits, behind a pooler
// too. A role that may not say so is let be: the program's own limits hold.
func limitRole(ctx context.Context, conn *pgx.Conn) error {
	var kept []string
	err := conn.QueryRow(ctx, `SELECT coalesce(rolconfig, '{}') FROM pg_roles WHERE rolname = $1`, AppRole).Scan(&kept)
	if err != nil {
		return fmt.Errorf("reading the app role's limits: %w", err)
	}
	for setting, limit := range Limits() {
		if strings.Contains(strings.Join(kept, "\n"), setting+"=") {
			continue // whoever runs Postgres chose another one
		}
		_, err := conn.Exec(ctx, `ALTER ROLE `+AppRole+` SET `+setting+` = '`+limit+`'`)
		if err != nil && !hasCode(err, insufficientPrivilege) {
			return fmt.Errorf("limiting the app role: %w", err)
		}
	}
	return nil
}

// unhurried marks a context whose statements may take as long as they take.
type unhurried struct{}

// Unhurried returns a context for background work, whose statements no limit cuts.
func Unhurried(ctx context.Context) context.Context {
	return context.WithValue(ctx, unhurried{}, true)
}

func isUnhurried(ctx context.Context) bool { return ctx.Value(unhurried{}) != nil }

// lift takes the server's limits off one transaction.
const lift = `SELECT set_config('statement_timeout', '0', true), set_config('idle_in_transaction_session_timeout', '0', true)`

// patience ends what the database does not answer in time: a server that is
// cut off says nothing at all.
type patience struct{}

type patienceEnd struct{}

func begin(ctx context.Context) context.Context {
	if isUnhurried(ctx) {
		return ctx
	}
	ctx, cancel := context.WithTimeout(ctx, answerWithin)
	return context.WithValue(ctx, patienceEnd{}, cancel)
}

func end(ctx context.Context) {
	if cancel, ok := ctx.Value(patienceEnd{}).(context.CancelFunc); ok {
		cancel()
	}
}

// TraceQueryStart implements pgx.QueryTracer.
func (patience) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	return begin(ctx)
}

// TraceQueryEnd implements pgx.QueryTracer.
func (patience) TraceQueryEnd(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryEndData) { end(ctx) }

// TraceBatchStart implements pgx.BatchTracer.
func (patience) TraceBatchStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchStartData) context.Context {
	return begin(ctx)
}

// TraceBatchQuery implements pgx.BatchTracer.
func (patience) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}

// TraceBatchEnd implements pgx.BatchTracer.
func (patience) TraceBatchEnd(ctx context.Context, _ *pgx.Conn, _ pgx.TraceBatchEndData) { end(ctx) }

// TraceAcquireStart implements pgxpool.AcquireTracer.
func (patience) TraceAcquireStart(ctx context.Context, _ *pgxpool.Pool, _ pgxpool.TraceAcquireStartData) context.Context {
	return begin(ctx)
}

// TraceAcquireEnd implements pgxpool.AcquireTracer.
func (patience) TraceAcquireEnd(ctx context.Context, _ *pgxpool.Pool, _ pgxpool.TraceAcquireEndData) {
	end(ctx)
}
