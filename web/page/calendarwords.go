package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/web/part"
)

// meetingURL leads to the page of one meeting, by its own day and time.
func meetingURL(m calendar.Meeting) templ.SafeURL {
	return classURL(m.ClassID, "/calendar/meeting?day="+m.Day.Format(time.DateOnly)+"&starts="+ClockOf(m.StartsAt))
}

// ClockOf writes a time of day, since midnight.
func ClockOf(sinceMidnight time.Duration) string {
	minutes := int(sinceMidnight / time.Minute)
	return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60)
}

// slotWords says when a meeting is: "Tue 10 Nov, 17:00".
func slotWords(m calendar.Meeting) string { return part.Day(m.On()) + ", " + m.Starts.Format("15:04") }

// testsWords names tests: "base rate and burst rate".
func testsWords(tests []planner.Test) string {
	names := make([]string, len(tests))
	for i, test := range tests {
		names[i] = testWord(test)
	}
	return strings.Join(names, " and ")
}

// rowMarks says in short what is special about a meeting in the calendar.
func rowMarks(r CalendarRow) []string {
	var marks []string
	m := r.Meeting
	if len(m.Tests) > 0 && !r.Cancelled {
		marks = append(marks, "Test day: "+testsWords(m.Tests))
	}
	if m.Lighter && !r.Cancelled {
		marks = append(marks, "Lighter week")
	}
	if m.Moved() && !r.Cancelled {
		marks = append(marks, withReason("Moved from "+part.Day(m.Day), m.Change))
	}
	if m.Change != nil && m.Change.Kind == gym.Extra {
		marks = append(marks, withReason("Extra", m.Change))
	}
	return marks
}

func withReason(text string, c *gym.MeetingChange) string {
	if c == nil || c.Reason == "" {
		return text
	}
	return text + ": " + c.Reason
}

// TermDays writes a term's days: "Mon 7 Sep to Sun 29 Nov 2026, 12 weeks".
func TermDays(from, to time.Time) string {
	days := int(to.Sub(from).Hours()/24) + 1
	text := part.Day(from) + " to " + part.Day(to) + to.Format(" 2006")
	if from.Equal(to) {
		text = part.Day(from) + from.Format(" 2006")
	}
	if days < 7 {
		return text + ", " + part.Count(days, "day", "days")
	}
	return text + ", " + part.Count((days+3)/7, "week", "weeks")
}

// A ShiftView is what a change of the calendar does to a class.
type ShiftView struct {
	Class     gym.Class
	Shift     calendar.Shift
	Replanned int // plans that are made again for another day
	Left      int // plans of days on which the class does not meet
}

// mostNamed bounds the meetings that are named one by one; more are summed up.
const mostNamed = 4

// ShiftLines says what a change does, the meetings first, then what follows.
func ShiftLines(v ShiftView) []string {
	s := v.Shift
	lines := manyOrEach(s.Lost, "class fewer", "classes fewer", "No class on ")
	lines = append(lines, manyOrEach(s.Gained, "class more", "classes more", "A class on ")...)
	if len(s.Gained) > mostNamed {
		lines = append(lines, "Test days among them: "+testDays(s.Gained)+".")
	}
	for _, p := range s.Changed {
		if p.Moved() {
			lines = append(lines, slotWords(p.Was)+" becomes "+slotWords(p.Is)+", "+strconv.Itoa(p.Is.Minutes())+" min.")
		}
		if text := marksChange(p); text != "" {
			lines = append(lines, part.Day(p.Is.On())+": "+text+".")
		}
	}
	if v.Replanned > 0 {
		lines = append(lines, part.Count(v.Replanned, "plan is", "plans are")+" made again for the new day.")
	}
	if v.Left > 0 {
		lines = append(lines, part.Count(v.Left, "plan leaves", "plans leave")+" the phones: the day falls away.")
	}
	return append(lines, fmt.Sprintf("Meetings to come: %d now, %d after this.", s.Before, s.After))
}

// manyOrEach names meetings one by one, or sums up many.
func manyOrEach(meetings []calendar.Meeting, one, many, each string) []string {
	if len(meetings) > mostNamed {
		return []string{part.Count(len(meetings), one, many) + ", from " + part.Day(meetings[0].On()) + " to " + part.Day(meetings[len(meetings)-1].On()) + "."}
	}
	var lines []string
	for _, m := range meetings {
		line := each + slotWords(m)
		if len(m.Tests) > 0 {
			line += ", a test day"
		}
		lines = append(lines, line+".")
	}
	return lines
}

// testDays lists the days with tests among meetings.
func testDays(meetings []calendar.Meeting) string {
	var days []string
	for _, m := range meetings {
		if len(m.Tests) > 0 {
			days = append(days, part.Day(m.On()))
		}
	}
	if len(days) == 0 {
		return "none"
	}
	return strings.Join(days, ", ")
}

// marksChange says how tests and lighter weeks come to lie otherwise.
func marksChange(p calendar.Pair) string {
	var words []string
	switch {
	case slices.Equal(p.Was.Tests, p.Is.Tests):
	case len(p.Is.Tests) == 0:
		words = append(words, "no test day any more")
	default:
		words = append(words, "test day now: "+testsWords(p.Is.Tests))
	}
	switch {
	case p.Is.Lighter && !p.Was.Lighter:
		words = append(words, "in a lighter week now")
	case p.Was.Lighter && !p.Is.Lighter:
		words = append(words, "in a full week now")
	}
	return strings.Join(words, ", ")
}

// timeNumber names the n-th of several weekly times, or none of one.
func timeNumber(n int) string { return "Weekly time " + strconv.Itoa(n) }

// ChangeButton names what the last button of a change does.
func ChangeButton(kind gym.ChangeKind) string {
	switch kind {
	case gym.Moved:
		return "Move the meeting"
	case gym.Cancelled:
		return "Cancel the meeting"
	case gym.Restored:
		return "Put the meeting back"
	default:
		return "Add the meeting"
	}
}

// ChangedSentence says what was done to a meeting.
func ChangedSentence(kind gym.ChangeKind, replanned int) string {
	said := "Added."
	switch kind {
	case gym.Moved:
		said = "Moved."
	case gym.Cancelled:
		said = "Cancelled."
	case gym.Restored:
		said = "Put back."
	}
	if replanned > 0 {
		said += " " + part.Count(replanned, "plan was", "plans were") + " made again for the new day."
	}
	return said
}

// SpanSentence says what was done to a term or a holiday.
func SpanSentence(name string, removed bool) string {
	if removed {
		return name + " is removed."
	}
	return name + " is kept."
}

// LongMoment writes a moment on the gym's clock: "Wed 4 Nov 2026, 17:05".
func LongMoment(at time.Time, zone *time.Location) string { return longMoment(at, zone) }
