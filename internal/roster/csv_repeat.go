package roster

import (
	"fmt"
	"slices"
)

// identity tells people apart: the same name and birth year is the same person.
type identity struct {
	key  string // NameKey
	year int    // 0: not given
}

// A finder leads from a person to the index of the row about them.
type finder map[identity]int

// add takes in the row read from l, or joins it with an earlier row about the
// same person.
func (p *Preview) add(row Row, l line, found finder) {
	id := identity{NameKey(row.Name), row.BirthYear}
	i, again := found[id]
	if !again {
		found[id] = len(p.Rows)
		p.Rows = append(p.Rows, row)
		return
	}
	earlier := &p.Rows[i]
	if other := earlier.conflict(row); other != "" {
		p.Problems = append(p.Problems, l.problem(fmt.Sprintf(
			"Line %d has the same name and birth year with another %s. Keep one of the two lines.", earlier.Line, other)))
		return
	}
	sentence := fmt.Sprintf("Line %d has the same name and birth year. This line adds nothing.", earlier.Line)
	if earlier.join(row) {
		sentence = fmt.Sprintf("Line %d has the same name and birth year. The two lines are read as one person.", earlier.Line)
	}
	p.Repeats = append(p.Repeats, l.problem(sentence))
}

// shared returns the values of which a person has one, beside what they are.
func (r *Row) shared() ([]*string, []column) {
	return []*string{&r.SortName, &r.PIN, &r.Lang, &r.Rope}, []column{sortColumn, pinColumn, langColumn, ropeColumn}
}

// conflict returns what r and other, of the same person, say differently.
func (r *Row) conflict(other Row) column {
	mine, names := r.shared()
	theirs, _ := other.shared()
	for i := range mine {
		if *mine[i] != "" && *theirs[i] != "" && *mine[i] != *theirs[i] {
			return names[i]
		}
	}
	return ""
}

// join fills the gaps of r from other and reports whether there was one.
func (r *Row) join(other Row) (changed bool) {
	mine, _ := r.shared()
	theirs, _ := other.shared()
	for i := range mine {
		if *mine[i] == "" && *theirs[i] != "" {
			*mine[i] = *theirs[i]
			changed = true
		}
	}
	for _, c := range other.Classes {
		if !slices.ContainsFunc(r.Classes, func(mine string) bool { return NameKey(mine) == NameKey(c) }) {
			r.Classes = append(r.Classes, c)
			changed = true
		}
	}
	return changed
}
