package localpg

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// keep keeps c running until the test ends.
func keep(t *testing.T, c *Cluster) {
	ctx, cancel := context.WithCancel(context.Background())
	var kept sync.WaitGroup
	kept.Go(func() { c.Keep(ctx) })
	t.Cleanup(func() {
		cancel()
		kept.Wait()
	})
}

// askSoon asks until there is an answer.
func askSoon(t *testing.T, address, statement string) string {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		conn, err := pgx.Connect(t.Context(), address)
		if err == nil {
			var text string
			err = conn.QueryRow(t.Context(), statement).Scan(&text)
			_ = conn.Close(t.Context())
			if err == nil {
				return text
			}
		}
		if time.Now().After(deadline) {
			t.Fatalf("no answer: %v", err)
		}
	}
}

// A fresh server for each way in which it may end by itself.
func TestKeptServerComesBack(t *testing.T) {
	for name, signal := range map[string]syscall.Signal{"killed": syscall.SIGKILL, "stopped by somebody": syscall.SIGINT, "stopped at once": syscall.SIGQUIT} {
		t.Run(name, func(t *testing.T) {
			c, err := Start(t.Context(), Options{Dir: t.TempDir()})
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = c.Stop() })
			execute(t, c.URL("postgres"), "CREATE TABLE kept AS SELECT 'committed' AS word")
			keep(t, c)
			for range 2 {
				pid := c.PID()
				if err := syscall.Kill(pid, signal); err != nil {
					t.Fatal(err)
				}
				for c.PID() == pid {
					time.Sleep(5 * time.Millisecond)
				}
				if got := askSoon(t, c.URL("postgres"), "SELECT word FROM kept"); got != "committed" {
					t.Errorf("got %q", got)
				}
			}
		})
	}
}

func TestKeepGoesOnTrying(t *testing.T) {
	dir := t.TempDir()
	c := start(t, dir)
	keep(t, c)
	conf := filepath.Join(dir, "data", "postgresql.conf")
	right, err := os.ReadFile(conf)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(conf, []byte("shared_buffers = many\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	killNow(t, c.PID())
	for !strings.Contains(logOf(t, c), "configuration file") {
		time.Sleep(5 * time.Millisecond)
	}
	if err := os.WriteFile(conf, right, 0o600); err != nil {
		t.Fatal(err)
	}
	if got := askSoon(t, c.URL("postgres"), "SELECT 'up'"); got != "up" {
		t.Errorf("got %q", got)
	}
}

func logOf(t *testing.T, c *Cluster) string {
	t.Helper()
	text, err := os.ReadFile(c.LogFile())
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestAttach(t *testing.T) {
	dir := t.TempDir()
	if _, err := Attach(t.Context(), filepath.Join(dir, "nowhere")); !errors.Is(err, ErrNotRunning) {
		t.Errorf("attach to a folder that is not there: %v", err)
	}
	if _, err := Attach(t.Context(), dir); !errors.Is(err, ErrNotRunning) {
		t.Errorf("attach to an empty folder: %v", err)
	}
	c := start(t, dir)
	other, err := Attach(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if other.URL("postgres") != c.URL("postgres") || other.Programs() != c.Programs() {
		t.Error("the attached server is another one")
	}
	if err := other.Stop(); err != nil {
		t.Error(err)
	}
	if got := ask(t, other.URL("postgres"), "SELECT 'up'"); got != "up" {
		t.Errorf("got %q", got)
	}
	if err := c.Stop(); err != nil {
		t.Fatal(err)
	}
	if _, err := Attach(t.Context(), dir); !errors.Is(err, ErrNotRunning) {
		t.Errorf("attach to a stopped server: %v", err)
	}
	start(t, dir) // attaching has not kept the folder
}
