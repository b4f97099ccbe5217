package server

import (
	"net/http"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"
)

func TestProblemsHavePages(t *testing.T) {
	h := newHall(t, "Ana")
	h.open().get("/nowhere").is(404).says("Not here", "There is nothing at this address.", "Go to the first page")
	h.as(h.coach).get("/nowhere/at/all").is(404).says("There is nothing at this address.")
	h.as(h.jumper(0)).get("/today").is(403).says("Not for you", "This page is not for you.")
	h.open().post("/classes", nil).is(401).says("You are signed out.")
	h.as(h.coach).get(h.path("/plans?day=soon")).is(422).says("That is no day.")
	h.open().get("/trust").is(404).says("no certificate of its own")
	h.open().get("/static/none.css").is(404)
	if a := h.as(h.coach).post("/today", nil); a.Code != 405 && a.Code != 404 {
		t.Errorf("a form sent to a page without one: status %d", a.Code)
	}
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	h := newHall(t)
	for _, path := range []string{"/", "/sign-in", "/nowhere", "/healthz", "/today", "/static/none.css"} {
		header := h.open().get(path).Header
		if csp := header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") {
			t.Errorf("%s: policy %q", path, csp)
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "Cross-Origin-Opener-Policy": "same-origin"} {
			if got := header.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
	}
	if cached := h.as(h.coach).get("/classes").Header.Get("Cache-Control"); !strings.Contains(cached, "no-store") {
		t.Errorf("pages with names may be kept: %q", cached)
	}
}

// A fault in one request is answered and logged, and the next one is served.
func TestPanicsAreAnswered(t *testing.T) {
	h := newHall(t)
	router := h.routes.(*chi.Mux)
	router.Get("/panic", func(http.ResponseWriter, *http.Request) { panic("on purpose") })
	a := h.open().get("/panic").is(500)
	if !strings.Contains(a.Text, "Something went wrong on our side.") || strings.Contains(a.Text, "on purpose") {
		t.Errorf("the answer to a panic is %q", a.Text)
	}
	if !strings.Contains(h.log.String(), "on purpose") {
		t.Errorf("the log does not tell of the panic: %s", h.log)
	}
	h.open().get("/healthz").is(200)
}

func TestDatabaseAway(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	coach.get("/today").is(200)
	h.wire.cut()
	h.open().get("/healthz").is(200)
	h.open().get("/readyz").is(503)
	for _, b := range []*browser{coach, h.open()} {
		a := b.get("/")
		if a.Code != 503 || a.Header.Get("Retry-After") == "" {
			t.Errorf("without a database: status %d, retry after %q; want 503 and a time: %s", a.Code, a.Header.Get("Retry-After"), a.Text)
		}
		a.says("The gym's database is not answering.")
	}
	h.wire.mend()
	coach.get("/today").is(200)
	h.open().get("/readyz").is(200)
}

func TestHealth(t *testing.T) {
	h := newHall(t)
	h.open().get("/healthz").is(200)
	h.open().get("/readyz").is(200)
	h.server.Drain()
	h.open().get("/readyz").is(503)
	h.open().get("/healthz").is(200)
}

// What cannot stand in the database is the typist's matter and no fault of ours.
func TestUnprintableInput(t *testing.T) {
	h := newHall(t, "Ana")
	owner := h.as(h.owner)
	for name, text := range map[string]string{"a zero byte": "Anna\x00lena", "broken UTF-8": "Caf\xe9", "only spaces": " \t\u00a0 ", "a control sign": "A\x1bB"} {
		for path, f := range map[string][]string{
			"/classes":       {"name", text, "weekday", "1", "starts_at", "17:00", "minutes", "60"},
			"/sign-in":       {"name", text, "password", text},
			"/join":          {"code", text, "athlete", text, "pin", text},
			h.path("/plans"): {"day", text, "minutes", text, "do", text},
			h.path("/tests"): {"test", text, "step", text, "rotations-" + h.athletes[0].AthleteID.String(), text},
			"/athletes/" + h.athletes[0].AthleteID.String() + "/tests": {"rotations", "80", "test", "base 60", "step", text, "rope", text, "surface", text, "counted_by", text},
		} {
			if a := owner.post(path, form(f...)); a.Code >= 500 {
				t.Errorf("%s at %s: status %d: %s", name, path, a.Code, h.log)
				h.log.Reset()
			}
		}
		jumper := h.as(h.jumper(0))
		if a := jumper.post("/me/debrief", form("note", text, "pain", "0", "effort", "5")); a.Code >= 500 {
			t.Errorf("%s in a note: status %d: %s", name, a.Code, h.log)
			h.log.Reset()
		}
		owner.get("/join?code=" + "%00%ff").is(422)
	}
}
