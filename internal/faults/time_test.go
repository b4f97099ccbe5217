package faults

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
)

// localAs lets the machine stand in another zone until the test ends.
func localAs(t *testing.T, zone *time.Location) {
	t.Helper()
	before := time.Local
	time.Local = zone
	t.Cleanup(func() { time.Local = before })
}

func zoneOf(t *testing.T, name string) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func dayOf(t *testing.T, text string) time.Time {
	t.Helper()
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return day
}

// A class that meets every day at a time that some days lack and others have
// twice, in terms across clock changes, a leap day and New Year: each day has
// its meeting once, in the gym's zone, wherever the machine stands.
//
// The dates of the clock changes are those of the IANA time zone database.
func TestOddDays(t *testing.T) {
	class := uuid.UUID{1}
	for _, test := range []struct {
		name, zone, from, to string
		at                   time.Duration
	}{
		{"spring in London: 01:30 is not there on 28 March", "Europe/London", "2027-03-15", "2027-04-11", 90 * time.Minute},
		{"autumn in London: 01:30 is there twice on 31 October", "Europe/London", "2027-10-18", "2027-11-14", 90 * time.Minute},
		{"spring in New York: 02:30 is not there on 14 March", "America/New_York", "2027-03-01", "2027-03-28", 150 * time.Minute},
		{"autumn in New York: 01:30 is there twice on 7 November", "America/New_York", "2027-10-25", "2027-11-21", 90 * time.Minute},
		{"half an hour at Lord Howe", "Australia/Lord_Howe", "2027-03-29", "2027-04-18", 105 * time.Minute},
		{"the leap day", "Europe/London", "2028-02-14", "2028-03-12", 17 * time.Hour},
		{"no leap day", "Europe/London", "2027-02-15", "2027-03-14", 17 * time.Hour},
		{"New Year, and week 53", "Europe/London", "2026-12-14", "2027-01-17", 23*time.Hour + 30*time.Minute},
		{"New Year at Apia", "Pacific/Apia", "2026-12-14", "2027-01-17", 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			zone := zoneOf(t, test.zone)
			year := calendar.Year{Zone: zone, Terms: []gym.Term{{TermID: uuid.UUID{9}, Name: "Term", StartsOn: dayOf(t, test.from), EndsOn: dayOf(t, test.to)}}}
			for weekday := 1; weekday <= 7; weekday++ {
				year.Times = append(year.Times, gym.ClassTime{ClassID: class, Weekday: weekday, StartsAt: test.at, Minutes: 60})
			}
			for _, machine := range []string{"UTC", "Europe/London", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia"} {
				localAs(t, zoneOf(t, machine))
				meetings, err := year.Class(class)
				if err != nil {
					t.Fatal(err)
				}
				day := dayOf(t, test.from)
				for _, m := range meetings {
					if !m.On().Equal(day) || !gym.DayIn(m.Starts, zone).Equal(day) || m.Ends.Sub(m.Starts) != time.Hour {
						t.Fatalf("on a machine in %s the meeting of %s is on %s, from %s to %s", machine, day.Format(time.DateOnly), m.On().Format(time.DateOnly), m.Starts, m.Ends)
					}
					day = day.AddDate(0, 0, 1)
				}
				if last := dayOf(t, test.to); !day.Equal(last.AddDate(0, 0, 1)) {
					t.Errorf("on a machine in %s the meetings end before %s", machine, day.Format(time.DateOnly))
				}
			}
		})
	}
}
