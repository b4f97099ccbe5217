package planner

import (
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"
	_ "time/tzdata" // zones on machines that have none

	"pgregory.net/rapid"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func day(year, month, d int) Date { return Date{year, time.Month(month), d} }

// Clock changes by the IANA time zone database: London on the last Sundays of
// March and October by an hour; Lord Howe on the first Sundays of October and
// April by half an hour; Apia left out 30 December 2011.
func TestDateAtClockChanges(t *testing.T) {
	for _, test := range []struct {
		name, zone string
		date       Date
		at         Clock
		want       string
	}{
		{"winter", "Europe/London", day(2027, 1, 5), Clock{17, 0}, "2027-01-05T17:00:00Z"},
		{"summer", "Europe/London", day(2027, 6, 1), Clock{17, 0}, "2027-06-01T17:00:00+01:00"},
		{"skipped hour", "Europe/London", day(2027, 3, 28), Clock{1, 30}, "2027-03-28T02:30:00+01:00"},
		{"after the skipped hour", "Europe/London", day(2027, 3, 28), Clock{2, 0}, "2027-03-28T02:00:00+01:00"},
		{"evening of that day", "Europe/London", day(2027, 3, 28), Clock{17, 0}, "2027-03-28T17:00:00+01:00"},
		{"before the repeated hour", "Europe/London", day(2027, 10, 31), Clock{0, 59}, "2027-10-31T00:59:00+01:00"},
		{"repeated hour: the first", "Europe/London", day(2027, 10, 31), Clock{1, 30}, "2027-10-31T01:30:00+01:00"},
		{"after the repeated hour", "Europe/London", day(2027, 10, 31), Clock{2, 0}, "2027-10-31T02:00:00Z"},
		{"skipped half hour", "Australia/Lord_Howe", day(2026, 10, 4), Clock{2, 15}, "2026-10-04T02:45:00+11:00"},
		{"repeated half hour: the first", "Australia/Lord_Howe", day(2027, 4, 4), Clock{1, 45}, "2027-04-04T01:45:00+11:00"},
		{"after the repeated half hour", "Australia/Lord_Howe", day(2027, 4, 4), Clock{2, 0}, "2027-04-04T02:00:00+10:30"},
		{"skipped day", "Pacific/Apia", day(2011, 12, 30), Clock{10, 0}, "2011-12-31T10:00:00+14:00"},
		{"leap day", "America/New_York", day(2028, 2, 29), Clock{18, 30}, "2028-02-29T18:30:00-05:00"},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := test.date.At(test.at, zone(t, test.zone)).Format(time.RFC3339); got != test.want {
				t.Errorf("%s %02d:%02d in %s is %s, want %s", test.date, test.at.Hour, test.at.Minute, test.zone, got, test.want)
			}
		})
	}
}

// invented is a made-up term: Tuesdays at 17:00, the eighth week a holiday.
func invented() Term {
	return Term{
		First: day(2026, 9, 7), Last: day(2026, 11, 29),
		Weekly:   []Weekly{{time.Tuesday, Clock{17, 0}, 45}},
		Holidays: []Span{{day(2026, 10, 26), day(2026, 11, 1)}},
	}
}

func meetings(t *testing.T, term Term, loc *time.Location) []Meeting {
	t.Helper()
	list, err := term.Meetings(loc)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestMeetings(t *testing.T) {
	list := meetings(t, invented(), zone(t, "Europe/London"))
	if len(list) != 11 {
		t.Fatalf("%d meetings, want 11", len(list))
	}
	full, allOut := []Test{TestBase, TestBurst}, []Test{TestAllOut30, TestAllOut180}
	for i, want := range []struct {
		week    int
		lighter bool
		tests   []Test
	}{
		{1, false, full}, {2, false, nil}, {3, false, nil}, {4, true, full}, {5, false, nil}, {6, false, allOut},
		{7, false, full}, {9, true, nil}, {10, false, nil}, {11, false, full}, {12, false, nil},
	} {
		m := list[i]
		if m.Week != want.week || m.Teaching != i+1 || m.Lighter != want.lighter || !slices.Equal(m.Tests, want.tests) {
			t.Errorf("meeting %d on %s: week %d, teaching %d, lighter %t, tests %v", i+1, m.Slot.Date, m.Week, m.Teaching, m.Lighter, m.Tests)
		}
		if m.Starts.Hour() != 17 || m.Ends.Sub(m.Starts) != 45*time.Minute || m.Slot.Date.Weekday() != time.Tuesday {
			t.Errorf("meeting %d from %s to %s", i+1, m.Starts, m.Ends)
		}
	}
	// Clocks go back on 25 October: between 20 October and 3 November lie two weeks and an hour.
	if gap := list[7].Starts.Sub(list[6].Starts); gap != 14*24*time.Hour+time.Hour {
		t.Errorf("%s between the meetings around the clock change", gap)
	}
}

func TestMeetingsAcrossTheYear(t *testing.T) {
	term := Term{
		First: day(2026, 12, 14), Last: day(2027, 1, 15),
		Weekly:   []Weekly{{time.Friday, Clock{18, 0}, 60}, {time.Monday, Clock{18, 0}, 60}},
		Holidays: []Span{{day(2026, 12, 21), day(2026, 12, 27)}},
	}
	var got []string
	for _, m := range meetings(t, term, zone(t, "America/New_York")) {
		got = append(got, m.Starts.Format(time.DateOnly))
		// 2026 has an ISO week 53, which ends on 3 January.
		if year, week := m.Starts.ISOWeek(); m.Slot.Date == day(2027, 1, 1) && (year != 2026 || week != 53 || m.Week != 3 || m.Teaching != 2) {
			t.Errorf("1 January is in week %d of %d, week %d of the term, teaching %d", week, year, m.Week, m.Teaching)
		}
	}
	want := []string{"2026-12-14", "2026-12-18", "2026-12-28", "2027-01-01", "2027-01-04", "2027-01-08", "2027-01-11", "2027-01-15"}
	if !slices.Equal(got, want) {
		t.Errorf("meetings on %v, want %v", got, want)
	}
	leap := Term{First: day(2028, 2, 21), Last: day(2028, 3, 7), Weekly: []Weekly{{time.Tuesday, Clock{18, 0}, 60}}}
	if list := meetings(t, leap, time.UTC); len(list) != 3 || list[1].Slot.Date != day(2028, 2, 29) || list[2].Slot.Date != day(2028, 3, 7) {
		t.Errorf("meetings around 29 February: %v", list)
	}
}

func TestChangedDays(t *testing.T) {
	before := meetings(t, invented(), time.UTC)

	cancelled := invented()
	cancelled.Changes = []Change{{Date: day(2026, 9, 29), Start: Clock{17, 0}}}
	after := meetings(t, cancelled, time.UTC)
	if len(after) != 10 || !reflect.DeepEqual(before[:3], after[:3]) {
		t.Errorf("a cancelled meeting leaves %d, the first of them %v", len(after), after[:3])
	}
	// What fell on 29 September falls on the next meeting.
	if m := after[3]; m.Slot.Date != day(2026, 10, 6) || !m.Lighter || !slices.Equal(m.Tests, before[3].Tests) {
		t.Errorf("after the cancelled meeting: %+v", m)
	}

	moved := invented()
	moved.Changes = []Change{{Date: day(2026, 9, 29), Start: Clock{17, 0}, To: &Slot{day(2026, 10, 1), Clock{18, 0}, 60}}}
	m := meetings(t, moved, time.UTC)[3]
	if m.Slot.Date != day(2026, 10, 1) || m.Starts.Hour() != 18 || m.Ends.Sub(m.Starts) != time.Hour || !slices.Equal(m.Tests, before[3].Tests) {
		t.Errorf("the moved meeting: %+v", m)
	}

	extra := invented()
	extra.Extra = []Slot{{day(2026, 10, 28), Clock{10, 0}, 45}}
	if list := meetings(t, extra, time.UTC); len(list) != 12 || list[7].Week != 8 || list[7].Teaching != 8 {
		t.Errorf("a meeting in the holiday: %+v", list[7])
	}
	if rest := From(before, day(2026, 11, 4)); len(rest) != 3 || rest[0].Slot.Date != day(2026, 11, 10) {
		t.Errorf("from 4 November on: %v", rest)
	}
	if rest := From(before, day(2026, 11, 25)); rest != nil {
		t.Errorf("after the last meeting: %v", rest)
	}
}

func TestMeetingsRefuses(t *testing.T) {
	for field, change := range map[string]func(*Term){
		"first":         func(term *Term) { term.First = day(2026, 2, 29) },
		"last":          func(term *Term) { term.Last = day(2026, 9, 6) },
		"weekly[0]":     func(term *Term) { term.Weekly[0].Start.Hour = 24 },
		"holidays[0]":   func(term *Term) { term.Holidays[0].To = day(2026, 10, 25) },
		"changes[0]":    func(term *Term) { term.Changes = []Change{{Date: day(2026, 9, 30), Start: Clock{17, 0}}} },
		"changes[0].to": func(term *Term) { term.Changes = []Change{{day(2026, 9, 29), Clock{17, 0}, &Slot{}}} },
		"extra[0]":      func(term *Term) { term.Extra = []Slot{{day(2026, 12, 1), Clock{17, 0}, 45}} },
	} {
		term := invented()
		change(&term)
		_, err := term.Meetings(time.UTC)
		if input, ok := errors.AsType[*InputError](err); !ok || input.Field != field {
			t.Errorf("%s: error %v", field, err)
		}
	}
	if _, err := invented().Meetings(nil); err == nil {
		t.Error("a term without a zone has meetings")
	}
}

func TestTermJSON(t *testing.T) {
	term := invented()
	term.Changes = []Change{{day(2026, 9, 29), Clock{17, 0}, &Slot{day(2026, 10, 1), Clock{18, 0}, 60}}}
	data, err := json.Marshal(term)
	if err != nil {
		t.Fatal(err)
	}
	var again Term
	if err := json.Unmarshal(data, &again); err != nil || !reflect.DeepEqual(term, again) {
		t.Errorf("read back as %+v, %v", again, err)
	}
	if err := json.Unmarshal([]byte(`{"first":"2026-02-29"}`), &again); err == nil {
		t.Error("29 February 2026 is read as a date")
	}
}

// A change leaves every meeting before it as it was, in any zone.
func TestAChangeLeavesThePast(t *testing.T) {
	zones := []*time.Location{zone(t, "Europe/London"), zone(t, "Australia/Lord_Howe"), zone(t, "America/New_York"), time.UTC}
	rapid.Check(t, func(t *rapid.T) {
		loc := rapid.SampledFrom(zones).Draw(t, "zone")
		first := day(2026, 1, 1).Plus(rapid.IntRange(0, 1500).Draw(t, "first day"))
		term := Term{First: first, Last: first.Plus(rapid.IntRange(20, 300).Draw(t, "days"))}
		for range rapid.IntRange(1, 3).Draw(t, "times a week") {
			term.Weekly = append(term.Weekly, Weekly{
				time.Weekday(rapid.IntRange(0, 6).Draw(t, "weekday")),
				Clock{rapid.IntRange(0, 23).Draw(t, "hour"), rapid.IntRange(0, 59).Draw(t, "minute")},
				rapid.IntRange(20, 90).Draw(t, "minutes"),
			})
		}
		from := first.Plus(rapid.IntRange(0, 300).Draw(t, "holiday"))
		term.Holidays = []Span{{from, from.Plus(rapid.IntRange(0, 20).Draw(t, "long"))}}
		before, err := term.Meetings(loc)
		if err != nil {
			t.Fatal(err)
		}
		for i, m := range before {
			if i > 0 && m.Starts.Before(before[i-1].Starts) {
				t.Fatalf("meeting %d starts before the one before", i)
			}
			if m.Slot.Date.Until(DateOf(m.Starts)) != 0 || term.holiday(m.Slot.Date) {
				t.Fatalf("meeting of %s starts %s", m.Slot.Date, m.Starts)
			}
		}
		if len(before) == 0 {
			return
		}
		gone := rapid.SampledFrom(before).Draw(t, "cancelled").Slot
		term.Changes = []Change{{Date: gone.Date, Start: gone.Start}}
		after, err := term.Meetings(loc)
		if err != nil {
			t.Fatal(err)
		}
		for i, m := range before {
			if m.Slot.Date.Until(gone.Date) <= 0 {
				break
			}
			if !reflect.DeepEqual(m, after[i]) {
				t.Fatalf("cancelling %s turns %+v into %+v", gone.Date, m, after[i])
			}
		}
	})
}
