package part

import "math"

// Spots says how often something happened at each of some places and times: a
// dot for each pair, as large as the number it holds.
type Spots struct {
	ID      string
	Title   string
	Finding string
	Place   string // head of the table's first column
	Times   []string
	Rows    []SpotRow
}

// SpotRow is one place with a count for each time.
type SpotRow struct {
	Place  string
	Counts []int
}

const (
	spotRow  = 44.0
	spotSide = 96.0 // room for the places' names
	spotFoot = 44.0 // room for the times' names, in two lines
)

func (s Spots) height() float64 { return spotRow*float64(len(s.Rows)) + spotFoot }

func (s Spots) x(column int) float64 { return (float64(column) + 0.5) / float64(len(s.Times)) }

// left is where the room of a column begins.
func (s Spots) left(column int) float64 { return float64(column) / float64(len(s.Times)) }

func (s Spots) y(row int) float64 { return spotRow * (float64(row) + 0.5) }

// radius makes a dot's area its count.
func (s Spots) radius(count int) float64 {
	most := 1
	for _, row := range s.Rows {
		for _, n := range row.Counts {
			most = max(most, n)
		}
	}
	return 18 * math.Sqrt(float64(count)/float64(most))
}
