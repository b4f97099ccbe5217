package server

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"ropewalk.example/internal/gym"
)

// mostTrips bounds how often any page goes to the database: the sign-in, what
// the page reads, and where a page is made of two questions or is logged as
// looked at, a few more.
const mostTrips = 6

// accountTrips are those of the one page that is about a person beyond any gym,
// and asks one thing after the other.
const accountTrips = 9

// tripsOfEveryPage asks for every page of a gym of so many athletes, as the
// first role that may see it.
func tripsOfEveryPage(t *testing.T, athletes int) map[string]int64 {
	var names []string
	for n := range athletes {
		names = append(names, fmt.Sprintf("Athlete %d", n))
	}
	h := newHall(t, names...)
	for n := 1; n < athletes; n++ {
		h.counted(n, "base", 100+n, 60, 7)
		h.counted(n, "burst", 30, 10, 7)
	}
	ids, roles, program := h.belongings(), h.everyRole(), h.program(h.token())
	trips := map[string]int64{}
	for _, route := range routesOf(t, h.site) {
		method, pattern, _ := strings.Cut(route, " ")
		if method != http.MethodGet || slices.Contains(absent, route) {
			continue
		}
		b := program
		if !strings.HasPrefix(pattern, "/api/v1/") {
			i := slices.IndexFunc(rules[route], func(r gym.Role) bool { return r != "" })
			if i < 0 {
				continue // only for who is half in
			}
			b = roles[rules[route][i]]
		}
		path := addressed(t, pattern, ids)
		b.get(path) // warm: some pages note that somebody has looked
		before := h.trips.Load()
		a := b.get(path)
		trips[route] = h.trips.Load() - before
		if a.Code != http.StatusOK && a.Code != http.StatusSeeOther {
			t.Errorf("%s: status %d", route, a.Code)
		}
	}
	return trips
}

// No page's trips to the database grow with the class, and none takes many.
func TestRoundTripsOfEveryPage(t *testing.T) {
	few, many := tripsOfEveryPage(t, 2), tripsOfEveryPage(t, 14)
	if len(few) < 60 {
		t.Errorf("only %d pages were asked for", len(few))
	}
	for route, trips := range few {
		if many[route] != trips {
			t.Errorf("%s: %d round trips for 2 athletes, %d for 14", route, trips, many[route])
		}
		most := int64(mostTrips)
		if route == "GET /account" {
			most = accountTrips
		}
		if trips > most {
			t.Errorf("%s: %d round trips, at most %d are wanted", route, trips, most)
		}
	}
}
