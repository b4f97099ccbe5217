package roster

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/language"
)

// longest names and labels, in characters.
const (
	longestName  = 120
	longestLabel = 60
)

// oldest is the greatest age that a birth year may mean, youngest the smallest.
const (
	oldest   = 110
	youngest = 2
)

// rowOf reads the cells of one record; faults are sentences.
func rowOf(cells map[column]string, year int) (row Row, faults []string) {
	note := func(fault string) {
		if fault != "" {
			faults = append(faults, fault)
		}
	}
	var fault string
	row.Name, fault = CleanName(wholeName(cells))
	note(fault)
	if sortName := clean(cells[sortColumn]); sortName != "" {
		row.SortName, fault = CleanName(sortName)
		note(fault)
	}
	row.BirthYear, fault = birthYear(cells[birthColumn], year)
	note(fault)
	row.PIN, fault = pin(cells[pinColumn])
	note(fault)
	row.Lang, fault = lang(cells[langColumn])
	note(fault)
	class, fault := label(cells[classColumn], classColumn)
	note(fault)
	if class != "" {
		row.Classes = []string{class}
	}
	row.Rope, fault = label(cells[ropeColumn], ropeColumn)
	note(fault)
	return row, faults
}

// wholeName returns the name column, or else first and last name in the order
// that their script writes them.
func wholeName(cells map[column]string) string {
	if name := cells[nameColumn]; clean(name) != "" {
		return name
	}
	given, family := clean(cells[givenColumn]), clean(cells[familyColumn])
	if familyFirst(given) && familyFirst(family) {
		return family + given
	}
	return given + " " + family
}

// familyFirst reports whether name is written in Chinese, Japanese or Korean
// letters alone.
func familyFirst(name string) bool {
	for _, r := range name {
		if !unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul) {
			return false
		}
	}
	return name != ""
}

// birthYear reads a year, or a date with its year in four digits, of which only
// the year is kept. An empty cell gives 0.
func birthYear(cell string, year int) (int, string) {
	cell = clean(cell)
	if cell == "" {
		return 0, ""
	}
	said := fmt.Sprintf("This line says “%s”.", cut(cell, 20))
	groups := strings.FieldsFunc(digits(cell), func(r rune) bool { return strings.ContainsRune("-/.: T", r) })
	born := 0
	for _, group := range groups {
		n, err := strconv.Atoi(group)
		if err != nil || len(group) > 4 || len(group) == 3 || len(group) == 4 && born != 0 {
			born = 0
			break
		}
		if len(group) == 4 {
			born = n
		}
	}
	if born == 0 {
		return 0, "Birth year must be four digits, like 2013. " + said
	}
	if born < year-oldest || born > year-youngest {
		return 0, fmt.Sprintf("Birth year must be from %d to %d. %s", year-oldest, year-youngest, said)
	}
	return born, ""
}

// pin reads a PIN: four digits or nothing.
func pin(cell string) (string, string) {
	cell = digits(clean(cell))
	for _, r := range cell {
		if r < '0' || r > '9' {
			return "", fmt.Sprintf("A PIN is four digits, like 4827. This line says “%s”.", cut(cell, 20))
		}
	}
	switch len(cell) {
	case 0, 4:
		return cell, ""
	case 1, 2, 3:
		return "", fmt.Sprintf("A PIN is four digits. This line says “%s”; a spreadsheet may have dropped a 0 in front.", cell)
	}
	return "", fmt.Sprintf("A PIN is four digits, like 4827. This line says “%s”.", cut(cell, 20))
}

// lang reads a language code.
func lang(cell string) (string, string) {
	cell = clean(cell)
	if cell == "" {
		return "", ""
	}
	tag, err := language.Parse(cell)
	if err != nil {
		return "", fmt.Sprintf("Language must be a code, like ar or pl. This line says “%s”.", cut(cell, 20))
	}
	if tag == language.Und {
		return "", ""
	}
	return tag.String(), ""
}

// label reads the name of a class or rope.
func label(cell string, c column) (string, string) {
	cell = clean(cell)
	if n := utf8.RuneCountInString(cell); n > longestLabel {
		return "", fmt.Sprintf("The %s has %d characters. Use %d or fewer.", c, n, longestLabel)
	}
	return cell, ""
}

// digits writes the decimal digits of every script in daily use as 0 to 9. Each
// range of the table starts with a zero.
func digits(s string) string {
	return strings.Map(func(r rune) rune {
		for _, set := range unicode.Nd.R16 {
			if rune(set.Lo) <= r && r <= rune(set.Hi) {
				return '0' + (r-rune(set.Lo))%10
			}
		}
		return r
	}, s)
}
