package calendar_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
)

var written = time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC)

func feed(t *testing.T, y calendar.Year, name string) string {
	t.Helper()
	entries, err := y.Entries(gym.Class{ClassID: class, Name: name}, func(m calendar.Meeting) string { return fmt.Sprintf("week %d", m.Week) })
	if err != nil {
		t.Fatal(err)
	}
	return calendar.Feed(name, y.Zone, entries, written)
}

func readFeed(t *testing.T, text string) map[string]*ics.VEvent {
	t.Helper()
	read, err := ics.ParseCalendar(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	byUID := map[string]*ics.VEvent{}
	for _, e := range read.Events() {
		if byUID[e.Id()] != nil {
			t.Errorf("two events are called %s", e.Id())
		}
		byUID[e.Id()] = e
	}
	return byUID
}

// Line ends and lengths are those of RFC 5545, section 3.1; a line is not folded
// within a character, as the section advises.
func TestFeedIsFolded(t *testing.T) {
	y := autumn(t, move("2026-09-15", 17*time.Hour, "2026-09-16", 17*time.Hour))
	y.Changes = append(y.Changes, cancel("2026-09-22", 17*time.Hour))
	y.Changes[1].Reason = strings.Repeat("Die Halle ist überschwemmt; 体育館は使えません, also: bleibt daheim\n", 6)
	text := feed(t, y, strings.Repeat("Tuesday, Starters; all ÅÄÖ 木曜日 ", 8))
	if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\n") || strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") {
		t.Error("a line ends in other than CRLF")
	}
	for _, line := range strings.Split(text, "\r\n") {
		if len(line) > 75 {
			t.Errorf("a line has %d octets, 75 are allowed: %s", len(line), line)
		}
		if !utf8.ValidString(line) {
			t.Errorf("a line is folded within a character: %q", line)
		}
	}
	off := readFeed(t, text)["01000000-0000-0000-0000-000000000000-20260922-1700@ropewalk"]
	if got := ics.FromText(off.GetProperty(ics.ComponentPropertyDescription).Value); got != y.Changes[1].Reason {
		t.Errorf("the reason comes back as %q", got)
	}
}

func TestFeedSaysWhatChanged(t *testing.T) {
	const five = 17 * time.Hour
	events := readFeed(t, feed(t, autumn(t, move("2026-09-15", five, "2026-09-16", 18*time.Hour), cancel("2026-09-22", five)), "Tuesday, Starters; all"))
	if len(events) != 11 {
		t.Fatalf("%d events, want 10 meetings and a cancelled one", len(events))
	}
	tests := []struct{ uid, start, sequence, status, text string }{
		{"20260908-1700", "20260908T170000", "0", "CONFIRMED", "week 1"},
		{"20260915-1700", "20260916T180000", "1", "CONFIRMED", "week 2"},
		{"20260922-1700", "20260922T170000", "1", "CANCELLED", "storm"},
	}
	for _, test := range tests {
		e := events["01000000-0000-0000-0000-000000000000-"+test.uid+"@ropewalk"]
		if e == nil {
			t.Errorf("no event is called %s", test.uid)
			continue
		}
		got := []string{e.GetProperty(ics.ComponentPropertyDtStart).Value, e.GetProperty(ics.ComponentPropertySequence).Value,
			e.GetProperty(ics.ComponentPropertyStatus).Value, e.GetProperty(ics.ComponentPropertyDescription).Value, e.GetProperty(ics.ComponentPropertySummary).Value}
		if want := []string{test.start, test.sequence, test.status, test.text, "Tuesday, Starters; all"}; !slices.Equal(got, want) {
			t.Errorf("%s is %q, want %q", test.uid, got, want)
		}
	}
}

// A meeting keeps its id however often it changes, so that calendars change it
// and add none.
func TestMeetingsKeepTheirIDs(t *testing.T) {
	const five = 17 * time.Hour
	plain := readFeed(t, feed(t, autumn(t), "Starters"))
	for name, changes := range map[string][]gym.MeetingChange{
		"moved":           {move("2026-09-15", five, "2026-09-16", five)},
		"moved twice":     {move("2026-09-15", five, "2026-09-16", five), move("2026-09-15", five, "2026-09-17", 9*time.Hour)},
		"cancelled":       {cancel("2026-09-15", five)},
		"moved, then off": {move("2026-09-15", five, "2026-09-16", five), cancel("2026-09-15", five)},
		"put back":        {cancel("2026-09-15", five), restore("2026-09-15", five)},
	} {
		changed := readFeed(t, feed(t, autumn(t, changes...), "Starters"))
		if len(changed) != len(plain) {
			t.Errorf("%s: %d events, want %d", name, len(changed), len(plain))
		}
		for uid := range plain {
			if changed[uid] == nil {
				t.Errorf("%s: %s is lost", name, uid)
			}
		}
		own := changed["01000000-0000-0000-0000-000000000000-20260915-1700@ropewalk"]
		if got := own.GetProperty(ics.ComponentPropertySequence).Value; got != fmt.Sprint(len(changes)) {
			t.Errorf("%s: the sequence is %s, want one more for each change", name, got)
		}
	}
}

// The class meets at 17:00 on the gym's clock, before and after clocks change.
// The changes of London and New York are those of the IANA time zone database:
// 25 October and 1 November 2026; India's last was on 15 October 1945.
func TestFeedKeepsTheWallClock(t *testing.T) {
	tests := []struct {
		zone    string
		instant map[string]string // by the event's day
		rules   []string
	}{
		{"Europe/London", map[string]string{"20261020": "2026-10-20T16:00:00Z", "20261103": "2026-11-03T17:00:00Z"},
			[]string{"DAYLIGHT 20260329T010000 +0000 +0100 BST", "STANDARD 20261025T020000 +0100 +0000 GMT"}},
		{"America/New_York", map[string]string{"20261020": "2026-10-20T21:00:00Z", "20261103": "2026-11-03T22:00:00Z"},
			[]string{"DAYLIGHT 20260308T020000 -0500 -0400 EDT", "STANDARD 20261101T020000 -0400 -0500 EST"}},
		{"Asia/Kolkata", map[string]string{"20261020": "2026-10-20T11:30:00Z", "20261103": "2026-11-03T11:30:00Z"},
			[]string{"STANDARD 19451015T000000 +0630 +0530 IST"}},
		{"UTC", map[string]string{"20261020": "2026-10-20T17:00:00Z"}, []string{"STANDARD 19700101T000000 +0000 +0000 UTC"}},
	}
	for _, test := range tests {
		t.Run(test.zone, func(t *testing.T) {
			y := autumn(t)
			zone, err := time.LoadLocation(test.zone)
			if err != nil {
				t.Fatal(err)
			}
			y.Zone = zone
			text := feed(t, y, "Starters")
			events := readFeed(t, text)
			for on, instant := range test.instant {
				e := events["01000000-0000-0000-0000-000000000000-"+on+"-1700@ropewalk"]
				start := e.GetProperty(ics.ComponentPropertyDtStart)
				if start.Value != on+"T170000" || !slices.Equal(start.ICalParameters["TZID"], []string{test.zone}) {
					t.Errorf("%s starts at %s in %v, want 17:00 in %s", on, start.Value, start.ICalParameters["TZID"], test.zone)
				}
				if at, err := e.GetStartAt(); err != nil || at.UTC().Format(time.RFC3339) != instant {
					t.Errorf("%s starts at %v, %v; want %s", on, at.UTC(), err, instant)
				}
			}
			if got := zoneRules(t, text); !slices.Equal(got, test.rules) {
				t.Errorf("the zone is explained as %q, want %q", got, test.rules)
			}
		})
	}
}

// zoneRules reads the observances of the one zone of a feed.
func zoneRules(t *testing.T, text string) []string {
	t.Helper()
	read, err := ics.ParseCalendar(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	zones := read.Timezones()
	if len(zones) != 1 {
		t.Fatalf("%d zones are explained, want one", len(zones))
	}
	var rules []string
	for _, sub := range zones[0].SubComponents() {
		kind, base := "STANDARD", ics.ComponentBase{}
		switch o := sub.(type) {
		case *ics.Standard:
			base = o.ComponentBase
		case *ics.Daylight:
			kind, base = "DAYLIGHT", o.ComponentBase
		default:
			t.Fatalf("a zone has a %T", sub)
		}
		words := []string{kind}
		for _, p := range []ics.ComponentProperty{ics.ComponentPropertyDtStart, "TZOFFSETFROM", "TZOFFSETTO", "TZNAME"} {
			words = append(words, base.GetProperty(p).Value)
		}
		rules = append(rules, strings.Join(words, " "))
	}
	return rules
}

func TestFeedWithoutMeetings(t *testing.T) {
	y := autumn(t)
	y.Terms = nil
	if events := readFeed(t, feed(t, y, "Starters")); len(events) != 0 {
		t.Errorf("%d events without a term", len(events))
	}
	if text := calendar.Feed("Starters", time.UTC, nil, written); !strings.HasPrefix(text, "BEGIN:VCALENDAR\r\n") {
		t.Errorf("not a calendar: %q", text)
	}
}

func TestFeedIsTheSameAgain(t *testing.T) {
	y := autumn(t, cancel("2026-09-15", 17*time.Hour), move("2026-09-22", 17*time.Hour, "2026-09-23", 17*time.Hour))
	first := feed(t, y, "Starters")
	for range 10 {
		if again := feed(t, y, "Starters"); again != first {
			t.Fatalf("the same year gives another feed:\n%s\n%s", first, again)
		}
	}
}
