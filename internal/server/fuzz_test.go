package server

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

// mostKept is how much longer than its form what is read from it may be.
const mostKept = 4

// Whatever a form holds, it is read without a fault, nothing in it grows, and no
// page of another site is led to.
func FuzzForms(f *testing.F) {
	for _, seed := range []string{
		"test=base+60&rotations=120&step=bounce&rope=beaded&surface=wood&counted_by=partner&catches=2",
		"day=2026-11-05&starts_at=17:00&to_day=2026-11-06&to_starts_at=18:30&minutes=60&kind=moved&reason=hall+closed",
		"label=B1&kind=beaded&length=2,60&handle=short&athlete=0198&note=red&id=x",
		"from=2026-02-29&to=9999-99-99&by=1&what=%00%ff&before=-",
		"next=//evil.example&back=%5c%5cevil&minutes=1e309&years=-9223372036854775808",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, body string) {
		r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		setup, meeting := setupFrom(r), formOfMeeting(r)
		_, rope, wrong := ropeFrom(r)
		if kept := len(setup.Test) + len(setup.Step) + len(setup.Surface) + len(meeting.Reason) + len(rope.Label) + len(rope.Note); kept > mostKept*len(body)+1000 {
			t.Errorf("a form of %d bytes was read as %d", len(body), kept)
		}
		if rope.LengthM != rope.LengthM || (len(wrong) == 0 && (rope.LengthM < 0 || rope.LengthM > 100)) {
			t.Errorf("a rope of %v m is taken", rope.LengthM)
		}
		_, _ = athleteFrom(r)
		revisionFrom(r)
		query, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		if filter := logFilter(query, time.UTC); len(filter.Action) > 64*4 {
			t.Errorf("the log is searched for %d bytes", len(filter.Action))
		}
		for field := range query {
			if to := ownPath(query.Get(field)); !strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n") {
				t.Errorf("%q leads to %q", query.Get(field), to)
			}
			if n, ok := number(query.Get(field)); ok && trimmed(query.Get(field)) == "" {
				t.Errorf("nothing was read as %d", n)
			}
		}
	})
}
