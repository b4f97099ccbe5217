package roster

import (
	"encoding/csv"
	"errors"
	"strings"
	"unicode"

	"ropewalk.example/internal/problem"
)

// A column is what the values under one heading mean.
type column string

// The columns that are read.
const (
	unread       column = ""
	nameColumn   column = "name"
	givenColumn  column = "first name"
	familyColumn column = "last name"
	sortColumn   column = "sort name"
	birthColumn  column = "birth year"
	pinColumn    column = "PIN"
	langColumn   column = "language"
	classColumn  column = "class"
	ropeColumn   column = "rope"
)

// columnOf returns what a heading means. Case, spaces and marks do not count.
func columnOf(heading string) column {
	letters := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) {
			return r
		}
		return -1
	}, NameKey(heading))
	switch letters {
	case "name", "names", "fullname", "athlete", "athletes", "athletename", "jumper":
		return nameColumn
	case "firstname", "givenname", "forename", "first", "given":
		return givenColumn
	case "lastname", "familyname", "surname", "last", "family":
		return familyColumn
	case "sortname", "sortkey", "sortas":
		return sortColumn
	case "birthyear", "yearofbirth", "born", "year", "dateofbirth", "birthdate", "birthday", "dob":
		return birthColumn
	case "pin", "pincode":
		return pinColumn
	case "language", "languagecode", "lang":
		return langColumn
	case "class", "classes", "classname", "group":
		return classColumn
	case "rope", "usualrope", "ropelabel":
		return ropeColumn
	}
	return unread
}

// A layout is how a file writes its rows.
type layout struct {
	comma    rune     // between the values; 0: names alone, one a line, some with a birth year
	headings []string // as written
	columns  []column // beside headings
}

// layoutOf finds the layout from the first line and returns it with the lines
// of athletes.
func layoutOf(lines []line) (layout, []line, error) {
	if declaresComma(lines[0].text) && len(lines) > 1 {
		lines = lines[1:]
	}
	best, most := layout{}, 0
	for _, comma := range commas() {
		headings, err := fields(lines[0].text, comma)
		if err != nil {
			continue
		}
		if l := headed(headings, comma); l.known() > most {
			best, most = l, l.known()
		}
	}
	if most > 0 {
		return best, lines[1:], best.check()
	}
	if comma := holdsComma(lines[0].text); comma != 0 && !nameAndYear(lines[0].text, comma) {
		return layout{}, nil, problem.New(problem.Invalid,
			"The first line does not name the columns. Start the file with a line such as: name,birth year,PIN")
	}
	return layout{columns: []column{nameColumn, birthColumn}}, lines, nil
}

// nameAndYear reports whether text is a name, a comma and what looks like a
// birth year.
func nameAndYear(text string, comma rune) bool {
	values, err := fields(text, comma)
	if err != nil || len(values) != 2 {
		return false
	}
	year := strings.TrimRight(digits(clean(values[1])), "0123456789-/.")
	return year == "" && clean(values[1]) != ""
}

// commas lists what may stand between values.
func commas() []rune { return []rune{',', ';', '\t'} }

// declaresComma knows the line "sep=;" that some spreadsheet programs put first.
// The heading shows the same, so it is not needed.
func declaresComma(text string) bool {
	rest, found := strings.CutPrefix(strings.ToLower(text), "sep=")
	return found && len(rest) == 1
}

// headed returns the layout under the given headings.
func headed(headings []string, comma rune) layout {
	l := layout{comma: comma}
	for _, h := range headings {
		h = clean(h)
		l.headings = append(l.headings, h)
		l.columns = append(l.columns, columnOf(h))
	}
	return l
}

// known counts the columns that are read.
func (l layout) known() int {
	n := 0
	for _, c := range l.columns {
		if c != unread {
			n++
		}
	}
	return n
}

// ignored returns the headings of the columns that are not read.
func (l layout) ignored() []string {
	var names []string
	for i, h := range l.headings {
		if l.columns[i] == unread && h != "" {
			names = append(names, h)
		}
	}
	return names
}

// check finds columns that are missing or there twice.
func (l layout) check() error {
	seen := map[column]string{}
	for i, c := range l.columns {
		if c == unread {
			continue
		}
		if other, twice := seen[c]; twice {
			return problem.New(problem.Invalid, "The columns “%s” and “%s” are both read as the %s. Keep one of them.", other, l.headings[i], c)
		}
		seen[c] = l.headings[i]
	}
	if seen[nameColumn] == "" && seen[givenColumn] == "" && seen[familyColumn] == "" {
		return problem.New(problem.Invalid, "No column holds the names. Write “name” at the top of that column.")
	}
	return nil
}

// cells returns the values by column.
func (l layout) cells(values []string) map[column]string {
	cells := map[column]string{}
	for i, v := range values[:min(len(values), len(l.columns))] {
		if c := l.columns[i]; c != unread {
			cells[c] = unguard(v)
		}
	}
	return cells
}

// fields splits one line into values as encoding/csv does, and in addition takes
// pairs of quote marks inside a value, as in: Bo "Ace" Li.
func fields(text string, comma rune) ([]string, error) {
	values, err := reader(text, comma).Read()
	if errors.Is(err, csv.ErrBareQuote) && strings.Count(text, `"`)%2 == 0 {
		lazy := reader(text, comma)
		lazy.LazyQuotes = true
		return lazy.Read()
	}
	return values, err
}

// reader returns a reader of records with any number of values.
func reader(text string, comma rune) *csv.Reader {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = comma
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = comma != '\t' // which is itself a space
	return r
}

// holdsComma returns the first of commas that splits text, or 0.
func holdsComma(text string) rune {
	for _, comma := range commas() {
		if values, err := fields(text, comma); err == nil && len(values) > 1 {
			return comma
		}
	}
	return 0
}
