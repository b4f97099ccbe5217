package gym

import (
	"time"

	"github.com/google/uuid"
)

// NextMeeting returns the first day, as midnight UTC, on which a class meets
// and has not ended by now, which is on the gym's clock. Holidays are left out.
// A class without weekly times, or none within a year, meets on now's day.
func NextMeeting(now time.Time, class uuid.UUID, times []ClassTime, holidays []Holiday) time.Time {
	today := DayIn(now, now.Location())
	sinceMidnight := time.Duration(now.Hour())*time.Hour + time.Duration(now.Minute())*time.Minute
	for ahead := range 366 {
		day := today.AddDate(0, 0, ahead)
		if onHoliday(day, holidays) {
			continue
		}
		for _, t := range times {
			if t.ClassID != class || t.Weekday != isoWeekday(day) {
				continue
			}
			if ahead > 0 || t.StartsAt+time.Duration(t.Minutes)*time.Minute > sinceMidnight {
				return day
			}
		}
	}
	return today
}

func onHoliday(day time.Time, holidays []Holiday) bool {
	for _, h := range holidays {
		if !day.Before(h.StartsOn) && !day.After(h.EndsOn) {
			return true
		}
	}
	return false
}

// isoWeekday returns 1 for Monday to 7 for Sunday.
func isoWeekday(day time.Time) int { return (int(day.Weekday())+6)%7 + 1 }
