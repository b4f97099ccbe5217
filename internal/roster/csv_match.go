package roster

import (
	"fmt"
	"slices"

	"github.com/google/uuid"
)

// Known is an athlete whom the gym has.
type Known struct {
	ID        uuid.UUID // uuid.Nil: not kept yet, from an earlier line of the file
	Name      string
	BirthYear int // 0: unknown
	Line      int // of the file, for those not kept yet; else 0
}

// Verdict says what to do with a row.
type Verdict int

// What to do with a row.
const (
	New  Verdict = iota // nobody here is this person
	Same                // here already; adding nothing is right
	Ask                 // may be somebody here: a person decides
)

// Match is a row beside those of the same name.
type Match struct {
	Row      Row
	Verdict  Verdict
	Known    Known   // who it is, if Same; who it may be, if Ask
	Like     []Known // those of the same name, if New or Ask; Known first
	Sentence string  // what to do, if Ask; a remark, if New and Like is not empty
}

// Match compares the rows with the athletes of the gym and with earlier rows.
// The same name and birth year is the same person, so that reading one file
// twice adds nothing. The same name with another birth year is another person.
// If one of the two has no birth year, nobody but a person can tell.
func (p Preview) Match(existing []Known) []Match {
	known := map[string][]Known{}
	for _, k := range existing {
		key := NameKey(k.Name)
		known[key] = append(known[key], k)
	}
	matches := make([]Match, 0, len(p.Rows))
	for _, row := range p.Rows {
		key := NameKey(row.Name)
		m := match(row, known[key])
		matches = append(matches, m)
		if m.Verdict != Same {
			known[key] = append(known[key], Known{Name: row.Name, BirthYear: row.BirthYear, Line: row.Line})
		}
	}
	return matches
}

// match compares row with those of the same name.
func match(row Row, like []Known) Match {
	if i := slices.IndexFunc(like, func(k Known) bool { return k.BirthYear == row.BirthYear }); i >= 0 {
		return Match{Row: row, Verdict: Same, Known: like[i]}
	}
	m := Match{Row: row, Like: slices.Clone(like)}
	if len(like) == 0 {
		return m
	}
	unsure := like[0]
	if row.BirthYear != 0 {
		i := slices.IndexFunc(like, func(k Known) bool { return k.BirthYear == 0 })
		if i < 0 {
			m.Sentence = fmt.Sprintf("Another %s %s. This line is read as a different person.", row.Name, unsure.where())
			return m
		}
		unsure = like[i]
		m.Like[0], m.Like[i] = m.Like[i], m.Like[0]
	}
	m.Verdict, m.Known = Ask, unsure
	m.Sentence = fmt.Sprintf("%s %s. Is this the same person? Birth years on both would tell.", unsure.Name, unsure.where())
	return m
}

// where says where a known athlete is found.
func (k Known) where() string {
	place := "is here already"
	if k.Line > 0 {
		place = fmt.Sprintf("is on line %d too", k.Line)
	}
	if k.BirthYear > 0 {
		return fmt.Sprintf("%s, born %d", place, k.BirthYear)
	}
	return place + ", without a birth year"
}
