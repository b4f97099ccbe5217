package app

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"strconv"
	"time"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/backup"
	"ropewalk.example/internal/certificate"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/jobs"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/server"
	"ropewalk.example/web/page"
	"ropewalk.example/web/tongue"
)

// serve runs the gym's server until ctx ends.
func serve(ctx context.Context, conf config.Config, log *slog.Logger, stdout io.Writer) error {
	db, err := openCounted(ctx, conf, log, metrics.New(version()))
	if err != nil {
		return err
	}
	defer db.close()
	site, tlsConfig, err := newSite(conf, db, log, time.Now)
	if err != nil {
		return err
	}
	code, err := site.Accounts.NewFirstCode(ctx)
	if err != nil {
		return err
	}
	if conf.Work {
		if err := nightly(ctx, conf, db, log); err != nil {
			return err
		}
	}
	site.Machine = func() server.Machine { return lookAtMachine(conf) }
	return run(ctx, conf, db, site, site.Routes(), tlsConfig, stdout, func(address string) {
		fmt.Fprintf(stdout, "Ropewalk is at %s\n", address)
		if code != "" {
			fmt.Fprintf(stdout, "\nNobody has an account yet. Open %s/setup and type this code within a day:\n\n    %s\n\n", address, code)
		}
		tellPhones(stdout, site, tlsConfig, conf)
	})
}

// serveDemo runs the invented gym, whose clock starts at the demo's day and
// runs on from there.
func serveDemo(ctx context.Context, conf config.Config, log *slog.Logger, stdout io.Writer) error {
	began, today := time.Now(), demo.Now()
	if !conf.DemoNow.IsZero() {
		today = conf.DemoNow
	}
	db, err := openCounted(ctx, conf, log, metrics.New(version()))
	if err != nil {
		return err
	}
	defer db.close()
	site, tlsConfig, err := newSite(conf, db, log, func() time.Time { return today.Add(time.Since(began)) })
	if err != nil {
		return err
	}
	seeder := demoseed.Seeder{Store: db.store, Hasher: site.Accounts.Hasher, Log: log}
	if _, err := seeder.Fill(ctx, today); err != nil {
		return err
	}
	signIns, err := demoseed.SignIns()
	if err != nil {
		return err
	}
	for _, in := range signIns {
		site.Demo = append(site.Demo, page.DemoSignIn{Role: in.Who, Name: in.Name, Secret: in.Secret, Athlete: in.Athlete})
	}
	site.Machine = func() server.Machine {
		m := lookAtMachine(conf)
		m.Backups, m.NextBackup = false, nil // everything in it is invented
		return m
	}
	return run(ctx, conf, db, site, site.Routes(), tlsConfig, stdout, func(address string) {
		fmt.Fprintf(stdout, "\nThe demo gym is at %s\nEverybody in it is invented. Its day is %s.\n\n", address, today.Format("Mon 2 Jan 2006"))
		for _, in := range signIns {
			where := address + "/sign-in"
			if in.Athlete {
				where = address + "/join"
			}
			fmt.Fprintf(stdout, "  %-34s %-26s %-24s %s\n", in.Who, in.Name, in.Secret, where)
		}
		fmt.Fprintf(stdout, "\nStop with Ctrl-C. Data stay in %s.\n", conf.DataDir)
	})
}

// newSite wires the use cases to the store.
func newSite(conf config.Config, db *database, log *slog.Logger, now func() time.Time) (*server.Server, *tls.Config, error) {
	hasher, err := account.NewHasher()
	if err != nil {
		return nil, nil, err
	}
	tlsConfig, trust, err := tlsFor(conf)
	if err != nil {
		return nil, nil, err
	}
	secure := conf.Secure()
	languages, err := tongue.Load()
	if err != nil {
		return nil, nil, err
	}
	site := &server.Server{
		Languages: languages,
		Store:     db.store,
		Accounts:  &account.Accounts{Store: db.store, Hasher: hasher, Now: now},
		Roster:    &roster.Roster{Store: db.store, Hasher: hasher, Now: now},
		Measuring: &measuring.Measuring{Store: db.store, Now: now},
		Deciding:  &deciding.Deciding{Store: db.store, Now: now},
		Coaching:  &coaching.Coaching{Store: db.store, Now: now},
		Reporting: &reporting.Reporting{Store: db.store, Now: now},
		Privacy:   &privacy.Privacy{Store: db.store, Now: now, Tombstones: filepath.Join(conf.DataDir, backup.Tombstones)},
		SignIns:   server.NewSignIns(db.store, secure),
		Log:       log,
		Now:       now,
		Secure:    secure,
		Proxies:   conf.TrustedProxies,
		Trust:     trust,
		Metrics:   db.metrics,
	}
	site.Coaching.Planned = db.metrics.Planned
	site.Receiving = &receiving.Receiving{Store: db.store, Measuring: site.Measuring, Coaching: site.Coaching, Now: now}
	site.Leading = &leading.Leading{Store: db.store, Measuring: site.Measuring, Coaching: site.Coaching, Now: now}
	return site, tlsConfig, nil
}

// tlsFor returns how connections are kept private, nil for plain HTTP.
func tlsFor(conf config.Config) (*tls.Config, *server.Trust, error) {
	mode, names, err := certificate.Parse(conf.TLS)
	if err != nil {
		return nil, nil, err
	}
	folder := filepath.Join(conf.DataDir, "certificate")
	switch mode {
	case certificate.OwnAuthority:
		authority, err := certificate.Own(folder, names, time.Now)
		if err != nil {
			return nil, nil, err
		}
		return authority.TLSConfig(), &server.Trust{RootDER: authority.RootDER(), Fingerprint: authority.Fingerprint()}, nil
	case certificate.PublicAuthority:
		config, err := certificate.Public(folder, names)
		return config, nil, err
	default:
		return nil, nil, nil
	}
}

func tellPhones(stdout io.Writer, site *server.Server, tlsConfig *tls.Config, conf config.Config) {
	if site.Trust == nil || tlsConfig == nil {
		return
	}
	for _, address := range certificate.Addresses() {
		fmt.Fprintf(stdout, "Phones on this network: https://%s/trust\n", net.JoinHostPort(address.String(), strconv.Itoa(conf.Port)))
	}
	fmt.Fprintf(stdout, "Fingerprint of the gym's certificate: %s\n", site.Trust.Fingerprint)
}

// graceful is how long open requests may take to finish at a stop.
const graceful = 10 * time.Second

// run listens, says where, and answers by routes until ctx ends.
func run(ctx context.Context, conf config.Config, db *database, site *server.Server, routes http.Handler, tlsConfig *tls.Config, stdout io.Writer, started func(address string)) error {
	useMemory()
	listener, err := listen(conf)
	if err != nil {
		return err
	}
	if again, err := site.Privacy.Reapply(ctx); err != nil {
		return err
	} else if again > 0 {
		site.Log.WarnContext(ctx, "people who had been erased were there again and were erased once more", "athletes", again)
	}
	work, err := jobs.New(ctx, jobs.Options{Store: db.store, Reporting: site.Reporting, Privacy: site.Privacy, Log: site.Log, Metrics: db.metrics, Voices: site.Voices(), Asleep: !conf.Work})
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	figures, err := showFigures(conf, db, site)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	defer figures.close()
	if err := work.Start(ctx); err != nil {
		return errors.Join(err, listener.Close())
	}
	httpServer := patient(routes, tlsConfig, site.Log)
	stopped := make(chan error, 1)
	go func() {
		if tlsConfig != nil {
			stopped <- httpServer.ServeTLS(listener, "", "")
		} else {
			stopped <- httpServer.Serve(listener)
		}
	}()
	go sweep(ctx, db, site.Log)
	started(addressFor(conf, tlsConfig, listener))
	figures.tell(stdout)
	select {
	case err := <-stopped:
		return fmt.Errorf("serving: %w", err)
	case <-ctx.Done():
	}
	site.Drain()
	time.Sleep(conf.Drain) // balancers learn of it; a second signal ends the program
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), graceful)
	defer cancel()
	return errors.Join(httpServer.Shutdown(grace), work.Stop(grace))
}

// patient bounds how long a request may take, so that slow senders hold nobody up.
func patient(routes http.Handler, tlsConfig *tls.Config, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           routes,
		TLSConfig:         tlsConfig,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       60 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          connectionLog(log),
	}
}

func listen(conf config.Config) (net.Listener, error) {
	listener, err := net.Listen("tcp", conf.Addr())
	if err != nil {
		return nil, problem.Wrap(err, problem.Conflict,
			"Port %d cannot be opened; another program may have it. Stop that one, or choose another port, like PORT=8090.", conf.Port)
	}
	return listener, nil
}

func addressFor(conf config.Config, tlsConfig *tls.Config, listener net.Listener) string {
	host := conf.Listen
	if host == "" || host == "0.0.0.0" || host == "::" || host == "127.0.0.1" {
		host = "localhost"
	}
	port := strconv.Itoa(conf.Port)
	if tcp, ok := listener.Addr().(*net.TCPAddr); ok {
		port = strconv.Itoa(tcp.Port)
	}
	scheme := "http://"
	if tlsConfig != nil {
		scheme = "https://"
	}
	return scheme + net.JoinHostPort(host, port)
}

// sweep removes what has expired, now and then.
func sweep(ctx context.Context, db *database, log *slog.Logger) {
	ticker := time.NewTicker(time.Hour)
	defer ticker.Stop()
	for {
		if err := db.store.Sweep(ctx); err != nil && ctx.Err() == nil {
			log.WarnContext(ctx, "sweeping expired sign-ins", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}
