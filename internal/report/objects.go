package report

import (
	"iter"
	"math"
	"time"

	"ropewalk.example/internal/review"
)

// Objects yields an athlete's rows of one of Tables, by the keys of its columns,
// as programs read them: the same values as in the other formats.
func Objects(table int, a review.Athlete, f review.Facts) iter.Seq[map[string]any] {
	columns := Tables()[table].Columns
	return func(yield func(map[string]any) bool) {
		for _, r := range rowsOf(a, f)[table] {
			object := make(map[string]any, len(columns))
			for i, c := range columns {
				object[c.Key] = value(c.Kind, r[i])
			}
			if !yield(object) {
				return
			}
		}
	}
}

// value is a cell as JSON has it.
func value(kind Kind, v any) any {
	switch v := v.(type) {
	case time.Time:
		return v.Format(time.DateOnly)
	case float64:
		if kind == Whole {
			return int(math.Round(v))
		}
		return math.Round(v*1e4)/1e4 + 0 // no minus zero
	default:
		return v
	}
}
