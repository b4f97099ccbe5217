package testdb

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/localpg"
)

// A Machine is a PostgreSQL server of a test's own on a loopback port, as it
// would be on a machine of its own: with all that keeps data, unlike the server
// that tests share. It ends with the test.
type Machine struct {
	t        testing.TB
	dir      string
	programs string
	port     int
	login    *user.User // who runs it under root, nil otherwise
	cmd      *exec.Cmd
	ended    chan struct{}
}

// superuserPassword opens test servers, which hold no secrets.
const superuserPassword = "superuser"

// StartMachine makes an empty server. Each setting is written as in
// postgresql.conf.
func StartMachine(t testing.TB, settings ...string) *Machine {
	t.Helper()
	m := newMachine(t)
	secret := filepath.Join(m.dir, "password")
	if err := os.WriteFile(secret, []byte(superuserPassword), 0o644); err != nil {
		t.Fatal(err)
	}
	m.run("initdb", "-D", m.data(), "--username=postgres", "--pwfile="+secret, "--auth=scram-sha-256", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync")
	m.configure(settings)
	m.Start()
	return m
}

// Copy makes a streaming replica of the server, under a name that
// synchronous_standby_names can say.
func (m *Machine) Copy(name string, settings ...string) *Machine {
	m.t.Helper()
	c := newMachine(m.t)
	c.run("pg_basebackup", "-D", c.data(), "--write-recovery-conf", "--create-slot", "--slot="+name, "--checkpoint=fast", "--no-sync",
		"--dbname="+m.URL("postgres", superuserPassword, "replication")+"&application_name="+name)
	c.configure(settings)
	c.Start()
	return c
}

func newMachine(t testing.TB) *Machine {
	t.Helper()
	found, err := localpg.FindPrograms("", 0)
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("", "ropewalk-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	m := &Machine{t: t, dir: dir, programs: found.Dir, port: FreePort(t), login: loginUnderRoot()}
	if err := errors.Join(os.Mkdir(m.data(), 0o700), os.Chmod(dir, 0o755)); err != nil {
		t.Fatal(err)
	}
	if m.login != nil {
		uid, gid := m.ids()
		if err := os.Chown(m.data(), int(uid), int(gid)); err != nil {
			t.Fatal(err)
		}
	}
	return m
}

// loginUnderRoot returns who runs what does not run as root, nil where this is
// not root.
func loginUnderRoot() *user.User {
	if os.Geteuid() != 0 {
		return nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		if found, err := user.Lookup(name); err == nil {
			return found
		}
	}
	return nil
}

func (m *Machine) ids() (uid, gid uint32) {
	u, _ := strconv.ParseUint(m.login.Uid, 10, 32) // numbers on every Unix
	g, _ := strconv.ParseUint(m.login.Gid, 10, 32)
	return uint32(u), uint32(g)
}

// FreePort returns a port on which nothing listens.
func FreePort(t testing.TB) int {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	return listener.Addr().(*net.TCPAddr).Port
}

func (m *Machine) data() string { return filepath.Join(m.dir, "data") }

func (m *Machine) configure(settings []string) {
	m.t.Helper()
	text := fmt.Sprintf("listen_addresses = '127.0.0.1'\nport = %d\nunix_socket_directories = ''\n", m.port)
	for _, setting := range settings {
		text += setting + "\n"
	}
	file, err := os.OpenFile(filepath.Join(m.data(), "postgresql.conf"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		m.t.Fatal(err)
	}
	_, err = file.WriteString(text)
	if err := errors.Join(err, file.Close()); err != nil {
		m.t.Fatal(err)
	}
}

func (m *Machine) command(program string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(m.programs, program), args...)
	cmd.Dir = "/"
	cmd.Env = []string{"LC_ALL=C", "PATH=" + os.Getenv("PATH")}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if m.login != nil {
		uid, gid := m.ids()
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: uid, Gid: gid}
	}
	return cmd
}

func (m *Machine) run(program string, args ...string) {
	m.t.Helper()
	if out, err := m.command(program, args...).CombinedOutput(); err != nil {
		m.t.Fatalf("%s: %v: %s", program, err, out)
	}
}

// Start starts the server, and waits until it answers.
func (m *Machine) Start() {
	m.t.Helper()
	log, err := os.OpenFile(filepath.Join(m.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		m.t.Fatal(err)
	}
	defer log.Close()
	cmd := m.command("postgres", "-D", m.data())
	cmd.Stdout, cmd.Stderr = log, log
	if err := cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
	ended := make(chan struct{})
	go func() {
		_ = cmd.Wait() // its log says more
		close(ended)
	}()
	lifeline, err := endAfterUs(cmd.Process.Pid, m.dir)
	if err != nil {
		m.t.Fatal(err)
	}
	m.cmd, m.ended = cmd, ended
	m.t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGINT) // "fast"
		<-ended
		_ = lifeline.Close()
	})
	for began := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		conn, err := pgx.Connect(context.Background(), m.OwnerURL("postgres"))
		if err == nil {
			_ = conn.Close(context.Background())
			return
		}
		if time.Since(began) > 30*time.Second {
			said, _ := os.ReadFile(filepath.Join(m.dir, "log"))
			m.t.Fatalf("the server did not start: %v\n%s", err, said)
		}
	}
}

// Kill ends the server as a power cut would, with all of its sessions.
func (m *Machine) Kill() {
	_ = m.cmd.Process.Signal(syscall.SIGQUIT) // "immediate": no word to anybody, no checkpoint
	<-m.ended
}

// Signal sends a signal to the server's main process.
func (m *Machine) Signal(signal syscall.Signal) { _ = m.cmd.Process.Signal(signal) }

// Promote ends a replica's following: from now on it writes.
func (m *Machine) Promote() {
	m.t.Helper()
	m.run("pg_ctl", "promote", "-D", m.data(), "--wait")
}

// Psql runs a script by psql as the superuser, up to the first error.
func (m *Machine) Psql(database, script string) {
	m.t.Helper()
	cmd := m.command("psql", "-q", "-X", "-v", "ON_ERROR_STOP=1", "-d", m.OwnerURL(database))
	cmd.Stdin = strings.NewReader(script)
	if out, err := cmd.CombinedOutput(); err != nil {
		m.t.Fatalf("psql: %v: %s", err, out)
	}
}

// Port is where the server listens, on 127.0.0.1.
func (m *Machine) Port() int { return m.port }

// OwnerURL returns the address of a database for the superuser.
func (m *Machine) OwnerURL(database string) string {
	return m.URL("postgres", superuserPassword, database)
}

// URL returns the address of a database for a role.
func (m *Machine) URL(role, password, database string) string {
	address := url.URL{Scheme: "postgres", User: url.UserPassword(role, password), Host: net.JoinHostPort("127.0.0.1", strconv.Itoa(m.port)),
		Path: "/" + database, RawQuery: "sslmode=disable"}
	return address.String()
}
