package faults

import (
	"bufio"
	"context"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// Several machines are one gym: whichever server answers, people are signed in,
// see what others did, and lose nothing when a server or the database is gone.
func TestSeveralMachines(t *testing.T) {
	f := openFarm(t, 40)
	hour := f.openHour(t)
	f.signInsCountEverywhere(t)
	f.boardsHearEachOther(t, hour, 0, 1)
	f.filesAreMadeElsewhere(t)
	f.serversAreKilled(t)
	f.replicaIsPromoted(t, hour)
	f.filesAreMadeElsewhere(t)
	f.report(t, "three servers behind a balancer, each killed in turn, and the primary lost, under 8 writers")
}

// An hour is a class hour that is under way, with one athlete's own sign-in.
type hour struct {
	session uuid.UUID
	athlete string // cookie
}

func (f *farm) openHour(t *testing.T) hour {
	t.Helper()
	h := hour{session: newID()}
	now := time.Now()
	err := f.store.Write(t.Context(), f.gym, func(tx *store.Tx) error {
		day := gym.DayIn(now, time.UTC)
		if err := tx.AddTerm(t.Context(), gym.Term{TermID: f.gym, Name: "Term", StartsOn: day.AddDate(0, 0, -30), EndsOn: day.AddDate(0, 0, 30)}); err != nil {
			return err
		}
		if _, err := tx.EnsureSession(t.Context(), gym.Session{SessionID: h.session, ClassID: f.class, Day: day, StartsAt: now, Minutes: 60, OpenedAt: &now}); err != nil {
			return err
		}
		return tx.SetAttendance(t.Context(), h.session, f.athletes[:1], []bool{true}, now, f.person)
	})
	if err != nil {
		t.Fatal(err)
	}
	h.athlete = f.signIn(map[string]string{"role": string(gym.Jumper), "name": "Ana", "athlete": f.athletes[0].String()})
	return h
}

// get asks a server for a page.
func (f *farm) get(t *testing.T, p *program, path, cookie string) int {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, p.address+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	status, err := f.send(request, cookie)
	if err != nil {
		t.Fatal(err)
	}
	return status
}

// postTo sends a form to a server.
func (f *farm) postTo(t *testing.T, p *program, path, cookie string, form url.Values) int {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, p.address+path, strings.NewReader(form.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	status, err := f.send(request, cookie)
	if err != nil {
		t.Fatal(err)
	}
	return status
}

// Whoever signs in on one server is signed in on all, and signed out on all.
func (f *farm) signInsCountEverywhere(t *testing.T) {
	t.Helper()
	cookie := f.signIn(map[string]string{"role": string(gym.Coach), "name": "Mara", "person": f.person.String()})
	for i, p := range f.servers {
		if status := f.get(t, p, "/today", cookie); status != http.StatusOK {
			t.Errorf("server %d answers a sign-in of elsewhere with %d", i, status)
		}
	}
	if status := f.postTo(t, f.servers[0], "/sign-out", cookie, nil); status != http.StatusSeeOther {
		t.Errorf("signing out: %d", status)
	}
	for i, p := range f.servers {
		if status := f.get(t, p, "/today", cookie); status != http.StatusSeeOther {
			t.Errorf("server %d answers a sign-in that ended elsewhere with %d", i, status)
		}
	}
	t.Log("sign-ins count, and end, on every server")
}

// What happens on one server is soon seen on a board of another, by the replica.
func (f *farm) boardsHearEachOther(t *testing.T, h hour, here, there int) {
	t.Helper()
	ctx, leave := context.WithTimeout(t.Context(), patience)
	defer leave()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, f.servers[there].address+"/sessions/"+h.session.String()+"/live", nil)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Cookie", f.coach)
	request.Header.Set("Accept", "text/event-stream")
	answer, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	lines := bufio.NewScanner(answer.Body)
	lines.Buffer(nil, 1<<20)
	until := func(what string, is func(line string) bool) {
		for lines.Scan() {
			if is(lines.Text()) {
				return
			}
		}
		t.Fatalf("the board ended before it showed %s (status %d): %v", what, answer.StatusCode, lines.Err())
	}
	raised := func(line string) bool { return strings.Contains(line, "Needs you") }
	until("the hour", func(line string) bool { return line == "event: beat" })
	var took []time.Duration
	for range 3 {
		began := time.Now()
		if status := f.postTo(t, f.servers[here], "/me/class/hand", h.athlete, url.Values{"up": {"yes"}}); status != http.StatusSeeOther {
			t.Fatalf("raising a hand: %d", status)
		}
		until("a raised hand", raised)
		took = append(took, time.Since(began))
		if status := f.postTo(t, f.servers[here], "/me/class/hand", h.athlete, url.Values{"up": {"no"}}); status != http.StatusSeeOther {
			t.Fatalf("lowering a hand: %d", status)
		}
		until("no hand any more", func(line string) bool { return line == "event: board" })
	}
	t.Logf("a hand raised on server %d is on a board of server %d after %v", here, there, took)
}

// A file that is asked for on one server is made by the worker and had from another.
func (f *farm) filesAreMadeElsewhere(t *testing.T) {
	t.Helper()
	id, began := newID(), time.Now()
	form := url.Values{"id": {id.String()}, "what": {"gym"}, "format": {gym.FormatCSV}}
	if status := f.postTo(t, f.servers[0], "/reports/"+f.gym.String()+"/files", f.coach, form); status != http.StatusSeeOther {
		t.Fatalf("asking for a file: %d", status)
	}
	for f.get(t, f.servers[2], "/files/"+id.String()+"/download", f.coach) != http.StatusOK {
		if time.Since(began) > patience {
			t.Fatalf("the file is not made; the worker said:\n%s", tail(f.worker.said.String(), 20))
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Logf("a file asked for on server 0 is made by the worker and had from server 2 after %.2f s", time.Since(began).Seconds())
}

// A fault is a request that was not answered, or answered with an error.
type fault struct {
	began  time.Time
	status int
}

// steady has n hands send one result after the other through the balancer, each
// until it is acknowledged, and keeps what went wrong.
func (f *farm) steady(n int) (enough func() []fault) {
	var all sync.WaitGroup
	var mu sync.Mutex
	var faults []fault
	var until atomic.Bool
	for range n {
		all.Go(func() {
			for !until.Load() {
				f.one(func(one fault) {
					mu.Lock()
					defer mu.Unlock()
					faults = append(faults, one)
				})
			}
		})
	}
	return func() []fault {
		until.Store(true)
		all.Wait()
		return faults
	}
}

// one sends one result until it is acknowledged.
func (f *farm) one(wrong func(fault)) {
	id, n := newID(), f.next.Add(1)
	path := "/athletes/" + f.athletes[int(n)%len(f.athletes)].String() + "/tests"
	for first := time.Now(); time.Since(first) < patience; {
		began := time.Now()
		status, _ := f.post(context.Background(), path, resultForm(id, "120"))
		f.note(id, status)
		if status == http.StatusSeeOther {
			return
		}
		wrong(fault{began, status})
		time.Sleep(20 * time.Millisecond)
	}
	f.t.Errorf("result %s was not acknowledged within %v", id, patience)
}

// Killing a server costs at most what it was answering; nobody who comes later
// notices.
func (f *farm) serversAreKilled(t *testing.T) {
	t.Helper()
	before, lasted := f.count(), time.Now()
	enough := f.steady(8)
	var inFlight, rounds int
	var killed []time.Time
	for range kills {
		for number := range f.servers {
			f.more(40)
			inFlight += f.inFlight(t, number)
			f.servers[number].kill()
			killed = append(killed, time.Now()) // gone for sure
			rounds++
			f.more(20)
			f.again(t, number)
			for f.inFlight(t, number) == 0 { // the balancer has noticed
				time.Sleep(5 * time.Millisecond)
			}
		}
	}
	faults := enough()
	late := 0
	for _, one := range faults {
		cut := false
		for _, at := range killed {
			cut = cut || one.began.Before(at) && at.Sub(one.began) < 2*time.Second
		}
		if !cut {
			late++
			t.Errorf("a request that no killed server was answering got %d, %.3f s after the first kill", one.status, one.began.Sub(killed[0]).Seconds())
		}
	}
	rate := float64(f.count()-before) / time.Since(lasted).Seconds()
	t.Logf("%d servers killed: %d requests in flight on them by the balancer's count, %d requests went wrong, %d of them begun later; %.0f results a second throughout",
		rounds, inFlight, len(faults), late, rate)
}

// The primary is lost, the replica promoted, and the pooler led to it.
func (f *farm) replicaIsPromoted(t *testing.T, h hour) {
	t.Helper()
	enough := f.steady(8)
	f.more(100)
	f.rest()
	lost := time.Now()
	f.primary.Kill()
	f.copy.Promote()
	promoted := time.Since(lost)
	f.pool(t, f.pooler.folder, f.copy)
	if err := f.pooler.cmd.Process.Signal(syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	f.more(100)
	back := f.longest()
	faults := enough()
	f.hall.address = f.copy.OwnerURL("ropewalk")
	t.Logf("primary lost under 8 writers: replica promoted after %.2f s; %.2f s between the last result acknowledged before and the first after; %d requests went wrong meanwhile",
		promoted.Seconds(), back.Seconds(), len(faults))
	f.boardsHearEachOther(t, h, 2, 0)
}
