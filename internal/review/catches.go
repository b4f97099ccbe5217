package review

import (
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
)

// Catches say where the rope stopped, and when against the jump, as coaches and
// athletes noted it.
type Catches struct {
	Total int
	Rows  []CatchRow // every spot that was noted, from the feet up
}

// A CatchRow is one spot with how its catches fall on timings.
type CatchRow struct {
	Spot                       ladder.Spot
	Early, InTime, Late, Other int // Other: nobody noticed when
}

// Total returns the catches at the spot.
func (r CatchRow) Total() int { return r.Early + r.InTime + r.Late + r.Other }

func (g Ground) catchesOf(notes []gym.CatchNote) Catches {
	rows := map[ladder.Spot]*CatchRow{}
	var c Catches
	for _, n := range notes {
		if n.Spot == "" || n.Day.Before(g.Term.StartsOn) || n.Day.After(g.AsOf) {
			continue
		}
		spot := ladder.Spot(n.Spot)
		if rows[spot] == nil {
			rows[spot] = &CatchRow{Spot: spot}
		}
		row := rows[spot]
		switch ladder.Timing(n.Timing) {
		case ladder.Early:
			row.Early++
		case ladder.InTime:
			row.InTime++
		case ladder.Late:
			row.Late++
		default:
			row.Other++
		}
		c.Total++
	}
	for _, spot := range ladder.Spots() {
		if row := rows[spot]; row != nil {
			c.Rows = append(c.Rows, *row)
		}
	}
	return c
}
