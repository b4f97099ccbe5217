package faults

import (
	"context"
	"io"
	"maps"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
)

// A ledger counts what was sent and what was acknowledged. It lives in the test
// program, which nothing kills.
type ledger struct {
	mu       sync.Mutex
	acked    map[uuid.UUID]bool
	statuses map[int]int // how often each status came; 0: no answer
	sent     int
	last     time.Time     // of the last acknowledgement
	gap      time.Duration // longest time without one
}

func newLedger() *ledger {
	return &ledger{acked: map[uuid.UUID]bool{}, statuses: map[int]int{}, last: time.Now()}
}

func (l *ledger) note(id uuid.UUID, status int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.sent++
	l.statuses[status]++
	if status == http.StatusSeeOther || status == http.StatusOK {
		l.acked[id] = true
		l.gap = max(l.gap, time.Since(l.last))
		l.last = time.Now()
	}
}

// patience is how long anything may take before a test says that it hangs.
const patience = time.Minute

// more waits until n more results are acknowledged.
func (h *hands) more(n int) {
	h.t.Helper()
	began := time.Now()
	for seen := h.count(); h.count() < seen+n; time.Sleep(time.Millisecond) {
		if time.Since(began) > patience {
			h.t.Fatalf("%d results were to be acknowledged within %v, %d were; the answers are %v", n, patience, h.count()-seen, h.answers())
		}
	}
}

// answers tells how often each status came.
func (l *ledger) answers() map[int]int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return maps.Clone(l.statuses)
}

func (l *ledger) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.acked)
}

// acknowledged returns the ids that were acknowledged so far.
func (l *ledger) acknowledged() map[uuid.UUID]bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return maps.Clone(l.acked)
}

// rest starts to measure the longest gap anew.
func (l *ledger) rest() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.gap, l.last = 0, time.Now()
}

// longest returns the longest time without an acknowledgement since rest.
func (l *ledger) longest() time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.gap
}

// hands send results for a hall, through whatever program is at address.
type hands struct {
	*hall
	*ledger
	address atomic.Pointer[string] // empty: wait
	client  *http.Client
	next    atomic.Int64
}

func (h *hall) hands(address string) *hands {
	hands := &hands{hall: h, ledger: newLedger(), client: &http.Client{
		Timeout:       15 * time.Second,
		Transport:     &http.Transport{MaxIdleConnsPerHost: 1100},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
	hands.address.Store(&address)
	h.t.Cleanup(hands.client.CloseIdleConnections)
	return hands
}

// post sends one form as the coach.
func (h *hands) post(ctx context.Context, path string, form url.Values) (status int, err error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, *h.address.Load()+path, strings.NewReader(form.Encode()))
	if err != nil {
		return 0, err
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return h.send(request, h.coach)
}

func (h *hands) send(request *http.Request, cookie string) (status int, err error) {
	request.Header.Set("Sec-Fetch-Site", "same-origin")
	request.Header.Set("Cookie", cookie)
	answer, err := h.client.Do(request)
	if err != nil {
		return 0, err
	}
	defer answer.Body.Close()
	_, err = io.Copy(io.Discard, answer.Body)
	return answer.StatusCode, err
}

// record sends one result under id once.
func (h *hands) record(ctx context.Context, id uuid.UUID) (status int, err error) {
	n := h.next.Add(1)
	athlete := h.athletes[int(n)%len(h.athletes)]
	status, err = h.post(ctx, "/athletes/"+athlete.String()+"/tests", resultForm(id, strconv.Itoa(100+int(n)%40)))
	h.note(id, status)
	return status, err
}

// insist sends one result under id until it is acknowledged or refused. The
// form stays the same, as on a page that is sent once more.
func (h *hands) insist(ctx context.Context, id uuid.UUID) {
	n := h.next.Add(1)
	path := "/athletes/" + h.athletes[int(n)%len(h.athletes)].String() + "/tests"
	form := resultForm(id, strconv.Itoa(100+int(n)%40))
	began := time.Now()
	for pause := 20 * time.Millisecond; ctx.Err() == nil; pause = min(2*pause, 500*time.Millisecond) {
		if time.Since(began) > patience {
			h.t.Errorf("result %s was not acknowledged within %v", id, patience)
			return
		}
		status, _ := h.post(ctx, path, form)
		h.note(id, status)
		if status == http.StatusSeeOther {
			return
		}
		if status != 0 && status < 500 {
			h.t.Errorf("result %s was answered with %d", id, status)
			return
		}
		time.Sleep(pause)
	}
}

// work has n hands each insist on one result after the other; the returned
// function tells them that this is enough, and waits until all are done.
func (h *hands) work(n int) (enough func()) {
	var all sync.WaitGroup
	ctx, giveUp := context.WithCancel(context.Background())
	var until atomic.Bool
	for range n {
		all.Go(func() {
			for !until.Load() && ctx.Err() == nil {
				h.insist(ctx, newID())
			}
		})
	}
	h.t.Cleanup(func() { // where the test broke off
		giveUp()
		all.Wait()
	})
	return func() {
		until.Store(true)
		all.Wait()
	}
}

// A tally is what the database holds, against the ledger.
type tally struct{ Acknowledged, Found, Lost, Twice, Unacknowledged int }

// audit compares ledger and database: what was acknowledged must be there once.
func (h *hands) audit() tally {
	h.t.Helper()
	found := ask[[]uuid.UUID](h.hall, `SELECT coalesce(array_agg(result_id), '{}') FROM result WHERE gym_id = $1`, h.gym)
	h.mu.Lock()
	defer h.mu.Unlock()
	rows := map[uuid.UUID]int{}
	for _, id := range found {
		rows[id]++
	}
	all := tally{Acknowledged: len(h.acked), Found: len(found)}
	for id := range h.acked {
		if rows[id] == 0 {
			all.Lost++
			h.t.Errorf("result %s was acknowledged and is not there", id)
		}
	}
	for id, n := range rows {
		if n > 1 {
			all.Twice++
			h.t.Errorf("result %s is there %d times", id, n)
		}
		if !h.acked[id] {
			all.Unacknowledged++ // the answer got lost, the work did not
		}
	}
	notes := ask[int](h.hall, `SELECT count(*) FROM audit WHERE gym_id = $1 AND subject = 'result'`, h.gym)
	if notes != len(found) {
		h.t.Errorf("%d results have %d entries in the audit log: something was half done", len(found), notes)
	}
	return all
}

func (h *hands) report(t *testing.T, what string) {
	t.Helper()
	all := h.audit()
	h.mu.Lock()
	defer h.mu.Unlock()
	t.Logf("%s: sent %d, acknowledged %d, found %d, lost %d, twice %d, kept without an answer %d, longest gap %.2f s, answers %v",
		what, h.sent, all.Acknowledged, all.Found, all.Lost, all.Twice, all.Unacknowledged, h.gap.Seconds(), h.statuses)
}
