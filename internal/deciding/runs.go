package deciding

import "iter"

// runs yields the stretches of rows that have one key, which stand together.
func runs[T any, K comparable](rows []T, key func(T) K) iter.Seq[[]T] {
	return func(yield func([]T) bool) {
		for start := 0; start < len(rows); {
			end := start + 1
			for end < len(rows) && key(rows[end]) == key(rows[start]) {
				end++
			}
			if !yield(rows[start:end:end]) {
				return
			}
			start = end
		}
	}
}
