package calendar

import (
	"fmt"
	"time"

	ics "github.com/arran4/golang-ical"
)

// wallClock is how RFC 5545, section 3.3.5, form 3 writes a local time.
const wallClock = "20060102T150405"

// explain puts the zone's rules into the calendar, as RFC 5545, section 3.6.5
// asks for each zone that a file names: one observance for each change of clocks
// from the first entry to the last.
func explain(cal *ics.Calendar, zone *time.Location, entries []Entry) {
	if len(entries) == 0 {
		return
	}
	first, last := entries[0].Starts, entries[0].Ends
	for _, e := range entries {
		if e.Starts.Before(first) {
			first = e.Starts
		}
		if e.Ends.After(last) {
			last = e.Ends
		}
	}
	rules := cal.AddTimezone(zone.String())
	for at := first.In(zone); ; {
		start, end := at.ZoneBounds()
		observe(rules, at, start)
		if end.IsZero() || end.After(last) {
			return
		}
		at = end
	}
}

// observe adds the offset that holds at a moment, which began at start. The zero
// start is one that always held.
func observe(rules *ics.VTimezone, at, start time.Time) {
	abbreviation, offset := at.Zone()
	before := offset
	if start.IsZero() {
		start = time.Date(1970, time.January, 1, 0, 0, 0, 0, at.Location())
	} else {
		_, before = start.Add(-time.Second).Zone()
	}
	var o interface {
		SetProperty(property ics.ComponentProperty, value string, params ...ics.PropertyParameter)
	}
	if at.IsDST() {
		daylight := &ics.Daylight{}
		rules.Components = append(rules.Components, daylight)
		o = daylight
	} else {
		o = rules.AddStandard()
	}
	// The clock showed the old offset when it changed.
	onset := start.In(time.FixedZone("", before))
	o.SetProperty(ics.ComponentPropertyDtStart, onset.Format(wallClock))
	o.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetfrom), offsetText(before))
	o.SetProperty(ics.ComponentProperty(ics.PropertyTzoffsetto), offsetText(offset))
	o.SetProperty(ics.ComponentProperty(ics.PropertyTzname), abbreviation)
}

// offsetText writes seconds east of UTC as RFC 5545, section 3.3.14 does:
// "+0100".
func offsetText(seconds int) string {
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	return fmt.Sprintf("%c%02d%02d", sign, seconds/3600, seconds/60%60)
}
