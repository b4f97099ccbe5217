package calendar_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
)

var class, other = uuid.UUID{1}, uuid.UUID{2}

func day(text string) time.Time {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return t
}

// autumn is a term of twelve weeks with a holiday in week 8; the class meets
// on Tuesdays at 17:00.
func autumn(t testing.TB, changes ...gym.MeetingChange) calendar.Year {
	t.Helper()
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return calendar.Year{
		Zone:     zone,
		Terms:    []gym.Term{{TermID: uuid.UUID{9}, Name: "Autumn", StartsOn: day("2026-09-07"), EndsOn: day("2026-11-29")}},
		Holidays: []gym.Holiday{{StartsOn: day("2026-10-26"), EndsOn: day("2026-11-01")}},
		Times: []gym.ClassTime{{ClassID: class, Weekday: 2, StartsAt: 17 * time.Hour, Minutes: 45},
			{ClassID: other, Weekday: 4, StartsAt: 18 * time.Hour, Minutes: 60}},
		Changes: changes,
	}
}

func move(from string, at time.Duration, to string, toAt time.Duration) gym.MeetingChange {
	toDay, minutes := day(to), 30
	return gym.MeetingChange{ClassID: class, Kind: gym.Moved, Day: day(from), StartsAt: at, ToDay: &toDay, ToStartsAt: &toAt, ToMinutes: &minutes}
}

func cancel(from string, at time.Duration) gym.MeetingChange {
	return gym.MeetingChange{ClassID: class, Kind: gym.Cancelled, Day: day(from), StartsAt: at, Reason: "storm"}
}

func restore(from string, at time.Duration) gym.MeetingChange {
	return gym.MeetingChange{ClassID: class, Kind: gym.Restored, Day: day(from), StartsAt: at}
}

func extra(on string, at time.Duration) gym.MeetingChange {
	c := move(on, at, on, at)
	c.Kind = gym.Extra
	return c
}

func meetings(t testing.TB, y calendar.Year) []calendar.Meeting {
	t.Helper()
	all, err := y.Class(class)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func starts(all []calendar.Meeting) []string {
	var texts []string
	for _, m := range all {
		texts = append(texts, m.Starts.Format("Jan2@15:04"))
	}
	return texts
}

func TestMeetingsFollowChanges(t *testing.T) {
	const five = 17 * time.Hour
	usual := []string{"Sep8@17:00", "Sep15@17:00", "Sep22@17:00", "Sep29@17:00", "Oct6@17:00", "Oct13@17:00", "Oct20@17:00", "Nov3@17:00", "Nov10@17:00", "Nov17@17:00", "Nov24@17:00"}
	with := func(old, new string) []string {
		changed := slices.Clone(usual)
		i := slices.Index(changed, old)
		if new == "" {
			return slices.Delete(changed, i, i+1)
		}
		changed[i] = new
		return changed
	}
	tests := []struct {
		name    string
		changes []gym.MeetingChange
		want    []string
	}{
		{"no change", nil, usual},
		{"moved a day on", []gym.MeetingChange{move("2026-09-15", five, "2026-09-16", 18*time.Hour)}, with("Sep15@17:00", "Sep16@18:00")},
		{"moved twice: the newer counts", []gym.MeetingChange{move("2026-09-15", five, "2026-09-16", five), move("2026-09-15", five, "2026-09-17", five)}, with("Sep15@17:00", "Sep17@17:00")},
		{"cancelled", []gym.MeetingChange{cancel("2026-09-15", five)}, with("Sep15@17:00", "")},
		{"cancelled, then restored", []gym.MeetingChange{cancel("2026-09-15", five), restore("2026-09-15", five)}, usual},
		{"of another class", []gym.MeetingChange{{ClassID: other, Kind: gym.Cancelled, Day: day("2026-09-15"), StartsAt: five}}, usual},
		{"names a meeting that a holiday took", []gym.MeetingChange{cancel("2026-10-27", five)}, usual},
		{"names a time that is not its own any more", []gym.MeetingChange{move("2026-09-15", 16*time.Hour, "2026-09-16", five)}, usual},
		{"extra, in the holiday", []gym.MeetingChange{extra("2026-10-28", five)}, slices.Insert(slices.Clone(usual), 7, "Oct28@17:00")},
		{"extra, then moved", []gym.MeetingChange{extra("2026-10-28", five), move("2026-10-28", five, "2026-10-29", five)}, slices.Insert(slices.Clone(usual), 7, "Oct29@17:00")},
		{"extra, cancelled, put back", []gym.MeetingChange{extra("2026-10-28", five), cancel("2026-10-28", five), restore("2026-10-28", five)}, slices.Insert(slices.Clone(usual), 7, "Oct28@17:00")},
		{"extra, then cancelled", []gym.MeetingChange{extra("2026-10-28", five), cancel("2026-10-28", five)}, usual},
		{"moved, and the old time is not its own any more: its new day keeps its own name", []gym.MeetingChange{move("2026-09-16", five, "2026-09-15", five)}, usual},
		{"moved out of the term: stays", []gym.MeetingChange{move("2026-11-24", five, "2026-12-01", five)}, usual},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := starts(meetings(t, autumn(t, test.changes...))); !slices.Equal(got, test.want) {
				t.Errorf("got  %v\nwant %v", got, test.want)
			}
		})
	}
}

func TestMeetingKeepsItsOwnNameWhenMoved(t *testing.T) {
	const five = 17 * time.Hour
	m := meetings(t, autumn(t, move("2026-09-15", five, "2026-09-16", 18*time.Hour)))[1]
	if !m.Moved() || !m.Day.Equal(day("2026-09-15")) || m.StartsAt != five || !m.On().Equal(day("2026-09-16")) || m.Minutes() != 30 {
		t.Errorf("%+v", m)
	}
}

// A move that names no meeting any more must not lend its name to a weekly one
// that happens to be where it once led.
func TestAnOldMoveTakesNoMeetingsName(t *testing.T) {
	m := meetings(t, autumn(t, move("2026-09-14", 17*time.Hour, "2026-09-15", 17*time.Hour)))[1]
	if m.Moved() || !m.Day.Equal(day("2026-09-15")) {
		t.Errorf("the meeting of 15 Sep is called %v, moved %v", m.Day, m.Moved())
	}
}

func TestCancelled(t *testing.T) {
	const five = 17 * time.Hour
	tests := []struct {
		name    string
		changes []gym.MeetingChange
		want    []string
	}{
		{"none", nil, nil},
		{"one", []gym.MeetingChange{cancel("2026-09-15", five)}, []string{"Sep15@17:00"}},
		{"put back", []gym.MeetingChange{cancel("2026-09-15", five), restore("2026-09-15", five)}, nil},
		{"twice off", []gym.MeetingChange{cancel("2026-09-15", five), restore("2026-09-15", five), cancel("2026-09-15", five)}, []string{"Sep15@17:00"}},
		{"moved before", []gym.MeetingChange{move("2026-09-15", five, "2026-09-16", five), cancel("2026-09-15", five)}, []string{"Sep16@17:00"}},
		{"an extra one", []gym.MeetingChange{extra("2026-10-28", five), cancel("2026-10-28", five)}, []string{"Oct28@17:00"}},
		{"in a holiday anyway", []gym.MeetingChange{cancel("2026-10-27", five)}, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			off, err := autumn(t, test.changes...).Cancelled(class)
			if err != nil {
				t.Fatal(err)
			}
			if got := starts(off); !slices.Equal(got, test.want) {
				t.Errorf("cancelled are %v, want %v", got, test.want)
			}
		})
	}
}

func TestCancellingShiftsTestsAndLighterWeeks(t *testing.T) {
	say := func(y calendar.Year) (tests, lighter []string) {
		for _, m := range meetings(t, y) {
			if slices.Contains(m.Tests, planner.TestBase) {
				tests = append(tests, m.Starts.Format("Jan2"))
			}
			if m.Lighter {
				lighter = append(lighter, m.Starts.Format("Jan2"))
			}
		}
		return tests, lighter
	}
	tests, lighter := say(autumn(t))
	if got := fmt.Sprint(tests, lighter); got != "[Sep8 Sep29 Oct20 Nov17] [Sep29 Nov3]" {
		t.Errorf("as planned: %s", got)
	}
	tests, lighter = say(autumn(t, cancel("2026-09-15", 17*time.Hour)))
	if got := fmt.Sprint(tests, lighter); got != "[Sep8 Oct6 Nov3 Nov24] [Oct6 Nov10]" {
		t.Errorf("with a week lost: %s", got)
	}
}

func TestNext(t *testing.T) {
	y := autumn(t)
	tests := []struct{ name, now, want string }{
		{"before the term", "2026-08-01T10:00:00Z", "Sep8@17:00"},
		{"while it meets", "2026-09-08T16:30:00Z", "Sep8@17:00"},
		{"when it has ended", "2026-09-08T16:46:00Z", "Sep15@17:00"},
		{"over a holiday and the change of clocks", "2026-10-21T10:00:00Z", "Nov3@17:00"},
		{"after the term, by the weekly times", "2026-12-02T10:00:00Z", "Dec8@17:00"},
		{"after the term, on the day itself", "2026-12-01T16:00:00Z", "Dec1@17:00"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			now, err := time.Parse(time.RFC3339, test.now)
			if err != nil {
				t.Fatal(err)
			}
			m, err := y.Next(class, now)
			if err != nil {
				t.Fatal(err)
			}
			if got := m.Starts.Format("Jan2@15:04"); got != test.want {
				t.Errorf("next is %s, want %s", got, test.want)
			}
		})
	}
	if m, err := y.Next(uuid.UUID{7}, time.Date(2026, 9, 8, 9, 30, 0, 0, time.UTC)); err != nil || m.Starts.Format("Jan2@15:04") != "Sep8@10:30" {
		t.Errorf("a class without times meets at %v, %v", m.Starts, err)
	}
}

func TestAt(t *testing.T) {
	y := autumn(t)
	tests := []struct {
		name, starts string
		minutes      int
		term         string
	}{
		{"a meeting of the term", "2026-09-08T16:00:00Z", 45, "Autumn"},
		{"by the weekly times, after the term", "2026-12-01T17:00:00Z", 45, ""},
		{"beside the calendar", "2026-09-09T09:30:00Z", 60, ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			starts, err := time.Parse(time.RFC3339, test.starts)
			if err != nil {
				t.Fatal(err)
			}
			m, err := y.At(class, starts)
			if err != nil {
				t.Fatal(err)
			}
			if !m.Starts.Equal(starts) || m.Minutes() != test.minutes || m.Term.Name != test.term {
				t.Errorf("starts %v, %d minutes, term %q", m.Starts, m.Minutes(), m.Term.Name)
			}
		})
	}
}

func TestOn(t *testing.T) {
	y := autumn(t)
	if _, ok, err := y.On(class, day("2026-09-15")); !ok || err != nil {
		t.Errorf("no meeting on its day: %v", err)
	}
	if _, ok, err := y.On(class, day("2026-10-27")); ok || err != nil {
		t.Errorf("a meeting in the holiday: %v", err)
	}
}

func TestChangesOfADayTouchNoOtherDay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		plain := meetings(t, autumn(t))
		i := rapid.IntRange(0, len(plain)-1).Draw(rt, "meeting")
		own := plain[i]
		by := rapid.IntRange(-3, 3).Draw(rt, "days")
		at := time.Duration(rapid.IntRange(8, 21).Draw(rt, "hour")) * time.Hour
		to := own.Day.AddDate(0, 0, by)
		if term := own.Term; to.Before(term.StartsOn) || to.After(term.EndsOn) {
			return
		}
		moved := meetings(t, autumn(t, move(own.Day.Format(time.DateOnly), own.StartsAt, to.Format(time.DateOnly), at)))
		if len(moved) != len(plain) {
			rt.Fatalf("%d meetings became %d", len(plain), len(moved))
		}
		found := 0
		for _, m := range moved {
			switch {
			case m.Day.Equal(own.Day):
				found++
				if !m.On().Equal(to) {
					rt.Fatalf("moved to %v, is on %v", to, m.On())
				}
			case m.Moved():
				rt.Fatalf("%v moved too", m.Day)
			}
		}
		if found != 1 {
			rt.Fatalf("the moved meeting is there %d times", found)
		}
	})
}
