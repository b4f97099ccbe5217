package faults

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"ropewalk.example/internal/testdb"
)

// A farm is an installation on several machines, each a process here, set up by
// the files of deploy: a balancer, three servers, a worker, a pooler, a database
// and its replica.
type farm struct {
	*hands
	primary, copy *testdb.Machine
	pooler        *daemon
	balancer      *daemon
	servers       []*program
	worker        *program
	settings      []string // of the servers
	poolerPort    int
	site          string // where people go
	admin         string // where the balancer tells how it is
}

const appPassword, ownerPassword = "app-of-the-test", "owner-of-the-test"

// A daemon is another's program that runs until the test ends.
type daemon struct {
	cmd    *exec.Cmd
	folder string
	ended  chan struct{}
}

func startDaemon(t *testing.T, folder string, environ []string, program string, args ...string) *daemon {
	t.Helper()
	d := &daemon{cmd: exec.Command(program, args...), folder: folder, ended: make(chan struct{})}
	log, err := os.Create(filepath.Join(folder, "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	d.cmd.Stdout, d.cmd.Stderr, d.cmd.Env = log, log, append(os.Environ(), environ...)
	d.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := d.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = d.cmd.Wait() // its log says more
		close(d.ended)
	}()
	t.Cleanup(func() {
		_ = d.cmd.Process.Kill() // it keeps nothing
		<-d.ended
		if said, err := os.ReadFile(log.Name()); err == nil && t.Failed() {
			t.Logf("%s said:\n%s", program, tail(string(said), 20))
		}
	})
	return d
}

// folderFor returns a folder that other accounts may read, too.
func folderFor(t *testing.T) string {
	t.Helper()
	folder, err := os.MkdirTemp("", "ropewalk-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(folder) })
	if err := os.Chmod(folder, 0o777); err != nil {
		t.Fatal(err)
	}
	return folder
}

// shipped returns a file of deploy with what is of another place replaced.
func shipped(t *testing.T, name string, replace ...string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("../../deploy", name))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(replace); i += 2 {
		if !strings.Contains(string(text), replace[i]) {
			t.Fatalf("%s does not hold %q", name, replace[i])
		}
	}
	return strings.NewReplacer(replace...).Replace(string(text))
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// openFarm starts everything on an empty database and fills it with a class of n.
func openFarm(t *testing.T, n int) *farm {
	t.Helper()
	f := &farm{}
	f.openDatabase(t)
	f.openPooler(t)
	both := fmt.Sprintf("127.0.0.1:%d,127.0.0.1:%d/ropewalk?target_session_attrs=read-write&sslmode=disable", f.primary.Port(), f.copy.Port())
	f.settings = []string{
		"DATABASE_URL=" + fmt.Sprintf("postgres://ropewalk_app:%s@127.0.0.1:%d/ropewalk?sslmode=disable", appPassword, f.poolerPort),
		"DATABASE_DIRECT_URL=postgres://ropewalk_app:" + appPassword + "@" + both,
		"DATABASE_READ_URL=" + f.copy.URL("ropewalk_app", appPassword, "ropewalk"),
		"ROPEWALK_OWNER_URL=postgres://ropewalk_owner:" + ownerPassword + "@" + both,
	}
	began := time.Now()
	for range 3 {
		f.servers = append(f.servers, f.begin(t, "serve"))
	}
	f.worker = f.begin(t, "work")
	for _, p := range append(f.servers, f.worker) {
		p.waitAddress()
		p.ready()
	}
	t.Logf("3 servers and a worker on an empty database: all ready after %.2f s", time.Since(began).Seconds())
	f.openBalancer(t)
	f.hands = fill(t, f.primary.OwnerURL("ropewalk"), n).hands(f.site)
	return f
}

// openDatabase starts a primary, and a replica that has every commit before it
// is acknowledged.
func (f *farm) openDatabase(t *testing.T) {
	t.Helper()
	f.primary = testdb.StartMachine(t, shipped(t, "scale-out/primary.conf", "listen_addresses = '*'\n", ""))
	f.primary.Psql("postgres", shipped(t, "scale-out/roles.sql", ":owner", "'"+ownerPassword+"'", ":app", "'"+appPassword+"'", ":replica", "'replica'"))
	f.copy = f.primary.Copy("copy1")
	do(t, f.primary.OwnerURL("postgres"), `ALTER SYSTEM SET synchronous_standby_names = 'ANY 1 (copy1, copy2)'`, `SELECT pg_reload_conf()`)
}

// openPooler starts pgbouncer.
func (f *farm) openPooler(t *testing.T) {
	t.Helper()
	program, err := testdb.FindPooler()
	if err != nil {
		t.Fatal(err)
	}
	folder := folderFor(t)
	f.poolerPort = testdb.FreePort(t)
	f.pool(t, folder, f.primary)
	write(t, filepath.Join(folder, "userlist.txt"), fmt.Sprintf("%q %q\n", "ropewalk_app", appPassword))
	f.pooler = startDaemon(t, folder, nil, program, append(testdb.PoolerAccount(), filepath.Join(folder, "pgbouncer.ini"))...)
}

// pool writes the pooler's settings so that it leads to a database.
func (f *farm) pool(t *testing.T, folder string, to *testdb.Machine) {
	t.Helper()
	write(t, filepath.Join(folder, "pgbouncer.ini"), shipped(t, "pgbouncer.ini",
		"host=10.0.0.11 port=5432", fmt.Sprintf("host=127.0.0.1 port=%d", to.Port()),
		"listen_addr = *", "listen_addr = 127.0.0.1", "listen_port = 6432", fmt.Sprintf("listen_port = %d", f.poolerPort),
		"/etc/pgbouncer", folder, "/var/log/postgresql", folder, "/run/postgresql", folder))
}

// openBalancer starts Caddy.
func (f *farm) openBalancer(t *testing.T) {
	t.Helper()
	folder := folderFor(t)
	file := filepath.Join(folder, "Caddyfile")
	port, admin := testdb.FreePort(t), testdb.FreePort(t)
	f.site, f.admin = fmt.Sprintf("http://127.0.0.1:%d", port), fmt.Sprintf("127.0.0.1:%d", admin)
	write(t, file, fmt.Sprintf("{\n\tadmin %s\n}\n", f.admin)+shipped(t, "Caddyfile"))
	var upstreams []string
	for _, p := range f.servers {
		upstreams = append(upstreams, strings.Replace(p.address, "http://localhost", "127.0.0.1", 1))
	}
	f.balancer = startDaemon(t, folder, []string{"SITE=" + f.site, "UPSTREAMS=" + strings.Join(upstreams, " "),
		"HOME=" + folder, "XDG_DATA_HOME=" + folder, "XDG_CONFIG_HOME=" + folder}, "caddy", "run", "--config", file, "--adapter", "caddyfile")
	for began := time.Now(); status(f.site+"/readyz") != http.StatusOK; time.Sleep(20 * time.Millisecond) {
		if time.Since(began) > patience {
			t.Fatal("the balancer leads nowhere")
		}
	}
}

// begin starts a program of the farm on a port of its own.
func (f *farm) begin(t *testing.T, command string) *program {
	t.Helper()
	return beginAs(t, command, append(f.settings, "ROPEWALK_DATA="+t.TempDir(), fmt.Sprintf("PORT=%d", testdb.FreePort(t)), "ROPEWALK_WORK=no", "ROPEWALK_BACKUPS=no")...)
}

// again starts a killed server where it was.
func (f *farm) again(t *testing.T, number int) time.Duration {
	t.Helper()
	began := time.Now()
	killed := f.servers[number]
	p := &program{t: t, cmd: call(t, []string{"serve"}), said: &lines{}, ended: make(chan struct{})}
	p.cmd.Env = killed.cmd.Env
	p.run()
	p.waitAddress()
	p.ready()
	f.servers[number] = p
	return time.Since(began)
}

// inFlight asks the balancer how many requests each server is answering.
func (f *farm) inFlight(t *testing.T, number int) int {
	t.Helper()
	answer, err := http.Get("http://" + f.admin + "/reverse_proxy/upstreams")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var all []struct {
		Address string `json:"address"`
		Count   int    `json:"num_requests"`
	}
	if err := json.NewDecoder(answer.Body).Decode(&all); err != nil {
		t.Fatal(err)
	}
	for _, one := range all {
		if "http://"+one.Address == strings.Replace(f.servers[number].address, "localhost", "127.0.0.1", 1) {
			return one.Count
		}
	}
	t.Fatalf("the balancer does not know server %d at %s: %v", number, f.servers[number].address, all)
	return 0
}
