package faults

import (
	"context"
	"net/http"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"
)

// open starts a server on a fresh data folder and fills it with a class of n.
func open(t *testing.T, n int) (dir string, p *program, h *hands) {
	t.Helper()
	dir = t.TempDir()
	settings := []string{"ROPEWALK_DATA=" + dir}
	p = serve(t, settings...)
	p.ready()
	h = fill(t, cluster(t, dir).URL("postgres"), n).hands(p.address)
	return dir, p, h
}

// A thousand posts at once, and the program is killed in the middle of them.
func TestProgramKilledAmongAThousandPosts(t *testing.T) {
	dir, p, h := open(t, 40)
	var all sync.WaitGroup
	for range 1000 {
		all.Go(func() { h.insist(context.Background(), newID()) })
	}
	h.more(250)
	before := h.count()
	h.rest()
	p.kill()
	began := time.Now()
	p = serve(t, "ROPEWALK_DATA="+dir)
	p.ready()
	back := time.Since(began)
	h.address.Store(&p.address)
	all.Wait()
	h.report(t, "program killed once among 1000 concurrent posts")
	t.Logf("it was killed after %d of them, and ready again in %.2f s", before, back.Seconds())
	if n := ask[int](h.hall, `SELECT count(*) FROM result`); n != 1000 {
		t.Errorf("1000 results were insisted on, %d are there", n)
	}
}

// The same again and again at moments that nobody chose.
func TestProgramKilledAgainAndAgain(t *testing.T) {
	dir, p, h := open(t, 40)
	enough := h.work(8)
	var slowest time.Duration
	for range kills {
		h.more(20)
		p.kill()
		began := time.Now()
		p = serve(t, "ROPEWALK_DATA="+dir)
		p.ready()
		slowest = max(slowest, time.Since(began))
		h.address.Store(&p.address)
	}
	enough()
	h.report(t, "program killed again and again under 8 writers")
	t.Logf("%d kills; slowest start until ready %.2f s", kills, slowest.Seconds())
}

// The database server ends in each way it can, and the program stays up.
func TestDatabaseKilledUnderLoad(t *testing.T) {
	for _, way := range []struct {
		name   string
		signal syscall.Signal
	}{
		{"stopped (fast)", syscall.SIGINT}, {"stopped at once (immediate)", syscall.SIGQUIT}, {"killed", syscall.SIGKILL},
	} {
		t.Run(way.name, func(t *testing.T) {
			dir, p, h := open(t, 40)
			enough := h.work(8)
			pages := h.look("/classes")
			var slowest time.Duration
			for range kills {
				h.more(50)
				began := time.Now()
				if err := syscall.Kill(postmaster(t, dir), way.signal); err != nil {
					t.Fatal(err)
				}
				h.more(20)
				p.ready()
				slowest = max(slowest, time.Since(began))
			}
			enough()
			seen := pages()
			h.report(t, "database "+way.name+" under 8 writers")
			t.Logf("%d times; slowest until writing again %.2f s; pages answered %v meanwhile", kills, slowest.Seconds(), seen.statuses)
			if slowest > 10*time.Second {
				t.Errorf("it took %v to come back, want 10 s at most", slowest)
			}
			select {
			case <-p.ended:
				t.Error("the program ended with its database")
			default:
			}
			if n := ask[int](h.hall, `SELECT count(*) FROM pg_stat_activity WHERE state LIKE 'idle in transaction%'`); n != 0 {
				t.Errorf("%d sessions are left in a transaction", n)
			}
		})
	}
}

// A looker asks for a page all the while.
type looker struct {
	statuses map[int]int
	unsaid   int // answers of 503 that do not say when to come back
}

// look asks for path as the coach all the while; the returned function ends
// that and tells what came.
func (h *hands) look(path string) (enough func() looker) {
	seen := looker{statuses: map[int]int{}}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		for ctx.Err() == nil {
			h.glance(path, &seen)
			time.Sleep(10 * time.Millisecond)
		}
	}()
	end := func() {
		stop()
		<-done
	}
	h.t.Cleanup(end)
	return func() looker {
		h.t.Helper()
		end()
		if seen.unsaid > 0 {
			h.t.Errorf("%d answers of 503 do not say when to come back", seen.unsaid)
		}
		for status, n := range seen.statuses {
			if status != http.StatusOK && status != http.StatusServiceUnavailable {
				h.t.Errorf("%d pages were answered with %d, want 200 or 503", n, status)
			}
		}
		return seen
	}
}

func (h *hands) glance(path string, seen *looker) {
	request, err := http.NewRequest(http.MethodGet, *h.address.Load()+path, nil)
	if err != nil {
		return
	}
	request.Header.Set("Cookie", h.coach)
	answer, err := h.client.Do(request)
	if err != nil {
		seen.statuses[0]++
		return
	}
	_ = answer.Body.Close()
	seen.statuses[answer.StatusCode]++
	if answer.StatusCode == http.StatusServiceUnavailable && answer.Header.Get("Retry-After") == "" {
		seen.unsaid++
	}
}

// A page during a real outage says 503, when to come back, and no detail.
func TestPagesWhileTheDatabaseIsAway(t *testing.T) {
	dir, p, h := open(t, 3)
	server := postmaster(t, dir)
	// Stopped, not ended: it neither answers nor refuses, the worst that a
	// database can do.
	if err := syscall.Kill(server, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	kill := func(signal syscall.Signal) {
		for _, pid := range family(t, server) {
			_ = syscall.Kill(pid, signal)
		}
	}
	kill(syscall.SIGSTOP)
	defer kill(syscall.SIGCONT)
	began := time.Now()
	pages := h.look("/classes")
	id := newID()
	writing, _ := h.record(t.Context(), id)
	waited := time.Since(began)
	if writing != http.StatusServiceUnavailable {
		t.Errorf("a write was answered with %d, want 503", writing)
	}
	if status(p.address+"/readyz") != http.StatusServiceUnavailable || status(p.address+"/healthz") != http.StatusOK {
		t.Error("want not ready, but alive")
	}
	asked := looker{statuses: map[int]int{}}
	h.glance("/classes", &asked)
	if asked.statuses[http.StatusServiceUnavailable] != 1 {
		t.Errorf("a page was answered with %v, want 503", asked.statuses)
	}
	kill(syscall.SIGCONT)
	back := p.ready()
	seen := pages()
	h.insist(t.Context(), id)
	h.report(t, "database that answers nothing")
	t.Logf("a write was given up after %.2f s; ready %.2f s after the database was let go; pages answered %v", waited.Seconds(), back.Seconds(), seen.statuses)
}

// family returns the process id of a database server and of its children.
func family(t *testing.T, server int) []int {
	t.Helper()
	all := []int{server}
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range stats {
		if pid, parent := parentOf(path); parent == server {
			all = append(all, pid)
		}
	}
	return all
}
