package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/app"
	"ropewalk.example/internal/store"
)

// A Bare asks for the bare server: the least that could be written for the same
// rows. It answers each request by sending the program's own statements, with
// the program's own arguments, reading every row, and writing nothing.
type Bare struct {
	Database string // address
	Requests []Request
}

// Serving is what the bare server says once it listens.
type Serving struct {
	Address string
	Trips   []int // to the database, of each request
	Queries []int
}

// connections is the size of the bare server's pool, the same as the program's.
const connections = 20

// serveBare reads a Bare from in, says on out where it serves, and serves until
// in ends.
func serveBare(ctx context.Context, in io.Reader, out io.Writer) error {
	var bare Bare
	wish := json.NewDecoder(in)
	if err := wish.Decode(&bare); err != nil {
		return fmt.Errorf("reading what to serve: %w", err)
	}
	mux := http.NewServeMux()
	serving, err := bare.record(ctx, mux)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return fmt.Errorf("listening: %w", err)
	}
	serving.Address = listener.Addr().String()
	if err := json.NewEncoder(out).Encode(serving); err != nil {
		return err
	}
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 10 * time.Second}
	go func() {
		_, _ = io.Copy(io.Discard, in) // until whoever wanted this is gone
		_ = server.Close()
	}()
	if err := server.Serve(listener); err != http.ErrServerClosed {
		return fmt.Errorf("serving: %w", err)
	}
	return nil
}

// record lets the program answer each request once, and registers on mux what
// it sent to the database.
func (b Bare) record(ctx context.Context, mux *http.ServeMux) (Serving, error) {
	var serving Serving
	notes := &recorder{}
	st, err := store.Open(ctx, b.Database, func(c *pgxpool.Config) { c.ConnConfig.Tracer = notes })
	if err != nil {
		return serving, err
	}
	defer st.Close()
	site, err := app.Handler(st, slog.New(slog.DiscardHandler))
	if err != nil {
		return serving, err
	}
	pool, err := b.pool(ctx)
	if err != nil {
		return serving, err
	}
	for _, request := range b.Requests {
		began := time.Now()
		status := request.answeredBy(context.WithValue(ctx, requested{}, true), site)
		if status >= http.StatusBadRequest {
			return serving, fmt.Errorf("%s %s: status %d", request.Method, request.Path, status)
		}
		trips := notes.taken()
		queries := 0
		for _, t := range trips {
			queries += len(t)
		}
		serving.Trips, serving.Queries = append(serving.Trips, len(trips)), append(serving.Queries, queries)
		path, _, _ := strings.Cut(request.Path, "?")
		mux.Handle(request.Method+" "+path, again(pool, trips, began))
	}
	return serving, nil
}

func (b Bare) pool(ctx context.Context) (*pgxpool.Pool, error) {
	config, err := pgxpool.ParseConfig(b.Database)
	if err != nil {
		return nil, fmt.Errorf("reading the database address: %w", err)
	}
	config.MaxConns = connections
	return pgxpool.NewWithConfig(ctx, config)
}

// answeredBy returns the status with which site answers.
func (r Request) answeredBy(ctx context.Context, site http.Handler) int {
	body := strings.NewReplacer("$id", uuid.Must(uuid.NewV7()).String(), "$n", "80").Replace(r.Body)
	request := httptest.NewRequestWithContext(ctx, r.Method, r.Path, strings.NewReader(body))
	request.Header.Set("Cookie", r.Cookie)
	request.Header.Set("Sec-Fetch-Site", "same-origin")
	if r.Method == http.MethodPost {
		request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	w := httptest.NewRecorder()
	site.ServeHTTP(w, request)
	return w.Code
}

// again is the bare handler.
func again(pool *pgxpool.Pool, trips []trip, began time.Time) http.HandlerFunc {
	made := madeSince(trips, began.Unix(), int64(began.Nanosecond()/1e6*1e6))
	return func(w http.ResponseWriter, r *http.Request) {
		conn, err := pool.Acquire(r.Context())
		if err != nil {
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
			return
		}
		defer conn.Release()
		if err := replay(r.Context(), conn.Conn(), trips, made); err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
		}
	}
}
