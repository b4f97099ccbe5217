package app_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"ropewalk.example/internal/testdb"
)

// A container engine asks by the program itself, since its image has no other.
func TestHealth(t *testing.T) {
	for _, tls := range []string{"", "own"} {
		t.Run("TLS "+tls, func(t *testing.T) {
			settings := []string{"ROPEWALK_DATA=" + t.TempDir(), fmt.Sprintf("PORT=%d", testdb.FreePort(t)), "ROPEWALK_LISTEN=127.0.0.1", "ROPEWALK_TLS=" + tls}
			if exit, _, stderr := once(t, settings, "health"); exit != 1 || !strings.Contains(stderr, "No server answers at 127.0.0.1:") {
				t.Errorf("without a server: exit %d: %s", exit, stderr)
			}
			p := start(t, settings, "serve")
			if exit, stdout, stderr := once(t, settings, "health"); exit != 0 || stdout != "ready\n" {
				t.Errorf("exit %d: %s%s", exit, stdout, stderr)
			}
			p.stop()
		})
	}
}

// Servers may leave the work to another program; that one shows no pages.
func TestWorkApart(t *testing.T) {
	db := testdb.New(t)
	settings := []string{"DATABASE_URL=" + testdb.Pooled(t, db), "DATABASE_DIRECT_URL=" + db.AppURL, "ROPEWALK_OWNER_URL=" + db.OwnerURL, "ROPEWALK_WORK=no"}
	p := start(t, append(settings, "ROPEWALK_DATA="+t.TempDir()), "serve")
	worker := start(t, append(settings, "ROPEWALK_DATA="+t.TempDir()), "work")
	p.makeGym()
	for path, want := range map[string]int{"/healthz": http.StatusOK, "/readyz": http.StatusOK, "/": http.StatusNotFound, "/sign-in": http.StatusNotFound} {
		if status, _, _ := worker.get(path); status != want {
			t.Errorf("%s of the worker: %d, want %d", path, status, want)
		}
	}
	for name, program := range map[string]*program{"server": p, "worker": worker} {
		if exit := program.stop(); exit != 0 {
			t.Errorf("%s: exit code %d: %s", name, exit, program.log)
		}
	}
}
