package server

import (
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ropewalk.example/web"
)

// A weight is what a first visit of a page sends for.
type weight struct {
	requests, bytes int // bytes as they are sent, packed
}

// fetched are the addresses that a page names. Its icons and its manifest are
// not loaded with it, but when a browser has time.
var fetched = regexp.MustCompile(`<(?:script|img|link)[^>]* (?:src|href)="(/static/[^"]+)"[^>]*>`)

// imported are the modules that a module names.
var imported = regexp.MustCompile(`(?:from|import)\s*\(?"(/static/[^"]+\.js)"`)

// weigh adds up a page with all files that it loads.
func weigh(t *testing.T, b *browser, path string) weight {
	t.Helper()
	a := b.get(path).is(http.StatusOK)
	b.headers["Accept-Encoding"] = "gzip"
	w := weight{requests: 1, bytes: len(b.get(path).Text)}
	delete(b.headers, "Accept-Encoding")
	files := web.Files()
	seen := map[string]bool{}
	var load func(path string)
	load = func(path string) {
		if seen[path] {
			return
		}
		seen[path] = true
		file, ok := files[path]
		if !ok {
			t.Fatalf("%s loads %s, which is not served", a.what, path)
		}
		w.requests++
		if file.Gzip != nil {
			w.bytes += len(file.Gzip)
		} else {
			w.bytes += len(file.Body)
		}
		for _, module := range imported.FindAllStringSubmatch(string(file.Body), -1) {
			load(module[1])
		}
	}
	for _, tag := range fetched.FindAllStringSubmatch(a.Text, -1) {
		if !strings.Contains(tag[0], `icon"`) && !strings.Contains(tag[0], `rel="manifest"`) {
			load(tag[1])
		}
	}
	return w
}

// Every page of a phone and every main page of the staff is light enough for a
// slow mobile network on a first visit, with a class of 26.
func TestPagesAreLight(t *testing.T) {
	var names []string
	for n := range 26 {
		names = append(names, fmt.Sprintf("Athlete %02d", n))
	}
	h := newHall(t, names...)
	for n := range h.athletes {
		h.counted(n, "base", 100+n, 60, 7)
		h.counted(n, "burst", 30, 10, 7)
	}
	ids := h.belongings()
	coach, jumper := h.as(h.coach), h.as(h.jumper(0))
	for _, test := range []struct {
		who      *browser
		paths    []string
		requests int
		bytes    int
	}{
		{jumper, []string{"/me", "/me/session", "/me/test", "/me/rates", "/me/result", "/me/results", "/me/debrief", "/me/class", "/me/stage", "/me/ready", "/me/unsent"}, phoneRequests, 90_000},
		{h.open(), []string{"/join", "/sign-in"}, phoneRequests, 90_000},
		{coach, []string{"/today", "/classes", "/classes/{class}", "/classes/{class}/tests", "/classes/{class}/plans?day=2026-11-05", "/athletes",
			"/athletes/{athlete}", "/sessions/{session}", "/sessions/{session}/log"}, staffRequests, 120_000},
	} {
		for _, path := range test.paths {
			w := weigh(t, test.who, addressed(t, path, ids))
			if w.requests > test.requests || w.bytes > test.bytes {
				t.Errorf("%s: %d requests and %d bytes, at most %d and %d are wanted", path, w.requests, w.bytes, test.requests, test.bytes)
			}
		}
	}
}

// How many files a first visit may load. Of a phone's pages the one that counts
// taps has the most modules.
const (
	phoneRequests = 10
	staffRequests = 10
)

// What comes packed is the page itself.
func TestPagesComePacked(t *testing.T) {
	h := newHall(t, "Ana")
	for n := range 12 {
		h.counted(0, "base", 100+n, 60, 7*n+7)
	}
	coach, path := h.as(h.coach), "/athletes/"+h.athletes[0].AthleteID.String()
	plain := coach.get(path).is(http.StatusOK)
	coach.headers["Accept-Encoding"] = "br, gzip"
	packed := coach.get(path).is(http.StatusOK)
	if packed.Header.Get("Content-Encoding") != "gzip" || !slices.Contains(packed.Header.Values("Vary"), "Accept-Encoding") {
		t.Fatalf("%d bytes with headers %v", len(plain.Text), packed.Header)
	}
	r, err := gzip.NewReader(strings.NewReader(packed.Text))
	if err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(r); err != nil || string(text) != plain.Text {
		t.Errorf("unpacked, the page is another one: %v", err)
	}
	if small := coach.get("/classes/new").is(http.StatusOK); small.Header.Get("Content-Encoding") != "" {
		t.Error("a small page is packed")
	}
}
