package ladder

import (
	"slices"
	"strconv"
	"strings"
)

// Copy returns a gym's own ladder to start from: l as version 1 of another.
func (l Ladder) Copy(key, name string) Ladder {
	l.Key, l.Name, l.Version = key, name, 1
	return l.Numbered()
}

// With returns l with s: instead of the stage with the same key, or if there is
// none as a new stage at place, from 1; beyond the end it comes last.
func (l Ladder) With(s Stage, place int) Ladder {
	l.Stages = slices.Clone(l.Stages)
	if i := l.index(s.Key); i >= 0 {
		l.Stages[i] = s
	} else {
		l.Stages = slices.Insert(l.Stages, within(place, len(l.Stages)+1), s)
	}
	return l.Numbered()
}

// Without returns l with the stage retired.
func (l Ladder) Without(stage string) Ladder {
	l.Stages = slices.DeleteFunc(slices.Clone(l.Stages), func(s Stage) bool { return s.Key == stage })
	return l.Numbered()
}

// Moved returns l with the stage at place, from 1; beyond the ends it comes first
// or last. A stage that l does not have moves nothing.
func (l Ladder) Moved(stage string, place int) Ladder {
	s, ok := l.Stage(stage)
	if !ok {
		return l.Numbered()
	}
	return l.Without(stage).With(s, place)
}

// within returns the index of place among n places.
func within(place, n int) int { return min(max(place, 1), n) - 1 }

// NewKey returns a key for a new stage called title that no stage of l has: the
// title's letters a to z and digits, or "stage" if it has none.
func (l Ladder) NewKey(title string) string {
	const room = 4 // letters for a number behind
	words := strings.FieldsFunc(strings.ToLower(title), func(c rune) bool {
		return (c < 'a' || c > 'z') && (c < '0' || c > '9')
	})
	base := strings.Join(words, "-")
	if len(base) > maxKey-room {
		base = strings.Trim(base[:maxKey-room], "-")
	}
	if base == "" {
		base = "stage"
	}
	key := base
	for n := 2; l.index(key) >= 0; n++ {
		key = base + "-" + strconv.Itoa(n)
	}
	return key
}
