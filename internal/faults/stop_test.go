package faults

import (
	"errors"
	"net/http"
	"sync"
	"syscall"
	"testing"
	"time"
)

// A stop lets what is being answered finish. Whoever comes later finds the
// door shut and knows that nothing was done.
func TestStopUnderLoad(t *testing.T) {
	dir, p, h := open(t, 40)
	h.client.Transport.(*http.Transport).DisableKeepAlives = true
	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			for {
				if _, err := h.record(t.Context(), newID()); errors.Is(err, syscall.ECONNREFUSED) {
					return
				}
			}
		})
	}
	h.more(100)
	began := time.Now()
	if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	<-p.ended
	took := time.Since(began)
	all.Wait()
	if p.err != nil {
		t.Errorf("it ended with %v", p.err)
	}
	again := serve(t, "ROPEWALK_DATA="+dir)
	again.ready()
	h.report(t, "stopped under 16 writers")
	t.Logf("stopping took %.2f s", took.Seconds())
	if n := h.audit().Unacknowledged; n != 0 {
		t.Errorf("%d results were kept and their senders not told", n)
	}
}
