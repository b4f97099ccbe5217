package server

import (
	"net/http"
	"strconv"
	"testing"
	"time"
)

// keptPages are the pages of a hall that are kept.
func (h *hall) keptPages() []string {
	term := "/reports/" + h.term().TermID.String()
	athlete := h.athletes[0].AthleteID.String()
	return []string{h.path(""), "/athletes", "/athletes/" + athlete, "/athletes/" + athlete + "?bar=150",
		term + "/classes/" + h.class.String(), term + "/athletes/" + athlete}
}

// knownHall is a hall in which much is known of two athletes.
func knownHall(t *testing.T) *hall {
	h := newHall(t, "Ana", "Bram")
	for n := range h.athletes {
		for week := 1; week < 9; week++ {
			h.counted(n, "base", 120+n-week, 60, 7*week)
			h.counted(n, "burst", 30, 10, 7*week)
		}
	}
	h.ladder(0, "first-jumps")
	h.plan("2026-11-05")
	return h
}

// forget empties the shelf.
func (s *site) forget() { s.server.shelf = shelf{} }

// mark writes over every page on the shelf.
func (s *site) mark(body string) {
	for key, page := range s.server.shelf.fresh {
		page.body, page.packed = []byte(body), false
		s.server.shelf.fresh[key] = page
	}
}

func TestKeptPagesAreThoseMadeAnew(t *testing.T) {
	h := knownHall(t)
	for _, packed := range []string{"", "gzip"} {
		b := h.as(h.coach)
		b.headers["Accept-Encoding"] = packed
		for _, path := range h.keptPages() {
			h.forget()
			b.get(path).is(http.StatusOK)
			h.now = h.now.Add(4 * time.Minute) // the time goes on, the day does not
			kept := b.get(path).is(http.StatusOK)
			h.forget()
			anew := b.get(path).is(http.StatusOK)
			if kept.Text != anew.Text || kept.Header.Get("Content-Encoding") != anew.Header.Get("Content-Encoding") {
				t.Errorf("%s: kept\n%s\nanew\n%s", path, kept.Text, anew.Text)
			}
			h.mark("kept")
			if again := b.get(path); again.Text != "kept" {
				t.Errorf("%s is made anew from the same rows", path)
			}
			h.now = h.now.Add(-4 * time.Minute)
		}
	}
}

func TestKeptPagesGiveWay(t *testing.T) {
	for what, change := range map[string]func(h *hall, b *browser){
		"a new result": func(h *hall, _ *browser) { h.counted(0, "base", 151, 60, 0) },
		"a new day":    func(h *hall, _ *browser) { h.now = h.now.Add(12 * time.Hour) },
		"another look": func(_ *hall, b *browser) { b.cookies[themeCookie] = "dark" },
		"somebody else": func(h *hall, b *browser) {
			b.cookies = h.as(h.owner).cookies
		},
		"a browser that unpacks": func(_ *hall, b *browser) { b.headers["Accept-Encoding"] = "gzip" },
		"something to say": func(h *hall, b *browser) {
			b.post("/athletes/"+h.athletes[1].AthleteID.String()+"/tests", form("id", newID().String(), "test", "base 60", "step", "bounce", "rope", "beaded",
				"surface", "wood", "counted_by", "partner", "rotations", "88", "catches", "0", "do", "save")).is(http.StatusSeeOther)
		},
	} {
		h := knownHall(t)
		b := h.as(h.coach)
		path := "/athletes/" + h.athletes[0].AthleteID.String()
		b.get(path).is(http.StatusOK)
		h.mark("kept")
		if b.get(path).Text != "kept" {
			t.Fatal("the page is not kept")
		}
		change(h, b)
		if b.get(path).Text == "kept" {
			t.Errorf("after %s the old page comes", what)
		}
	}
}

func TestNobodySeesAPageThatWasKeptForSomebodyElse(t *testing.T) {
	h := knownHall(t)
	path := "/athletes/" + h.athletes[0].AthleteID.String()
	h.as(h.owner).get(path).is(http.StatusOK)
	h.mark("kept")
	other := h.addHall("Elm Yard", "Cora")
	for name, b := range map[string]*browser{"the jumper": h.as(h.jumper(0)), "another gym": h.as(other.owner), "nobody": h.open()} {
		if a := b.get(path); a.Code == http.StatusOK || a.Text == "kept" {
			t.Errorf("%s: status %d, %.40s", name, a.Code, a.Text)
		}
	}
	if a := h.as(h.coach).get(path).is(http.StatusOK); a.Text == "kept" {
		t.Error("the coach sees the owner's page")
	}
}

func TestAShelfIsBounded(t *testing.T) {
	var s shelf
	page := keeping{body: make([]byte, 100<<10)}
	s.put(keptKey{}, page)
	for n := range 1000 {
		s.put(keptKey{path: strconv.Itoa(n)}, page)
		if kept := len(s.fresh) + len(s.full); kept*len(page.body) > shelfRoom {
			t.Fatalf("%d pages of %d bytes are kept", kept, len(page.body))
		}
		if _, ok := s.find(keptKey{path: strconv.Itoa(n)}); !ok {
			t.Fatalf("page %d is not kept", n)
		}
		s.find(keptKey{}) // asked for each time, it stays
	}
	if _, ok := s.find(keptKey{}); !ok {
		t.Error("the page that everybody asks for is gone")
	}
	if s.find(keptKey{quarter: 1}); len(s.fresh)+len(s.full) > 0 {
		t.Error("pages outlive their quarter of an hour")
	}
	s.put(keptKey{path: "long"}, keeping{body: make([]byte, longestKept+1)})
	if _, ok := s.find(keptKey{path: "long"}); ok {
		t.Error("a page longer than may be kept is kept")
	}
}
