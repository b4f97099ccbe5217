package calendar

import (
	"slices"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// An Edit returns a year as it would be after a change; it leaves the one it is
// given as it was.
type Edit func(Year) Year

// SetTerm adds a term, or changes the one with its id.
func SetTerm(t gym.Term) Edit {
	return func(y Year) Year {
		y = DropTerm(t.TermID)(y)
		y.Terms = append(y.Terms, t)
		return y
	}
}

// DropTerm leaves a term out.
func DropTerm(id uuid.UUID) Edit {
	return func(y Year) Year {
		y.Terms = without(y.Terms, func(t gym.Term) bool { return t.TermID == id })
		return y
	}
}

// SetHoliday adds a holiday, or changes the one with its id.
func SetHoliday(h gym.Holiday) Edit {
	return func(y Year) Year {
		y = DropHoliday(h.HolidayID)(y)
		y.Holidays = append(y.Holidays, h)
		return y
	}
}

// DropHoliday leaves a holiday out.
func DropHoliday(id uuid.UUID) Edit {
	return func(y Year) Year {
		y.Holidays = without(y.Holidays, func(h gym.Holiday) bool { return h.HolidayID == id })
		return y
	}
}

// SetTimes gives a class other weekly times.
func SetTimes(class uuid.UUID, times []gym.ClassTime) Edit {
	return func(y Year) Year {
		y.Times = append(without(y.Times, func(t gym.ClassTime) bool { return t.ClassID == class }), times...)
		return y
	}
}

// AddChanges puts changes of meetings on top of the others.
func AddChanges(changes ...gym.MeetingChange) Edit {
	return func(y Year) Year {
		y.Changes = append(slices.Clone(y.Changes), changes...)
		return y
	}
}

// without returns a fresh slice, so that the year it came from stays as it was.
func without[T any](all []T, out func(T) bool) []T {
	return slices.DeleteFunc(slices.Clone(all), out)
}
