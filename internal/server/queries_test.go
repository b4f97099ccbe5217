package server

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// How often a page goes to the database must not grow with the class.
func TestRoundTripsDoNotGrowWithTheClass(t *testing.T) {
	count := func(names int) map[string]int64 {
		h := newHall(t)
		for n := range names {
			h.addAthletes(fmt.Sprintf("Athlete %d", n))
			h.counted(n, "base", 100+n, 60, 7)
			h.counted(n, "burst", 30, 10, 7)
		}
		h.plan("2026-11-05")
		h.now = h.now.Add(36 * time.Hour)
		coach, jumper := h.as(h.coach), h.as(h.jumper(0))
		trips := map[string]int64{}
		for path, b := range map[string]*browser{
			"/today": coach, "/classes": coach, h.path(""): coach, h.path("/tests"): coach, h.path("/odd"): coach, h.path("/cards"): coach,
			h.path("/plans?day=2026-11-05"): coach, "/athletes": coach, "/athletes/" + h.athletes[0].AthleteID.String(): coach,
			"/me": jumper, "/me/rates": jumper, "/me/result": jumper, "/me/debrief": jumper,
		} {
			b.get(path).is(200) // warm: statements are prepared once
			before := h.trips.Load()
			b.get(path).is(200)
			trips[parameterless(h, path)] = h.trips.Load() - before
		}
		before := h.trips.Load()
		coach.post(h.path("/plans"), form("day", "2026-11-12", "minutes", "20", "do", "make")).is(303)
		trips["making plans"] = h.trips.Load() - before
		return trips
	}
	few, many := count(2), count(25)
	for page, trips := range few {
		if many[page] != trips {
			t.Errorf("%s: %d round trips for 2 athletes, %d for 25", page, trips, many[page])
		}
		if most := int64(5); page != "making plans" && trips > most {
			t.Errorf("%s: %d round trips, at most %d are wanted", page, trips, most)
		}
	}
}

// parameterless names a page alike in every hall.
func parameterless(h *hall, path string) string {
	return strings.NewReplacer(h.class.String(), "…", h.athletes[0].AthleteID.String(), "…").Replace(path)
}
