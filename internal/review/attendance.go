package review

import (
	"time"

	"ropewalk.example/internal/gym"
)

// An Attendance is which meetings an athlete came to.
type Attendance struct {
	Meetings []Present // oldest first
	Here     int
	Noted    int // meetings for which somebody noted it
	Minutes  int // of the meetings come to
	Row      int // meetings missed in a row up to the last one
}

// Present says whether an athlete was at one meeting.
type Present struct {
	Day         time.Time
	Here, Noted bool
}

// Share returns the part of the noted meetings that the athlete came to, 0–1;
// 0 where none was noted.
func (a Attendance) Share() float64 {
	if a.Noted == 0 {
		return 0
	}
	return float64(a.Here) / float64(a.Noted)
}

func (g Ground) attendanceOf(meetings []gym.Meeting) Attendance {
	var a Attendance
	for _, m := range meetings {
		if m.Day.Before(g.Term.StartsOn) || m.Day.After(g.AsOf) {
			continue
		}
		p := Present{Day: m.Day, Noted: m.Here != nil}
		if p.Noted {
			a.Noted++
			p.Here = *m.Here
		}
		switch {
		case p.Here:
			a.Here++
			a.Minutes += m.Minutes
			a.Row = 0
		case p.Noted:
			a.Row++
		}
		a.Meetings = append(a.Meetings, p)
	}
	return a
}
