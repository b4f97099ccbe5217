package bench

import (
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"
)

// A Row is one line of the table: what the program took or did, what the other
// did, and whether the ratio is good enough.
type Row struct {
	Work       string
	Ours       string
	Baseline   string
	Ratio      float64 // NaN: there is none
	Spread     string  // of the ratio over the rounds
	Goal       string
	Met        bool
	Remark     string
	Unasserted bool // told for the reader, without a goal
}

func printTable(w io.Writer, rows []Row) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "work\tours\tbaseline\tratio\tspread\tgoal\t")
	for _, r := range rows {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", r.Work, r.Ours, r.Baseline, r.ratio(), r.Spread, r.Goal, r.verdict())
	}
	return t.Flush()
}

func (r Row) ratio() string {
	if math.IsNaN(r.Ratio) || r.Ratio == 0 {
		return "–"
	}
	return fmt.Sprintf("%.2f", r.Ratio)
}

func (r Row) verdict() string {
	switch {
	case r.Unasserted:
		return ""
	case r.Met:
		return "met"
	default:
		return "not met"
	}
}

// median is the middle of figures, which are not empty.
func median(figures []float64) float64 {
	sorted := slices.Sorted(slices.Values(figures))
	if n := len(sorted); n%2 == 0 {
		return (sorted[n/2-1] + sorted[n/2]) / 2
	}
	return sorted[len(sorted)/2]
}

// spread tells the smallest and the largest of figures.
func spread(figures []float64) string {
	return fmt.Sprintf("%.2f–%.2f", slices.Min(figures), slices.Max(figures))
}

// ratios divides the figures of each round.
func ratios(ours, theirs []float64) []float64 {
	list := make([]float64, len(ours))
	for i := range ours {
		list[i] = ours[i] / theirs[i]
	}
	return list
}
