package server

import (
	"encoding/json"
	"log/slog"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web"
)

// Files are served by their exact names; no path leads anywhere else.
func TestStaticServesWhatIsThereAndNothingElse(t *testing.T) {
	h := newSite(t)
	b := h.open()
	for path := range web.Files() {
		b.get(path).is(200)
	}
	for _, path := range []string{"/static/", "/static", "/static/css/", "/static/js", "/static/../go.mod", "/static/%2e%2e/%2e%2e/etc/passwd",
		"/static//etc/passwd", "/static/..%2f..%2fetc%2fpasswd", "/.git/config", "/.env", "/go.mod", "/static/js/app.js~", "/static/js/app.js.bak"} {
		if a := b.get(path); a.Code != 404 || strings.Contains(a.Text, "module ropewalk") || strings.Contains(a.Text, "root:") {
			t.Errorf("%s: status %d", path, a.Code)
		}
	}
}

// What is for the operator is not on the port that people use, and no answer
// tells what it was made with.
func TestWhatIsPrivateIsNotOnThePublicPort(t *testing.T) {
	h := newHall(t, "Ana")
	for _, b := range h.everyRole() {
		for _, path := range []string{"/metrics", "/debug/pprof/", "/debug/vars", "/debug/pprof/heap", "/server-status", "/admin"} {
			b.get(path).is(404)
		}
		for _, path := range []string{"/help", "/nowhere", "/healthz", "/readyz", "/api/v1/gym"} {
			a := b.get(path)
			for _, header := range []string{"Server", "X-Powered-By", "Via", "X-Version"} {
				if told := a.Header.Get(header); told != "" {
					t.Errorf("%s tells %s: %s", path, header, told)
				}
			}
			if strings.Contains(a.Text, "go1.") || strings.Contains(a.Text, "PostgreSQL") {
				t.Errorf("%s tells what it runs on", path)
			}
		}
	}
}

// The token of a sign-in is too long to guess, and different each time.
func TestSignInTokensAreLong(t *testing.T) {
	h := newHall(t)
	seen := map[string]bool{}
	for range 50 {
		token := h.as(h.owner).cookies["ropewalk"]
		if len(token) < 43 || seen[token] { // 256 bits in base64
			t.Fatalf("token %q", token)
		}
		seen[token] = true
	}
}

// Boxes for passwords say what they are for, and refuse neither pasting nor
// showing.
func TestPasswordFieldsHelpKeepers(t *testing.T) {
	h := newHall(t, "Ana")
	h.employ("jo@gym.example", gym.Owner)
	owner := h.as(h.owner)
	found := 0
	for _, a := range []*answer{h.open().get("/sign-in"), h.open().get("/recover"), owner.get("/account"), owner.get("/account/second-factor")} {
		for n := range a.document().Descendants() {
			if kind, _ := attribute(n, "type"); n.Type != html.ElementNode || kind != "password" {
				continue
			}
			found++
			if use, _ := attribute(n, "autocomplete"); use != "current-password" && use != "new-password" {
				t.Errorf("%s: autocomplete is %q", a.what, use)
			}
			if _, long := attribute(n, "maxlength"); long {
				t.Errorf("%s: a password would be cut", a.what)
			}
			if _, shown := attribute(n, "data-show"); !shown {
				t.Errorf("%s: the password cannot be shown", a.what)
			}
		}
	}
	if found < 4 {
		t.Errorf("%d password boxes, want at least four", found)
	}
}

// A line end in what people send makes no line of its own in the log.
func TestLogLinesCannotBeForged(t *testing.T) {
	h := newHall(t, "Ana")
	h.server.Log = slog.New(slog.NewJSONHandler(h.log, nil)) // as the program has it
	h.routes = h.server.Routes()
	forged := "x\r\n" + `{"level":"ERROR","msg":"forged"}`
	b := h.open()
	b.signIn(forged, forged)
	b.headers["Origin"], b.headers["Sec-Fetch-Site"] = forged, "cross-site"
	b.post("/sign-in", form("name", forged))
	h.as(h.jumper(0)).get("/people?x=%0d%0a%7B%22msg%22%3A%22forged%22%7D").is(403)
	lines := strings.Split(strings.TrimSpace(h.log.String()), "\n")
	if len(lines) < 3 {
		t.Fatalf("%d lines", len(lines))
	}
	for _, line := range lines {
		var parsed map[string]any
		if err := json.Unmarshal([]byte(line), &parsed); err != nil || parsed["msg"] == "forged" {
			t.Errorf("%v: %s", err, line)
		}
	}
}

// No field of any form leads to another site.
func TestLeadsOnlyToOwnPages(t *testing.T) {
	for path, want := range map[string]string{
		"/today": "/today", "/athletes?class=1": "/athletes?class=1", "/;@else.example": "/;@else.example", "/%09/else.example": "/%09/else.example",
		"": "/", "today": "/", "//else.example": "/", "https://else.example": "/", `/\else.example`: "/", `\/else.example`: "/", "/\t/else.example": "/",
		"/\r\nSet-Cookie: a=b": "/", "/\x00//else.example": "/", "/\x0b/else.example": "/", " //else.example": "/", "javascript:alert(1)": "/", "/\u0085/x": "/",
	} {
		if got := ownPath(path); got != want {
			t.Errorf("ownPath(%q) = %q, want %q", path, got, want)
		}
	}
	h := newHall(t)
	b := h.as(h.owner)
	for _, back := range []string{"//else.example", "/\x00//else.example", `/\else.example`, "https://else.example"} {
		b.post("/theme", form("theme", "dark", "back", back)).leadsTo("/")
	}
}
