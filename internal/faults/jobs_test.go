package faults

import (
	"net/http"
	"net/url"
	"syscall"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// One of two programs is stopped while it makes files: the other makes them all,
// and none is given up.
func TestJobsGoOnElsewhere(t *testing.T) {
	address := given(t).URL("postgres")
	settings := func() []string { return []string{"DATABASE_URL=" + address, "ROPEWALK_DATA=" + t.TempDir()} }
	first := serve(t, settings()...)
	second := serve(t, settings()...)
	first.ready()
	second.ready()
	h := fill(t, address, 40).hands(first.address)
	enough := h.work(4)
	h.more(40)
	enough()
	term := newID()
	err := h.store.Write(t.Context(), h.gym, func(tx *store.Tx) error {
		return tx.AddTerm(t.Context(), gym.Term{TermID: term, Name: "Term", StartsOn: time.Now().AddDate(0, 0, -30), EndsOn: time.Now().AddDate(0, 0, 30)})
	})
	if err != nil {
		t.Fatal(err)
	}
	const files = 8
	for i := range files {
		format := []string{"pdf:a4", "xlsx", "csv"}[i%3]
		status, err := h.post(t.Context(), "/reports/"+term.String()+"/files", url.Values{"id": {newID().String()}, "what": {"gym"}, "format": {format}})
		if err != nil || status != http.StatusSeeOther {
			t.Fatalf("asking for a file: status %d, %v", status, err)
		}
	}
	began := time.Now()
	before := ask[int](h.hall, `SELECT count(*) FROM report WHERE state = 'done'`)
	if err := first.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	<-first.ended
	stopping := time.Since(began)
	for ask[int](h.hall, `SELECT count(*) FROM report WHERE state = 'done'`) < files {
		if time.Since(began) > patience {
			t.Fatalf("after %v the files are %s", patience, ask[string](h.hall, `SELECT string_agg(state, ' ') FROM report`))
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Logf("%d files were asked for, %d were made when one of two programs was stopped in %.2f s; the other had made all after %.2f s",
		files, before, stopping.Seconds(), time.Since(began).Seconds())
	if n := ask[int](h.hall, `SELECT count(*) FROM river.river_job WHERE state = 'discarded'`); n > 0 {
		t.Errorf("%d were given up", n)
	}
	if n := ask[int](h.hall, `SELECT count(*) FROM report WHERE bytes = 0 OR sha256 IS NULL`); n > 0 {
		t.Errorf("%d files are empty", n)
	}
}
