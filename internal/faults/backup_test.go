package faults

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
)

// run runs a command to its end and returns what it says to people.
func run(t *testing.T, args []string, settings ...string) (said string, err error) {
	t.Helper()
	cmd := call(t, args, settings...)
	var out, log bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &log
	if err = cmd.Run(); err != nil {
		return log.String(), err
	}
	return out.String(), nil
}

// A backup is made while eight hands write, and restored into an empty machine.
// The command itself compares counts and sums there, and refuses a difference.
func TestBackupUnderLoad(t *testing.T) {
	dir, _, h := open(t, 40)
	enough := h.work(8)
	h.more(50)
	before := h.acknowledged()
	began := time.Now()
	said, err := run(t, []string{"backup"}, "ROPEWALK_DATA="+dir)
	took := time.Since(began)
	if err != nil {
		t.Fatalf("backup: %v: %s", err, said)
	}
	h.more(20)
	enough()
	h.report(t, "backup under 8 writers")
	file, _, _ := strings.Cut(said, "\n")

	empty := t.TempDir()
	began = time.Now()
	if said, err := run(t, []string{"restore", file}, "ROPEWALK_DATA="+empty); err != nil {
		t.Fatalf("restore: %v: %s", err, said)
	}
	restoring := time.Since(began)
	p := serve(t, "ROPEWALK_DATA="+empty)
	p.ready()
	other := &hall{t: t, address: cluster(t, empty).URL("postgres"), gym: h.gym}
	rows := map[uuid.UUID]bool{}
	for _, id := range ask[[]uuid.UUID](other, `SELECT coalesce(array_agg(result_id), '{}') FROM result`) {
		rows[id] = true
	}
	missing := 0
	for id := range before {
		if !rows[id] {
			missing++
		}
	}
	t.Logf("backup took %.2f s, restore %.2f s; %d results were acknowledged before it began, %d of them are missing, %d are there in all",
		took.Seconds(), restoring.Seconds(), len(before), missing, len(rows))
	if missing > 0 {
		t.Errorf("%d results are missing", missing)
	}
	if n := ask[int](other, `SELECT count(*) FROM sign_in`); n != 0 {
		t.Errorf("%d sign-ins came back", n)
	}

	// A second restore finds a gym there; a damaged file changes nothing.
	p.stop()
	if said, err := run(t, []string{"restore", file}, "ROPEWALK_DATA="+empty); err == nil || !strings.Contains(said, "only restored into an empty one") {
		t.Errorf("a restore over a gym is told %v: %s", err, said)
	}
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	whole[len(whole)/2] ^= 1
	damaged := filepath.Join(t.TempDir(), "damaged.tar")
	if err := os.WriteFile(damaged, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	fresh := t.TempDir()
	if said, err := run(t, []string{"restore", damaged}, "ROPEWALK_DATA="+fresh); err == nil || !strings.Contains(said, "is damaged or is no backup") {
		t.Errorf("a damaged file is told %v: %s", err, said)
	}
	if said, err := run(t, []string{"doctor"}, "ROPEWALK_DATA="+dir); err != nil {
		t.Errorf("doctor: %v: %s", err, said)
	}
}
