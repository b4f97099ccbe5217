package calendar

import (
	"fmt"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// An Entry is one meeting as a calendar program shows it.
type Entry struct {
	UID       string
	Summary   string
	Text      string
	Starts    time.Time
	Ends      time.Time
	Sequence  int // how often it was changed
	Cancelled bool
}

// Entries returns the meetings of a class for a feed, the cancelled ones too, so
// that calendars which have them take them out. words says what a meeting holds.
func (y Year) Entries(class gym.Class, words func(Meeting) string) ([]Entry, error) {
	meetings, err := y.Class(class.ClassID)
	if err != nil {
		return nil, err
	}
	var entries []Entry
	for _, m := range meetings {
		entries = append(entries, Entry{UID: uid(class.ClassID, m.Day, m.StartsAt), Summary: class.Name, Text: words(m),
			Starts: m.Starts, Ends: m.Ends, Sequence: y.changes(class.ClassID, m.Day, m.StartsAt)})
	}
	cancelled, err := y.Cancelled(class.ClassID)
	for _, m := range cancelled {
		entries = append(entries, Entry{UID: uid(class.ClassID, m.Day, m.StartsAt), Summary: class.Name, Text: m.Change.Reason,
			Starts: m.Starts, Ends: m.Ends, Sequence: y.changes(class.ClassID, m.Day, m.StartsAt), Cancelled: true})
	}
	return entries, err
}

// uid names a meeting for ever, however often it moves.
func uid(class uuid.UUID, day time.Time, startsAt time.Duration) string {
	clock := clockOf(startsAt)
	return fmt.Sprintf("%s-%s-%02d%02d@ropewalk", class, day.Format("20060102"), clock.Hour, clock.Minute)
}

// changes counts the changes of one meeting.
func (y Year) changes(class uuid.UUID, day time.Time, startsAt time.Duration) int {
	n := 0
	for _, c := range y.Changes {
		if c.ClassID == class && c.Day.Equal(day) && c.StartsAt == startsAt {
			n++
		}
	}
	return n
}

// Feed writes entries as an iCalendar file, with the line ends that RFC 5545,
// section 3.1 asks for. Times are on the wall clock of the entries' zone, which
// the file explains itself. at is when what it says last changed: the same
// entries give the same bytes. Calendar programs are asked to look again every
// six hours.
func Feed(name string, zone *time.Location, entries []Entry, at time.Time) string {
	cal := ics.NewCalendarFor("Ropewalk")
	cal.SetMethod(ics.MethodPublish)
	cal.SetName(name)
	cal.SetXWRCalName(name)
	cal.SetRefreshInterval("PT6H", ics.WithValue("DURATION"))
	cal.SetXPublishedTTL("PT6H")
	explain(cal, zone, entries)
	for _, e := range entries {
		event := cal.AddEvent(e.UID)
		event.SetDtStampTime(at)
		event.SetProperty(ics.ComponentPropertyDtStart, e.Starts.In(zone).Format(wallClock), ics.WithTZID(zone.String()))
		event.SetProperty(ics.ComponentPropertyDtEnd, e.Ends.In(zone).Format(wallClock), ics.WithTZID(zone.String()))
		event.SetSummary(e.Summary)
		event.SetSequence(e.Sequence)
		event.SetStatus(ics.ObjectStatusConfirmed)
		if e.Text != "" {
			event.SetDescription(e.Text)
		}
		if e.Cancelled {
			event.SetStatus(ics.ObjectStatusCancelled)
		}
	}
	return cal.Serialize(ics.WithNewLineWindows)
}
