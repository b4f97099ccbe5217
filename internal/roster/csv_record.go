package roster

import (
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
)

// tallest is how many lines a quoted value of an unread column may run over.
const tallest = 12

// record returns the values of the record that starts at lines[0] and how many
// lines it takes, or what is wrong with that line, which is then taken alone.
func (l layout) record(lines []line) (values []string, taken int, fault string) {
	if l.comma == 0 {
		values, fault = nameAlone(lines[0].text)
		return values, 1, fault
	}
	values, err := fields(lines[0].text, l.comma)
	taken = 1
	if errors.Is(err, csv.ErrQuote) {
		values, taken, err = l.tall(lines)
	}
	if err != nil {
		return nil, 1, "A quote mark is out of place. Take it out, or put one at each end of the value."
	}
	for len(values) > len(l.columns) && strings.TrimSpace(values[len(values)-1]) == "" {
		values = values[:len(values)-1]
	}
	if len(values) > len(l.columns) {
		return nil, taken, fmt.Sprintf("This line has %d values for %d columns. Put quote marks around a value that holds a %s.",
			len(values), len(l.columns), commaWord(l.comma))
	}
	return values, taken, ""
}

// tall reads a record with a quoted value that runs over several lines: only in
// a column that is not read, and never over a line that is a record by itself.
// If there is no such record the error is [csv.ErrQuote].
func (l layout) tall(lines []line) (values []string, taken int, err error) {
	text := lines[0].text
	for i := 1; i < min(tallest, len(lines)); i++ {
		if alone, err := fields(lines[i].text, l.comma); err == nil && len(alone) == len(l.columns) {
			break
		}
		text += "\n" + lines[i].text
		values, err := reader(text, l.comma).Read()
		if err != nil {
			continue
		}
		for _, read := range l.cells(values) {
			if strings.Contains(read, "\n") {
				return nil, 1, csv.ErrQuote
			}
		}
		return values, i + 1, nil
	}
	return nil, 1, csv.ErrQuote
}

// nameAlone reads a line of a file without a heading: a name, perhaps with a
// birth year.
func nameAlone(text string) (values []string, fault string) {
	comma := holdsComma(text)
	if comma != 0 && !nameAndYear(text, comma) {
		return nil, fmt.Sprintf("This line holds a %s, but no heading names the columns. Write only the name, or a birth year after it.", commaWord(comma))
	}
	values, err := fields(text, cmp.Or(comma, ','))
	if err != nil {
		return nil, "A quote mark is out of place. Take it out, or put one at each end of the name."
	}
	return values, ""
}

func commaWord(comma rune) string {
	switch comma {
	case ';':
		return "semicolon"
	case '\t':
		return "tab"
	default:
		return "comma"
	}
}
