package calendar_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
)

// october is a day of the term on which six meetings are still to come.
var october = time.Date(2026, 10, 8, 9, 0, 0, 0, time.UTC)

func shiftWords(s calendar.Shift) string {
	var words []string
	say := func(m calendar.Meeting) string {
		text := m.Starts.Format("Jan2@15:04")
		for _, test := range m.Tests {
			text += " " + string(test)
		}
		if m.Lighter {
			text += " lighter"
		}
		return text
	}
	for _, m := range s.Lost {
		words = append(words, "-"+say(m))
	}
	for _, m := range s.Gained {
		words = append(words, "+"+say(m))
	}
	for _, p := range s.Changed {
		words = append(words, say(p.Was)+" > "+say(p.Is))
	}
	return fmt.Sprintf("%d to %d: %s", s.Before, s.After, strings.Join(words, "; "))
}

func TestForesee(t *testing.T) {
	const five = 17 * time.Hour
	autumnTerm := autumn(t).Terms[0]
	shorter := autumnTerm
	shorter.EndsOn = day("2026-11-22")
	winter := gym.Term{TermID: uuid.UUID{8}, Name: "Winter", StartsOn: day("2026-11-30"), EndsOn: day("2026-12-10")}
	storm := gym.Holiday{HolidayID: uuid.UUID{7}, Name: "Storm", StartsOn: day("2026-10-13"), EndsOn: day("2026-10-13")}
	tests := []struct {
		name string
		edit calendar.Edit
		want string
	}{
		{"nothing", calendar.AddChanges(), "6 to 6: "},
		{"a meeting moved within its week", calendar.AddChanges(move("2026-10-13", five, "2026-10-14", five)), "6 to 6: Oct13@17:00 all_out_30 all_out_180 > Oct14@17:00 all_out_30 all_out_180"},
		{"a meeting cancelled: tests and the lighter week come later", calendar.AddChanges(cancel("2026-10-13", five)),
			"6 to 5: -Oct13@17:00 all_out_30 all_out_180; Oct20@17:00 base burst > Oct20@17:00 all_out_30 all_out_180; Nov3@17:00 lighter > Nov3@17:00 base burst; Nov10@17:00 > Nov10@17:00 lighter; Nov17@17:00 base burst > Nov17@17:00; Nov24@17:00 > Nov24@17:00 base burst"},
		{"an extra meeting in the holiday", calendar.AddChanges(extra("2026-10-28", five)),
			"6 to 7: +Oct28@17:00 lighter; Nov3@17:00 lighter > Nov3@17:00; Nov10@17:00 > Nov10@17:00 base burst; Nov17@17:00 base burst > Nov17@17:00; Nov24@17:00 > Nov24@17:00 all_out_30 all_out_180 lighter"},
		{"a shorter term", calendar.SetTerm(shorter), "6 to 5: -Nov24@17:00"},
		{"another term", calendar.SetTerm(winter), "6 to 8: +Dec1@17:00 base burst; +Dec8@17:00"},
		{"no term", calendar.DropTerm(autumnTerm.TermID), "6 to 0: -Oct13@17:00 all_out_30 all_out_180; -Oct20@17:00 base burst; -Nov3@17:00 lighter; -Nov10@17:00; -Nov17@17:00 base burst; -Nov24@17:00"},
		{"a holiday", calendar.SetHoliday(storm), "6 to 5: -Oct13@17:00 all_out_30 all_out_180; Oct20@17:00 base burst > Oct20@17:00 all_out_30 all_out_180; Nov3@17:00 lighter > Nov3@17:00 base burst; Nov10@17:00 > Nov10@17:00 lighter; Nov17@17:00 base burst > Nov17@17:00; Nov24@17:00 > Nov24@17:00 base burst"},
		{"other weekly times", calendar.SetTimes(class, []gym.ClassTime{{ClassID: class, Weekday: 3, StartsAt: five, Minutes: 60}}), "6 to 6: -Oct13@17:00 all_out_30 all_out_180; -Oct20@17:00 base burst; -Nov3@17:00 lighter; -Nov10@17:00; -Nov17@17:00 base burst; -Nov24@17:00; +Oct14@17:00 all_out_30 all_out_180; +Oct21@17:00 base burst; +Nov4@17:00 lighter; +Nov11@17:00; +Nov18@17:00 base burst; +Nov25@17:00"},
		{"a change in what is over", calendar.AddChanges(move("2026-10-06", five, "2026-10-07", five)), "6 to 6: "},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			shift, err := autumn(t).Foresee(test.edit, class, october)
			if err != nil {
				t.Fatal(err)
			}
			got := shiftWords(shift)
			if got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
			if nothing := strings.HasSuffix(got, ": "); nothing == shift.Any() {
				t.Errorf("Any says %v of %q", shift.Any(), got)
			}
		})
	}
}

// An edit leaves the year that it is shown on as it was.
func TestEditsAreOnTrial(t *testing.T) {
	y := autumn(t, cancel("2026-09-15", 17*time.Hour))
	before := fmt.Sprint(y, starts(meetings(t, y)))
	for _, edit := range []calendar.Edit{calendar.SetTerm(gym.Term{TermID: y.Terms[0].TermID, StartsOn: day("2027-01-04"), EndsOn: day("2027-03-01")}),
		calendar.DropTerm(y.Terms[0].TermID), calendar.SetHoliday(gym.Holiday{StartsOn: day("2026-09-08"), EndsOn: day("2026-09-08")}),
		calendar.DropHoliday(y.Holidays[0].HolidayID), calendar.SetTimes(class, nil), calendar.AddChanges(restore("2026-09-15", 17*time.Hour))} {
		edited := edit(y)
		if len(edited.Changes) == len(y.Changes) && fmt.Sprint(edited) == before {
			t.Error("an edit does nothing")
		}
		if after := fmt.Sprint(y, starts(meetings(t, y))); after != before {
			t.Fatalf("an edit on trial changed the year: %s, before %s", after, before)
		}
	}
}

func TestTheRestOfTheTermFollows(t *testing.T) {
	const five = 17 * time.Hour
	id := func(n int) uuid.UUID { return uuid.UUID{15: byte(n)} }
	y := autumn(t, cancel("2026-11-10", five), move("2026-11-17", five, "2026-11-18", five))
	all, err := y.Alike(move("2026-10-13", five, "2026-10-15", 18*time.Hour), id)
	if err != nil {
		t.Fatal(err)
	}
	after := calendar.AddChanges(all...)(y)
	want := "[Sep8@17:00 Sep15@17:00 Sep22@17:00 Sep29@17:00 Oct6@17:00 Oct15@18:00 Oct22@18:00 Nov5@18:00 Nov18@17:00 Nov26@18:00]"
	if got := fmt.Sprint(starts(meetings(t, after))); got != want {
		t.Errorf("the class meets %s\nwant %s", got, want)
	}
	one, err := autumn(t, extra("2026-10-28", five)).Alike(cancel("2026-10-28", five), id)
	if err != nil || len(one) != 1 {
		t.Errorf("an extra meeting has %d that follow it, %v", len(one)-1, err)
	}
}

// What an edit does adds up, whatever it is.
func TestAShiftAddsUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var changes []gym.MeetingChange
		for range rapid.IntRange(0, 4).Draw(rt, "changes") {
			on := day("2026-09-08").AddDate(0, 0, 7*rapid.IntRange(0, 11).Draw(rt, "week")).Format(time.DateOnly)
			to := day("2026-09-07").AddDate(0, 0, rapid.IntRange(0, 83).Draw(rt, "to")).Format(time.DateOnly)
			changes = append(changes, rapid.SampledFrom([]gym.MeetingChange{move(on, 17*time.Hour, to, 18*time.Hour), cancel(on, 17*time.Hour), restore(on, 17*time.Hour), extra(to, 9*time.Hour)}).Draw(rt, "change"))
		}
		shift, err := autumn(t).Foresee(calendar.AddChanges(changes...), class, october)
		if err != nil {
			rt.Fatal(err)
		}
		if shift.After-shift.Before != len(shift.Gained)-len(shift.Lost) {
			rt.Fatalf("%d meetings became %d, with %d gained and %d lost", shift.Before, shift.After, len(shift.Gained), len(shift.Lost))
		}
		for _, p := range shift.Changed {
			if !p.Was.Day.Equal(p.Is.Day) || p.Was.StartsAt != p.Is.StartsAt || p.Was.Slot == p.Is.Slot && p.Was.Lighter == p.Is.Lighter && sameTests(p.Was.Tests, p.Is.Tests) {
				rt.Fatalf("a pair is not one changed meeting: %+v", p)
			}
		}
	})
}

func sameTests(a, b []planner.Test) bool { return fmt.Sprint(a) == fmt.Sprint(b) }
