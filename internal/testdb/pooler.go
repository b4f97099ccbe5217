package testdb

import (
	"context"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/store"
)

// pooler is this test program's one pgbouncer.
var pooler = sync.OnceValues(startPooler)

// Pooled returns the way of the app's role to a database through pgbouncer,
// which gives every transaction whichever of its few sessions is free.
func Pooled(t testing.TB, db DB) string {
	t.Helper()
	folder, err := pooler()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { leave(t, db) })
	address, err := url.Parse(db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	address.Host = ""
	address.RawQuery = url.Values{"host": {folder.path}, "port": {strconv.Itoa(poolerPort)}, "sslmode": {"disable"}}.Encode()
	return address.String()
}

// leave ends the sessions that the pooler keeps in a database, so that it can
// be dropped.
func leave(t testing.TB, db DB) {
	ctx := context.WithoutCancel(t.Context())
	conn, err := pgx.Connect(ctx, db.OwnerURL)
	if err != nil {
		t.Error(err)
		return
	}
	defer conn.Close(ctx)
	for began := time.Now(); ; time.Sleep(5 * time.Millisecond) {
		var left int
		err := conn.QueryRow(ctx, `SELECT count(*) FROM (SELECT pg_terminate_backend(pid) FROM pg_stat_activity
			WHERE datname = current_database() AND pid <> pg_backend_pid()) AS ended`).Scan(&left)
		if err != nil || time.Since(began) > 30*time.Second {
			t.Errorf("%d sessions stay in a test's database: %v", left, err)
			return
		}
		if left == 0 {
			return
		}
	}
}

// poolerPort names the pooler's socket; nothing listens on the network.
const poolerPort = 6432

// A held is a folder that lives as long as this test program.
type held struct {
	path     string
	lifeline io.Closer
}

func startPooler() (held, error) {
	running, err := server()
	if err != nil {
		return held{}, err
	}
	program, err := FindPooler()
	if err != nil {
		return held{}, err
	}
	folder, err := os.MkdirTemp("", "ropewalk-test-")
	if err != nil {
		return held{}, fmt.Errorf("folder of the pooler: %w", err)
	}
	host, port := running.address.Hostname(), running.address.Port()
	if socket := running.address.Query().Get("host"); socket != "" {
		host = socket
	}
	if named := running.address.Query().Get("port"); named != "" {
		port = named
	}
	ini := fmt.Sprintf(`[databases]
* = host=%s port=%s
[pgbouncer]
pool_mode = transaction
default_pool_size = 4
max_client_conn = 500
listen_addr =
listen_port = %d
unix_socket_dir = %s
auth_type = plain
auth_file = %s/logins
server_tls_sslmode = disable
logfile = %s/log
`, host, port, poolerPort, folder, folder, folder)
	for name, text := range map[string]string{"ini": ini, "logins": fmt.Sprintf("%q %q\n", store.AppRole, appPassword)} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			return held{}, fmt.Errorf("settings of the pooler: %w", err)
		}
	}
	if err := os.Chmod(folder, 0o777); err != nil {
		return held{}, fmt.Errorf("opening the folder of the pooler: %w", err)
	}
	cmd := exec.Command(program, append(PoolerAccount(), filepath.Join(folder, "ini"))...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := cmd.Start(); err != nil {
		return held{}, fmt.Errorf("starting the pooler: %w", err)
	}
	go func() { _ = cmd.Wait() }() // so that whoever asks sees it gone
	lifeline, err := endAfterUs(cmd.Process.Pid, folder)
	return held{folder, lifeline}, err
}

// FindPooler returns where pgbouncer is.
func FindPooler() (string, error) {
	if path, err := exec.LookPath("pgbouncer"); err == nil {
		return path, nil
	}
	const debians = "/usr/sbin/pgbouncer"
	if _, err := os.Stat(debians); err != nil {
		return "", fmt.Errorf("pgbouncer is not on this machine; install it with .ci/install scale: %w", err)
	}
	return debians, nil
}

// PoolerAccount returns the option by which root starts pgbouncer, which does
// not run as root.
func PoolerAccount() []string {
	if login := loginUnderRoot(); login != nil {
		return []string{"--user", login.Username}
	}
	return nil
}
