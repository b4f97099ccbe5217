package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"ropewalk.example/internal/backup"
	"ropewalk.example/internal/certificate"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A finding is what the doctor says of one thing.
type finding struct {
	grade grade
	about string
	says  string // what is, and what to do
}

type grade string

const (
	well grade = "ok  "
	look grade = "look" // works, but somebody should look
	ill  grade = "BAD "
)

// What the doctor asks for.
const (
	leastRoom  = 1 << 30 // bytes of disk
	smallRoom  = 5 << 30
	clockSlack = 5 * time.Second
	backupAge  = 36 * time.Hour
	rootsEnd   = 60 * 24 * time.Hour
)

// doctor looks at an installation, running or not, and returns exitFault where
// something is bad. It changes nothing.
func doctor(ctx context.Context, conf config.Config, stdout io.Writer) int {
	findings := []finding{{well, "program", version() + ", " + runtime.Version() + ", schema " + fmt.Sprint(store.NewestSchema())}}
	findings = append(findings, dataFolder(conf.DataDir), diskRoom(conf.DataDir), machineClock())
	findings = append(findings, databaseFindings(ctx, conf)...)
	findings = append(findings, certificateFinding(conf, time.Now()), backupFinding(conf, time.Now()), figuresFinding(ctx, conf))
	code := exitOK
	for _, f := range findings {
		fmt.Fprintf(stdout, "%s  %-12s %s\n", f.grade, f.about, f.says)
		if f.grade == ill {
			code = exitFault
		}
	}
	return code
}

func dataFolder(dir string) finding {
	f := finding{ill, "data folder", ""}
	probe, err := os.CreateTemp(dir, ".doctor-")
	switch {
	case errors.Is(err, os.ErrNotExist):
		return finding{look, f.about, dir + " is not there yet; ropewalk serve makes it."}
	case err != nil:
		f.says = dir + " cannot be written to by this account. Start as its owner, or choose another one with ROPEWALK_DATA."
		return f
	}
	if err := errors.Join(probe.Close(), os.Remove(probe.Name())); err != nil {
		f.says = dir + ": " + err.Error()
		return f
	}
	return finding{well, f.about, dir}
}

func diskRoom(dir string) finding {
	free, err := freeBytes(dir)
	if err != nil {
		return finding{look, "disk", "The room on the disk is not known: " + err.Error()}
	}
	says := fmt.Sprintf("%.1f GiB are free", float64(free)/(1<<30))
	switch {
	case free < leastRoom:
		return finding{ill, "disk", says + ". Make room now: soon nothing can be saved."}
	case free < smallRoom:
		return finding{look, "disk", says + ". Make room before long, or move the backups with ROPEWALK_BACKUPS."}
	}
	return finding{well, "disk", says}
}

func machineClock() finding {
	kept, known := clockKept()
	switch {
	case !known:
		return finding{look, "clock", time.Now().Format("2 Jan 2006 15:04 MST") + ". Compare it with another clock."}
	case !kept:
		return finding{look, "clock", time.Now().Format("2 Jan 2006 15:04 MST") + ", and nothing keeps it right. Turn on time synchronisation (systemd-timesyncd or chrony)."}
	}
	return finding{well, "clock", time.Now().Format("2 Jan 2006 15:04 MST") + ", kept right"}
}

// databaseFindings asks the database, if it runs.
func databaseFindings(ctx context.Context, conf config.Config) []finding {
	address := conf.OwnerURL
	if conf.DatabaseURL == "" {
		cluster, err := localpg.Attach(ctx, filepath.Join(conf.DataDir, "postgres"))
		if errors.Is(err, localpg.ErrNotRunning) {
			return []finding{stoppedServer(conf)}
		}
		if err != nil {
			return []finding{{ill, "database", problem.MessageOf(err)}}
		}
		address = cluster.URL(databaseName)
	}
	x, err := store.Examine(ctx, address)
	if err != nil {
		return []finding{{ill, "database", problem.MessageOf(err)}}
	}
	now := time.Now()
	return append([]finding{{well, "database", fmt.Sprintf("PostgreSQL %s, %.0f MiB, %d of %d connections in use", x.Server, float64(x.Bytes)/(1<<20), x.Connections, x.Room)}},
		judge(x, now)...)
}

// stoppedServer looks at a private server that does not run.
func stoppedServer(conf config.Config) finding {
	programs, err := localpg.FindPrograms("", 0)
	if err != nil {
		return finding{ill, "database", problem.MessageOf(err)}
	}
	return finding{look, "database", fmt.Sprintf("Not running. ropewalk serve starts it, with PostgreSQL %d in %s.", programs.Major, programs.Dir)}
}

// judge says what is worth saying of a database.
func judge(x store.Examination, now time.Time) []finding {
	var all []finding
	add := func(g grade, about, says string) { all = append(all, finding{g, about, says}) }
	switch newest := store.NewestSchema(); {
	case x.Dirty:
		add(look, "schema", fmt.Sprintf("Migration %d was broken off. The next ropewalk serve repairs it.", x.Schema))
	case x.Schema > newest:
		add(ill, "schema", fmt.Sprintf("%d, made by a newer Ropewalk. Start the newer program.", x.Schema))
	case x.Schema < newest:
		add(look, "schema", fmt.Sprintf("%d; the next ropewalk serve brings it to %d.", x.Schema, newest))
	default:
		add(well, "schema", fmt.Sprint(x.Schema))
	}
	if skew := now.Sub(x.Clock).Abs(); skew > clockSlack {
		add(look, "its clock", fmt.Sprintf("The database's clock is %.0f seconds off this one. Turn on time synchronisation on both machines.", skew.Seconds()))
	}
	if x.Connections*10 > x.Room*8 {
		add(look, "connections", "Most are in use. Raise max_connections, or put pgbouncer in between.")
	}
	if !x.Durable {
		add(ill, "durability", "Commits do not wait for the disk: a power cut loses results. Set fsync and synchronous_commit to on.")
	}
	if x.Schema > 0 && !x.Backups {
		add(ill, "backups", "The owner may not read everything. Ask for: ALTER ROLE "+store.BackupRole+" BYPASSRLS; GRANT "+store.BackupRole+" TO the owner.")
	}
	if len(x.Unlimited) > 0 && x.Schema > 0 {
		add(look, "limits", "The app's role lacks "+strings.Join(x.Unlimited, ", ")+". Ask for: ALTER ROLE "+store.AppRole+" SET ... as docs/operator.md lists them.")
	}
	return all
}

func certificateFinding(conf config.Config, now time.Time) finding {
	mode, _, err := certificate.Parse(conf.TLS)
	if err != nil {
		return finding{ill, "certificate", problem.MessageOf(err)}
	}
	folder := filepath.Join(conf.DataDir, "certificate")
	switch mode {
	case certificate.OwnAuthority:
		if _, err := os.Stat(folder); errors.Is(err, os.ErrNotExist) {
			return finding{look, "certificate", "The gym's own authority is made at the first ropewalk serve."}
		}
		authority, err := certificate.Own(folder, nil, time.Now)
		if err != nil {
			return finding{ill, "certificate", problem.MessageOf(err)}
		}
		says := "the gym's own authority lasts until " + authority.Ends().Format("2 Jan 2006")
		if authority.Ends().Sub(now) < rootsEnd {
			return finding{look, "certificate", says + ". Move " + folder + " away, start again, and let every phone trust the new one."}
		}
		return finding{well, "certificate", says}
	case certificate.PublicAuthority:
		return finding{well, "certificate", "public; renewed without you as long as port 443 is reached from the internet"}
	}
	if conf.Proxy {
		return finding{well, "certificate", "kept by the proxy in front"}
	}
	return finding{look, "certificate", "None: only this machine can open the pages. Set ROPEWALK_TLS=own for phones."}
}

func backupFinding(conf config.Config, now time.Time) finding {
	if conf.Backups == "" {
		return finding{look, "backup", "Switched off by ROPEWALK_BACKUPS=no. Make sure that somebody else makes them."}
	}
	b := &backup.Backups{Dir: conf.Backups}
	at, name, err := b.Newest()
	switch {
	case err != nil || name == "":
		return finding{look, "backup", "There is none in " + conf.Backups + ". Run ropewalk backup."}
	case now.Sub(at) > backupAge:
		return finding{ill, "backup", fmt.Sprintf("The newest, %s, is %.0f days old. The program's log says why; run ropewalk backup.", name, now.Sub(at).Hours()/24)}
	}
	says := fmt.Sprintf("%s, %.0f hours old", name, now.Sub(at).Hours())
	if conf.BackupKey == "" {
		return finding{look, "backup", says + ", not encrypted. ropewalk backup key makes a pair of keys."}
	}
	return finding{well, "backup", says + ", encrypted"}
}

// figuresFinding asks the private listener for figures.
func figuresFinding(ctx context.Context, conf config.Config) finding {
	const about = "figures"
	if conf.Metrics == "" {
		return finding{well, about, "not shown. For Prometheus and alerts, set ROPEWALK_METRICS=9100; see docs/operator.md."}
	}
	at, err := netip.ParseAddrPort(conf.Metrics)
	if err != nil {
		return finding{ill, about, "ROPEWALK_METRICS cannot be read. Write it like 127.0.0.1:9100."}
	}
	if at.Addr().IsUnspecified() {
		at = netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), at.Port())
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+at.String()+"/metrics", nil)
	if err != nil {
		return finding{ill, about, err.Error()}
	}
	answer, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		return finding{look, about, "Nothing answers at " + conf.Metrics + ". ropewalk serve shows them there while it runs."}
	}
	defer answer.Body.Close()
	first, _ := io.ReadAll(io.LimitReader(answer.Body, 1<<20)) // what came is enough to tell whose it is
	switch {
	case answer.StatusCode != http.StatusOK || !strings.Contains(string(first), "ropewalk_build_info"):
		return finding{ill, about, "Another program answers at " + conf.Metrics + ". Choose another port with ROPEWALK_METRICS."}
	case conf.MetricsOpen:
		return finding{look, about, "shown at " + conf.Metrics + " to whoever reaches that address. Make sure that a firewall keeps others out."}
	}
	return finding{well, about, "shown at http://" + conf.Metrics + "/metrics"}
}
