// Package config answers what differs between installations: it reads the
// settings from the environment, once, at start. It imports only the standard
// library, and leaves what ROPEWALK_TLS means to package certificate.
package config

import (
	"cmp"
	"net"
	"net/netip"
	"path/filepath"
	"strconv"
	"time"
)

// The variables that are read, each described at its field of [Config].
const (
	port           = "PORT"
	listen         = "ROPEWALK_LISTEN"
	dataDir        = "ROPEWALK_DATA"
	databaseURL    = "DATABASE_URL"
	directURL      = "DATABASE_DIRECT_URL"
	readURL        = "DATABASE_READ_URL"
	ownerURL       = "ROPEWALK_OWNER_URL"
	work           = "ROPEWALK_WORK"
	tls            = "ROPEWALK_TLS"
	proxy          = "ROPEWALK_PROXY"
	trustedProxies = "ROPEWALK_TRUSTED_PROXIES"
	backups        = "ROPEWALK_BACKUPS"
	backupKey      = "ROPEWALK_BACKUP_KEY"
	backupDays     = "ROPEWALK_BACKUP_DAYS"
	metrics        = "ROPEWALK_METRICS"
	metricsOpen    = "ROPEWALK_METRICS_OPEN"
	drain          = "ROPEWALK_DRAIN"
	demoNow        = "DEMO_NOW"
)

func variables() []string {
	return []string{port, listen, dataDir, databaseURL, directURL, readURL, ownerURL, work, tls, proxy, trustedProxies, backups, backupKey, backupDays, metrics, metricsOpen, drain, demoNow}
}

// Config is everything that differs between installations. Its database
// addresses hold passwords, so it is never logged.
type Config struct {
	Port           int            // PORT; 8080, with TLS 8443, with a public certificate 443; 0 takes any free one
	Listen         string         // ROPEWALK_LISTEN: address; 127.0.0.1, with TLS empty, which is all of this machine's
	DataDir        string         // ROPEWALK_DATA: folder; ./var
	DatabaseURL    string         // DATABASE_URL: a given PostgreSQL; empty for the private one in DataDir
	DirectURL      string         // DATABASE_DIRECT_URL: the same past the pooler that DatabaseURL leads through; empty without one
	ReadURL        string         // DATABASE_READ_URL: a streaming replica for reports and boards; empty for none
	OwnerURL       string         // ROPEWALK_OWNER_URL: the same database for the role that migrates; DatabaseURL
	Work           bool           // ROPEWALK_WORK=no: serve leaves background work to ropewalk work elsewhere; yes
	TLS            string         // ROPEWALK_TLS: who vouches for this server; empty for plain HTTP
	Proxy          bool           // ROPEWALK_PROXY=yes: people come by a proxy, and to it by HTTPS
	TrustedProxies []netip.Prefix // ROPEWALK_TRUSTED_PROXIES: whose X-Forwarded-* is believed; this machine's
	Backups        string         // ROPEWALK_BACKUPS: folder of the nightly backups, empty for none; backups in DataDir
	BackupKey      string         // ROPEWALK_BACKUP_KEY: encrypts backups, or decrypts them too; empty leaves them as they are
	BackupDays     int            // ROPEWALK_BACKUP_DAYS: how long a backup is kept; 30
	Metrics        string         // ROPEWALK_METRICS: port or private address for figures, such as 9100 or 127.0.0.1:9100; empty for none
	MetricsOpen    bool           // ROPEWALK_METRICS_OPEN=yes: that address may be one that anybody reaches
	Drain          time.Duration  // ROPEWALK_DRAIN: seconds to go on answering after a stop was asked for, until balancers know; 0
	DemoNow        time.Time      // DEMO_NOW: a time that stands still, for the demo; zero for the clock's
}

// Load reads a Config from environ, as [os.Environ] returns it. A variable
// that is set to nothing counts as not set. The error names every variable
// that is wrong, one a line, with what to write instead; a ROPEWALK_ variable
// that is not known is wrong too, since it is mostly a slip of the pen.
func Load(environ []string) (Config, error) {
	e := newEnvironment(environ)
	c := Config{
		DataDir:     cmp.Or(e.values[dataDir], "./var"),
		DatabaseURL: e.database(databaseURL),
		DirectURL:   e.database(directURL),
		ReadURL:     e.database(readURL),
		OwnerURL:    e.database(ownerURL),
		Work:        e.values[work] == "" || e.yes(work),
		TLS:         e.values[tls],
		Proxy:       e.yes(proxy),
		BackupKey:   e.values[backupKey],
		BackupDays:  e.number(backupDays, 30, 1, 3650),
		MetricsOpen: e.yes(metricsOpen),
		Drain:       time.Duration(e.number(drain, 0, 0, 60)) * time.Second,
		DemoNow:     e.time(demoNow),
	}
	c.Backups = e.folder(backups, filepath.Join(c.DataDir, "backups"))
	c.Port = e.port(port, defaultPort(c.TLS))
	c.Listen = e.listen(c)
	c.Metrics = e.private(metrics, c.MetricsOpen)
	c.TrustedProxies = e.proxies(c.Proxy)
	e.ways(&c)
	if err := e.err(); err != nil {
		return Config{}, err
	}
	return c, nil
}

// Addr returns the address to listen on, as [net.Listen] takes it.
func (c Config) Addr() string { return net.JoinHostPort(c.Listen, strconv.Itoa(c.Port)) }

// Secure says whether people reach this server by HTTPS, so that cookies can
// be kept to it.
func (c Config) Secure() bool { return c.TLS != "" || c.Proxy }
