package app

import (
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/config"
	"ropewalk.example/internal/store"
)

func TestWhatTheDoctorSaysOfADatabase(t *testing.T) {
	now := time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)
	healthy := store.Examination{Server: "15.18", Schema: store.NewestSchema(), Clock: now, Connections: 5, Room: 100, Backups: true, Durable: true}
	for _, test := range []struct {
		name   string
		change func(x *store.Examination)
		grade  grade
		says   string
	}{
		{"healthy", func(*store.Examination) {}, well, ""},
		{"older schema", func(x *store.Examination) { x.Schema-- }, look, "the next ropewalk serve brings it to"},
		{"newer schema", func(x *store.Examination) { x.Schema++ }, ill, "Start the newer program."},
		{"broken-off migration", func(x *store.Examination) { x.Dirty = true }, look, "The next ropewalk serve repairs it."},
		{"clock off", func(x *store.Examination) { x.Clock = now.Add(-time.Minute) }, look, "60 seconds off"},
		{"crowded", func(x *store.Examination) { x.Connections = 81 }, look, "put pgbouncer in between"},
		{"not durable", func(x *store.Examination) { x.Durable = false }, ill, "a power cut loses results"},
		{"no backups", func(x *store.Examination) { x.Backups = false }, ill, "BYPASSRLS"},
		{"no limits", func(x *store.Examination) { x.Unlimited = []string{"lock_timeout"} }, look, "lacks lock_timeout"},
	} {
		t.Run(test.name, func(t *testing.T) {
			x := healthy
			test.change(&x)
			worst := finding{grade: well}
			for _, f := range judge(x, now) {
				if f.grade != well {
					worst = f
				}
			}
			if worst.grade != test.grade || !strings.Contains(worst.says, test.says) {
				t.Errorf("it says %+v, want %s with %q", worst, test.grade, test.says)
			}
		})
	}
}

func TestWhatTheDoctorSaysOfBackups(t *testing.T) {
	now := time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)
	dir := t.TempDir()
	check := func(name string, conf config.Config, g grade, says string) {
		t.Helper()
		if f := backupFinding(conf, now); f.grade != g || !strings.Contains(f.says, says) {
			t.Errorf("%s: %+v, want %s with %q", name, f, g, says)
		}
	}
	check("switched off", config.Config{}, look, "Switched off")
	check("none yet", config.Config{Backups: filepath.Join(dir, "none")}, look, "Run ropewalk backup.")
	put := func(name string) {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("ropewalk-20261101T030000Z.tar")
	check("old", config.Config{Backups: dir}, ill, "3 days old")
	put("ropewalk-20261104T030000Z.tar.age")
	check("young", config.Config{Backups: dir}, look, "9 hours old, not encrypted")
	check("young and encrypted", config.Config{Backups: dir, BackupKey: "age1"}, well, "encrypted")
}

func TestWhatTheDoctorSaysOfFigures(t *testing.T) {
	says := "# HELP\nropewalk_build_info 1\n"
	there := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, says) }))
	address := strings.TrimPrefix(there.URL, "http://")
	_, port, _ := strings.Cut(address, ":")
	check := func(name string, conf config.Config, g grade, says string) {
		t.Helper()
		if f := figuresFinding(t.Context(), conf); f.grade != g || !strings.Contains(f.says, says) {
			t.Errorf("%s: %+v, want %s with %q", name, f, g, says)
		}
	}
	check("none asked for", config.Config{}, well, "set ROPEWALK_METRICS=9100")
	check("shown", config.Config{Metrics: address}, well, "shown at http://127.0.0.1:")
	check("open", config.Config{Metrics: "0.0.0.0:" + port, MetricsOpen: true}, look, "a firewall keeps others out")
	says = "node_exporter"
	check("another program", config.Config{Metrics: address}, ill, "Another program answers")
	there.Close()
	check("not running", config.Config{Metrics: address}, look, "while it runs")
}

func TestWhatTheDoctorSaysOfFolders(t *testing.T) {
	dir := t.TempDir()
	if f := dataFolder(dir); f.grade != well {
		t.Errorf("a folder: %+v", f)
	}
	if f := dataFolder(filepath.Join(dir, "none")); f.grade != look {
		t.Errorf("no folder: %+v", f)
	}
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if f := dataFolder(file); f.grade != ill {
		t.Errorf("a file: %+v", f)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("the doctor left %v, %v", left, err)
	}
	for setting, want := range map[string]grade{"": look, "own": look, "own:": ill} {
		if f := certificateFinding(config.Config{TLS: setting, DataDir: dir}, time.Now()); f.grade != want {
			t.Errorf("TLS %q: %+v, want %s", setting, f, want)
		}
	}
	if f := certificateFinding(config.Config{Proxy: true}, time.Now()); f.grade != well {
		t.Errorf("behind a proxy: %+v", f)
	}
}
