package faults

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// The disk fills up under writers, stays full for a while, and gets room again.
// Pages and writes that cannot be kept say so; then all goes on by itself.
func TestDiskFull(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Log("only root can mount the small disk that this fills")
		return
	}
	dir := t.TempDir() + "/small"
	mountMemory(t, dir, "size=160m,mode=755", 0)
	p := serve(t, "ROPEWALK_DATA="+dir)
	p.ready()
	h := fill(t, cluster(t, dir).URL("postgres"), 40).hands(p.address)
	enough := h.work(8)
	pages := h.look("/classes")
	h.more(30)

	ballast := filepath.Join(dir, "ballast")
	fillDisk(t, ballast)
	began := time.Now()
	for h.answers()[http.StatusServiceUnavailable] < 20 {
		if time.Since(began) > patience {
			t.Fatalf("the disk is full and few writes were refused: %v", h.answers())
		}
		fillDisk(t, ballast) // what was freed meanwhile
		time.Sleep(20 * time.Millisecond)
	}
	full := h.answers()
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	began = time.Now()
	h.more(30)
	back := time.Since(began)
	enough()
	seen := pages()
	h.report(t, "disk full")
	t.Logf("while it was full: writes %v; pages in all %v; writing again %.2f s after there was room", full, seen.statuses, back.Seconds())
}

// fillDisk takes all the room that is left.
func fillDisk(t *testing.T, path string) {
	t.Helper()
	file, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	piece := make([]byte, 64<<10)
	for {
		if _, err := file.Write(piece); err != nil {
			if pathErr, ok := err.(*os.PathError); ok && pathErr.Err == syscall.ENOSPC {
				return
			}
			t.Fatal(fmt.Errorf("filling the disk: %w", err))
		}
	}
}
