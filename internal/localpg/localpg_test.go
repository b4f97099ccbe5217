package localpg

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/problem"
)

// holdFolder names the folder on which the test program, called again, runs a
// server until it is killed.
const holdFolder = "LOCALPG_TEST_HOLD"

func TestMain(m *testing.M) {
	if dir := os.Getenv(holdFolder); dir != "" {
		hold(dir)
	}
	os.Exit(m.Run())
}

// hold starts a durable server, tells its address and waits for standard input to end.
func hold(dir string) {
	c, err := Start(context.Background(), Options{Dir: dir})
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println(c.URL("postgres"))
	_, _ = bufio.NewReader(os.Stdin).ReadString('\n')
	if err := c.Stop(); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	os.Exit(0)
}

func start(t *testing.T, dir string) *Cluster {
	t.Helper()
	c, err := Start(t.Context(), Options{Dir: dir, Throwaway: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Stop(); err != nil {
			t.Error(err)
		}
	})
	return c
}

// ask runs one statement that returns one text.
func ask(t *testing.T, address, statement string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	var text string
	if err := conn.QueryRow(t.Context(), statement).Scan(&text); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	return text
}

func TestFirstStart(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "yet", "there")
	c := start(t, dir)

	for setting, want := range map[string]string{
		"server_encoding":         "UTF8",
		"lc_collate":              locale(),
		"password_encryption":     "scram-sha-256",
		"data_checksums":          "on",
		"listen_addresses":        "",
		"unix_socket_permissions": "0700",
		"TimeZone":                "UTC",
		"log_error_verbosity":     "terse",
	} {
		if got := ask(t, c.URL("postgres"), "SELECT current_setting('"+setting+"')"); got != want {
			t.Errorf("%s = %q, want %q", setting, got, want)
		}
	}
	for name, want := range map[string]fs.FileMode{"password": 0o600, "server.log": 0o600, "lock": 0o600, "data": 0o700} {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if got := info.Mode().Perm(); got != want {
			t.Errorf("%s has mode %o, want %o", name, got, want)
		}
	}
	if group, err := syscall.Getpgid(c.PID()); err != nil || group != c.PID() {
		t.Errorf("process group = %d, %v; want the server's own, %d, out of reach of Ctrl-C", group, err, c.PID())
	}
}

func TestPasswordIsAskedFor(t *testing.T) {
	c := start(t, t.TempDir())
	_, err := pgx.Connect(t.Context(), c.RoleURL(superuser, "guess", "postgres"))
	if err == nil || !strings.Contains(err.Error(), "password authentication failed") {
		t.Errorf("a wrong password gave %v", err)
	}
}

func TestSocketPathIsShort(t *testing.T) {
	dir := filepath.Join(t.TempDir(), strings.Repeat("a-long-folder-name/", 9))
	c := start(t, dir)
	if path := filepath.Join(c.sockets, ".s.PGSQL."+port); len(path) > 100 { // the shortest limit, macOS's, is 103 bytes
		t.Errorf("socket path %s has %d bytes", path, len(path))
	}
	if got := ask(t, c.URL("postgres"), "SELECT 'reached'"); got != "reached" {
		t.Errorf("got %q", got)
	}
}

func TestNextStartKeepsData(t *testing.T) {
	dir := t.TempDir()
	first := start(t, dir)
	execute(t, first.URL("postgres"), "CREATE TABLE kept AS SELECT 'skipped twice' AS word")
	if err := first.Stop(); err != nil {
		t.Fatal(err)
	}
	if err := first.Stop(); err != nil {
		t.Errorf("a second Stop: %v", err)
	}
	if _, err := os.Stat(first.sockets); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the socket folder is still there: %v", err)
	}
	if err := syscall.Kill(first.PID(), 0); !errors.Is(err, syscall.ESRCH) {
		t.Errorf("the server still runs: %v", err)
	}

	second := start(t, dir)
	if got := ask(t, second.URL("postgres"), "SELECT word FROM kept"); got != "skipped twice" {
		t.Errorf("got %q", got)
	}
}

func execute(t *testing.T, address, statement string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}

func TestSecondStartOnOneFolder(t *testing.T) {
	dir := t.TempDir()
	c := start(t, dir)
	_, err := Start(t.Context(), Options{Dir: dir, Throwaway: true})
	if problem.KindOf(err) != problem.Conflict || !strings.Contains(err.Error(), fmt.Sprintf("process %d", os.Getpid())) {
		t.Errorf("second start: %v", err)
	}
	if got := ask(t, c.URL("postgres"), "SELECT 'still there'"); got != "still there" {
		t.Errorf("the first server answers %q", got)
	}
}

// A holder is another program with a server on a folder.
type holder struct {
	program *exec.Cmd
	address string
}

func startHolder(t *testing.T, dir string) holder {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), holdFolder+"="+dir)
	if _, err := cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "postgres://") {
		t.Fatalf("the other program says %q, %v", line, err)
	}
	address := strings.TrimSpace(line)
	config, err := pgx.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(config.Host) }) // a killed program leaves its socket folder
	return holder{program: cmd, address: address}
}

func TestKilledPredecessor(t *testing.T) {
	tests := []struct {
		name string
		kill func(t *testing.T, dir string, h holder)
	}{
		{"program killed", func(t *testing.T, _ string, h holder) {
			killNow(t, h.program.Process.Pid)
		}},
		{"server killed, then program", func(t *testing.T, dir string, h holder) {
			killNow(t, readPostmaster(filepath.Join(dir, "data")).pid)
			killNow(t, h.program.Process.Pid)
		}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			h := startHolder(t, dir)
			execute(t, h.address, "CREATE TABLE kept AS SELECT 'committed' AS word")
			session, err := pgx.Connect(t.Context(), h.address) // a session that nobody closes
			if err != nil {
				t.Fatal(err)
			}
			defer session.Close(context.Background())
			test.kill(t, dir, h)
			_ = h.program.Wait() // killed

			c := start(t, dir)
			if got := ask(t, c.URL("postgres"), "SELECT word FROM kept"); got != "committed" {
				t.Errorf("got %q", got)
			}
		})
	}
}

func killNow(t *testing.T, pid int) {
	t.Helper()
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

// Even a killed program leaves no server behind, where the system can tell
// the server of that.
func TestServerEndsWithKilledProgram(t *testing.T) {
	if runtime.GOOS != "linux" {
		return // other systems cannot; there the next start ends or names it
	}
	dir := t.TempDir()
	h := startHolder(t, dir)
	pid := readPostmaster(filepath.Join(dir, "data")).pid
	killNow(t, h.program.Process.Pid)
	_ = h.program.Wait() // killed
	for deadline := time.Now().Add(30 * time.Second); syscall.Kill(pid, 0) == nil; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("server %d still runs", pid)
		}
	}
}

// After the restart of a container, the number in a crashed server's note may
// belong to any program.
func TestStaleNoteNamesAnotherProgram(t *testing.T) {
	dir := t.TempDir()
	if err := start(t, dir).Stop(); err != nil {
		t.Fatal(err)
	}
	sleeper := exec.Command("sleep", "600")
	data, err := os.Stat(filepath.Join(dir, "data"))
	if err != nil {
		t.Fatal(err)
	}
	uid, gid := ownerOf(data)
	if uid != uint32(os.Geteuid()) {
		sleeper.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uid, Gid: gid}}
		sleeper.Dir = "/"
	}
	if err := sleeper.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _, _ = sleeper.Process.Kill(), sleeper.Wait() }()
	note := fmt.Sprintf("%d\n%s\n1\n5432\n/tmp\n\n", sleeper.Process.Pid, filepath.Join(dir, "data"))
	if err := os.WriteFile(filepath.Join(dir, "data", "postmaster.pid"), []byte(note), 0o600); err != nil {
		t.Fatal(err)
	}

	c := start(t, dir)
	if got := ask(t, c.URL("postgres"), "SELECT 'up'"); got != "up" {
		t.Errorf("got %q", got)
	}
	if err := syscall.Kill(sleeper.Process.Pid, 0); err != nil {
		t.Errorf("the other program was ended: %v", err)
	}
}

func TestInterruptedFirstStart(t *testing.T) {
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Start(ctx, Options{Dir: dir, Throwaway: true}); !errors.Is(err, context.Canceled) {
		t.Fatalf("start in a context that has ended: %v", err)
	}
	c := start(t, dir)
	if got := ask(t, c.URL("postgres"), "SELECT 'up'"); got != "up" {
		t.Errorf("got %q", got)
	}
}

func TestServerThatCannotStart(t *testing.T) {
	dir := t.TempDir()
	if err := start(t, dir).Stop(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "data", "postgresql.conf"), []byte("shared_buffers = many\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: dir, Throwaway: true})
	if err == nil || !strings.Contains(err.Error(), "configuration file") || !strings.Contains(err.Error(), "server.log") {
		t.Errorf("start with a broken configuration: %v", err)
	}
}

func TestServerThatEndsByItself(t *testing.T) {
	c := start(t, t.TempDir())
	if err := syscall.Kill(c.PID(), syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	<-c.Done()
}

func TestAddress(t *testing.T) {
	c := &Cluster{sockets: "/tmp/ropewalk-0123", password: "a/b@c"}
	address, err := url.Parse(c.URL("gym"))
	if err != nil {
		t.Fatal(err)
	}
	config, err := pgx.ParseConfig(address.String())
	if err != nil {
		t.Fatal(err)
	}
	if config.Host != "/tmp/ropewalk-0123" || config.Port != 5432 || config.Database != "gym" || config.User != "postgres" || config.Password != "a/b@c" {
		t.Errorf("address reads as %s, %d, %s, %s, %s", config.Host, config.Port, config.Database, config.User, config.Password)
	}
}
