package demo

import (
	"fmt"
	"slices"
	"time"
)

// Codes of the two classes.
const (
	starters = "TUE-CHALK"
	open     = "THU-CHALK"
)

// lastWeek and holidayWeek count from 1.
const (
	lastWeek    = 12
	holidayWeek = 8
)

// tallowmere returns the gym before any athlete has come.
func tallowmere(zone *time.Location) Gym {
	return Gym{
		Name:     "Tallowmere Rope Hall",
		Address:  "4 Quoin Yard, Tallowmere",
		Phone:    "020 7946 0142", // Ofcom keeps 020 7946 0000–0999 for drama (from memory)
		TimeZone: TimeZone,
		Surface:  "wood",
		Owner: Person{Name: "Desmond Achterberg-Nair", Email: "desmond@tallowmere.example",
			Role: "owner", Password: "quoin yard at noon"},
		Coaches: []Person{
			{Name: "Marit Okonjo-Lindqvist", Email: "marit@tallowmere.example", Role: "coach",
				Password: "twelve ropes on a rack", Classes: []string{starters, open}},
			{Name: "Pavel Quist", Email: "pavel@tallowmere.example", Role: "assistant",
				Password: "chalk line by the door", Classes: []string{starters, open}},
		},
		Terms:   []Term{autumn(zone)},
		Classes: classes(),
		Ropes:   ropes(),
	}
}

func autumn(zone *time.Location) Term {
	return Term{
		Name:     "Autumn 2026",
		StartsOn: day(1, time.Monday, zone),
		EndsOn:   day(lastWeek, time.Sunday, zone),

		HolidayName:       "Half-term holiday",
		HolidayFrom:       day(holidayWeek, time.Monday, zone),
		HolidayTo:         day(holidayWeek, time.Sunday, zone),
		WeeksWithSessions: weeks(),
	}
}

// weeks returns the weeks of the term in which classes meet.
func weeks() []int {
	var all []int
	for w := 1; w <= lastWeek; w++ {
		if w != holidayWeek {
			all = append(all, w)
		}
	}
	return all
}

// day returns midnight of a weekday in week w of the term, in zone.
func day(w int, weekday time.Weekday, zone *time.Location) time.Time {
	sinceMonday := (int(weekday) + 6) % 7
	return time.Date(2026, time.September, 7+7*(w-1)+sinceMonday, 0, 0, 0, 0, zone)
}

func classes() []Class {
	return []Class{
		{Code: starters, Name: "Tuesday Starters", Weekday: time.Tuesday, StartsAt: 17 * time.Hour,
			Minutes: 45, Ages: "11–14", RopeKinds: []string{"beaded", "cord"}},
		{Code: open, Name: "Thursday Open", Weekday: time.Thursday, StartsAt: 18*time.Hour + 30*time.Minute,
			Minutes: 60, Ages: "15 and over", RopeKinds: []string{"cloth", "beaded", "cord", "steel"}},
	}
}

// meets returns when the class starts in week w. The time of day is that of the
// wall clock, on both sides of the change from summer time.
func (c Class) meets(w int, zone *time.Location) time.Time {
	d := day(w, c.Weekday, zone)
	minutes := int(c.StartsAt / time.Minute)
	return time.Date(d.Year(), d.Month(), d.Day(), minutes/60, minutes%60, 0, 0, zone)
}

// Allows reports whether the class may use ropes of kind.
func (c Class) Allows(kind string) bool { return slices.Contains(c.RopeKinds, kind) }

// sessions returns the term's meetings in order of time.
func sessions(classes []Class, zone *time.Location) []Session {
	var all []Session
	for _, w := range weeks() {
		for _, c := range classes {
			all = append(all, Session{Class: c.Code, Week: w, StartsAt: c.meets(w, zone), Minutes: c.Minutes})
		}
	}
	return all
}

// ropes returns the rack: twenty ropes.
func ropes() []Rope {
	var rack []Rope
	hang := func(prefix, kind string, lengths ...float64) {
		for i, m := range lengths {
			rack = append(rack, Rope{Label: fmt.Sprintf("%s%d", prefix, i+1), Kind: kind, LengthM: m})
		}
	}
	hang("B", "beaded", 2.4, 2.4, 2.4, 2.6, 2.6, 2.6, 2.6, 2.8, 2.8, 2.8)
	hang("P", "cord", 2.6, 2.6, 2.8, 2.8, 3.0, 3.0)
	hang("C", "steel", 2.6, 2.8, 3.0)
	hang("K", "cloth", 2.8)
	for i := range rack {
		if rack[i].Kind == "steel" {
			rack[i].CheckedWeekly = true
			rack[i].Note = "Coated cable. Open area only, checked weekly."
		}
	}
	return rack
}
