package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/pprof"
	"path/filepath"
	"syscall"
	"time"

	"github.com/google/uuid"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"ropewalk.example/internal/backup"
	"ropewalk.example/internal/certificate"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/server"
	"ropewalk.example/internal/store"
)

// figures are the private listener that shows how the program runs.
type figures struct {
	listener net.Listener // nil: nobody asked for one
	server   *http.Server
}

// showFigures opens the private listener, if there is to be one.
func showFigures(conf config.Config, db *database, site *server.Server) (figures, error) {
	db.metrics.Watch(func(ctx context.Context) metrics.State { return stateOf(ctx, conf, db.store) })
	if conf.Metrics == "" {
		return figures{}, nil
	}
	listener, err := net.Listen("tcp", conf.Metrics)
	if err != nil {
		return figures{}, problem.Wrap(err, problem.Conflict,
			"The figures cannot be shown at %s; another program may be there. Choose another port with ROPEWALK_METRICS.", conf.Metrics)
	}
	f := figures{listener, &http.Server{Handler: private(db.metrics, site), ReadHeaderTimeout: 10 * time.Second, ErrorLog: connectionLog(site.Log)}}
	go func() {
		if err := f.server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			site.Log.Error("the figures are not shown any more", "error", err)
		}
	}()
	return f, nil
}

// private is what the private listener answers: figures for Prometheus,
// profiles for developers, and the two looks at health.
func private(m *metrics.Metrics, site *server.Server) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.Registry(), promhttp.HandlerOpts{}))
	mux.HandleFunc("GET /debug/pprof/", pprof.Index)
	mux.HandleFunc("GET /debug/pprof/profile", pprof.Profile)
	mux.HandleFunc("GET /debug/pprof/trace", pprof.Trace)
	mux.HandleFunc("GET /healthz", server.Healthz)
	mux.HandleFunc("GET /readyz", site.Readyz)
	return mux
}

func (f figures) tell(stdout io.Writer) {
	if f.listener != nil {
		fmt.Fprintf(stdout, "Figures are at http://%s/metrics\n", f.listener.Addr())
	}
}

func (f figures) close() {
	if f.server != nil {
		_ = f.server.Close() // a scrape that is cut off is repeated
	}
}

// stateOf looks up what scrapes show.
func stateOf(ctx context.Context, conf config.Config, st *store.Store) metrics.State {
	s := metrics.State{Certificate: certificateEnds(conf)}
	if free, err := freeBytes(conf.DataDir); err == nil {
		s.DiskFree = free
	}
	var work store.Work
	var good []gym.Backup
	if err := st.Read(ctx, uuid.Nil, store.TheWork(&work), store.LastGoodBackup(&good)); err != nil {
		return s
	}
	s.Database, s.Schema, s.JobsWaiting, s.JobsGivenUp = true, store.NewestSchema(), work.Waiting, work.GivenUp
	if work.Due != nil {
		s.JobsLate = max(0, time.Since(*work.Due))
	}
	if len(good) > 0 {
		s.Backup, s.BackupBytes = good[0].EndedAt, good[0].Bytes
	}
	return s
}

// lookAtMachine looks at what owners are told of the machine.
func lookAtMachine(conf config.Config) server.Machine {
	m := server.Machine{Version: version(), Certificate: certificateEnds(conf), Proxied: conf.Proxy, Backups: conf.Backups != "", Encrypted: conf.BackupKey != ""}
	if free, err := freeBytes(conf.DataDir); err == nil {
		m.Free = free
	}
	if m.Backups {
		m.NextBackup = backup.Next
	}
	return m
}

// freeBytes returns the room on the disk of a folder.
func freeBytes(dir string) (uint64, error) {
	var fs syscall.Statfs_t
	if err := syscall.Statfs(dir, &fs); err != nil {
		return 0, err
	}
	return uint64(fs.Bavail) * uint64(fs.Bsize), nil
}

// certificateEnds returns when the server's certificate ends, zero where it has
// none of its own.
func certificateEnds(conf config.Config) time.Time {
	mode, names, err := certificate.Parse(conf.TLS)
	if err != nil {
		return time.Time{}
	}
	return certificate.Ends(filepath.Join(conf.DataDir, "certificate"), mode, names)
}
