package server

import (
	"context"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

var feedAddress = regexp.MustCompile(`/calendar/[A-Z0-9]+\.ics`)

// share makes a link on a page and returns where it leads.
func (b *browser) share(page string) string {
	b.t.Helper()
	a := b.post(page, nil).is(200).says("It is shown this once")
	found := feedAddress.FindString(a.Text)
	if found == "" {
		b.t.Fatalf("%s shows no address: %s", page, a.words())
	}
	return found
}

// asks for a feed that it has under a mark already.
func (b *browser) asks(path, mark string) *answer {
	b.t.Helper()
	b.headers["If-None-Match"] = mark
	defer delete(b.headers, "If-None-Match")
	return b.get(path)
}

// events reads a feed as a calendar program does.
func (a *answer) events() map[string]*ics.VEvent {
	a.t.Helper()
	a.is(http.StatusOK)
	if got := a.Header.Get("Content-Type"); got != "text/calendar; charset=utf-8" {
		a.t.Errorf("%s is %s", a.what, got)
	}
	read, err := ics.ParseCalendar(strings.NewReader(a.Text))
	if err != nil {
		a.t.Fatal(err)
	}
	events := map[string]*ics.VEvent{}
	for _, e := range read.Events() {
		events[e.Id()] = e
	}
	return events
}

func (h *hall) eventID(day string) string { return h.class.String() + "-" + day + "-1830@ropewalk" }

func TestShareAClassAsACalendar(t *testing.T) {
	h := newHall(t, "Ana Quillfeather")
	h.term()
	coach, anybody := h.as(h.coach), h.open()
	links := h.path("/calendar/links")
	coach.get(h.path("/calendar")).says("Share as a calendar")
	coach.get(links).is(200).says("It names no athlete.", "Links in use None.")
	at := coach.share(links)
	if again := coach.get(links).is(200).says("Made Wed 4 Nov 2026, 12:00", "by you"); strings.Contains(again.Text, at) {
		t.Error("the address is shown a second time")
	}

	a := anybody.get(at)
	events := a.events()
	if len(events) != 11 {
		t.Errorf("%d events, want the 11 meetings of the term", len(events))
	}
	for day, starts := range map[string]string{"20261022": "20261022T183000", "20261105": "20261105T183000"} { // clocks change between
		start := events[h.eventID(day)].GetProperty(ics.ComponentPropertyDtStart)
		if start.Value != starts || !slices.Equal(start.ICalParameters["TZID"], []string{"Europe/London"}) {
			t.Errorf("%s starts at %s in %v", day, start.Value, start.ICalParameters["TZID"])
		}
	}
	if text := a.Text; strings.Contains(text, "Quillfeather") || !strings.Contains(text, "TZID:Europe/London") {
		t.Errorf("the feed names an athlete or explains no zone: %s", text)
	}

	same := anybody.asks(at, a.Header.Get("ETag"))
	if same.Code != http.StatusNotModified || same.Text != "" {
		t.Errorf("unchanged: status %d with %d bytes, want 304 and none", same.Code, len(same.Text))
	}
	if head := anybody.do(http.MethodHead, at, "", nil); head.Code != 200 || head.Text != "" || head.Header.Get("ETag") != a.Header.Get("ETag") {
		t.Errorf("HEAD: status %d with %d bytes, mark %s", head.Code, len(head.Text), head.Header.Get("ETag"))
	}
	off := coach.get(h.meeting("2026-11-12")).formWith(h.path("/calendar/meeting"), "kind", "cancelled")
	off.Set("reason", "hall flooded")
	off.Set("do", "save")
	coach.post(h.path("/calendar/meeting"), off).is(303)
	changed := anybody.asks(at, a.Header.Get("ETag"))
	gone := changed.events()[h.eventID("20261112")]
	if gone == nil || gone.GetProperty(ics.ComponentPropertyStatus).Value != "CANCELLED" || gone.GetProperty(ics.ComponentPropertyDescription).Value != "hall flooded" {
		t.Errorf("the cancelled meeting is %+v", gone)
	}

	end := formAction(coach.get(links), "/end")
	coach.follow(coach.post(end, form("back", links))).is(200).says("The link leads nowhere any more.", "Links in use None.")
	anybody.get(at).is(404).says("This link is not in use any more.")
	anybody.asks(at, changed.Header.Get("ETag")).is(404)
}

func TestAthletesFollowTheirClasses(t *testing.T) {
	h := newHall(t, "Ana", "Ben")
	h.term()
	phone := h.as(h.jumper(0))
	phone.get("/me").says("My classes in my own calendar")
	at := phone.share("/me/calendar")
	a := h.open().get(at)
	if len(a.events()) != 11 || strings.Contains(a.Text, "Ana") {
		t.Errorf("the feed of an athlete: %s", a.Text)
	}
	end := formAction(phone.get("/me/calendar").is(200).says("by you"), "/end")
	h.as(h.jumper(1)).post(end, nil).is(404)
	h.open().get(at).is(200)
	phone.follow(phone.post(end, nil)).says("The link leads nowhere any more.")
	h.open().get(at).is(404)

	theirs := "/athletes/" + h.athletes[0].AthleteID.String() + "/calendar"
	coached := h.as(h.coach).share(theirs)
	phone.get("/me/calendar").says("Made Wed 4 Nov").lacks("by you")
	h.as(h.owner).get("/links").is(200).says("Ana", "Made Wed 4 Nov 2026, 12:00")
	h.write(h.id, func(ctx context.Context, tx *store.Tx) error {
		return tx.AddErasure(ctx, gym.Erasure{ErasureID: newID(), About: "athlete", AboutID: h.athletes[0].AthleteID, AskedFor: "athlete", AskedAt: h.now,
			AskedBy: h.owner.PersonID, DueAt: h.now.AddDate(0, 0, 30)})
	})
	h.open().get(coached).is(404).says("This link is not in use any more.")
}

func TestLinksAreBounded(t *testing.T) {
	h := newHall(t, "Ana")
	coach := h.as(h.coach)
	for range 10 {
		coach.share(h.path("/calendar/links"))
	}
	coach.post(h.path("/calendar/links"), nil).is(409).says("There are ten links already.")
	h.as(h.jumper(0)).share("/me/calendar")
}

func TestAFeedNeedsItsWholeSecret(t *testing.T) {
	h := newHall(t, "Ana")
	at := h.as(h.coach).share(h.path("/calendar/links"))
	for _, wrong := range []string{strings.TrimSuffix(at, ".ics"), strings.Replace(at, ".ics", "A.ics", 1), "/calendar/.ics", "/calendar/" + h.class.String() + ".ics", strings.ToLower(at)} {
		h.open().get(wrong).is(404)
	}
	h.open().get(strings.Replace(at, "/calendar/", "/screen/", 1)).is(404)
}
