// Package page holds the pages, one file per thing that people do, each with
// the values it shows. Pages format and never compute. It imports package
// part, the nouns of package gym and the result types of the pure packages.
package page

import (
	"slices"

	"ropewalk.example/web/part"
)

// Messages are the messages of a form by field; "" belongs to the whole form.
type Messages map[string]string

// summary lists the messages for the top of the page, in the fields' order.
func (m Messages) summary(order ...string) []part.FieldError {
	var lines []part.FieldError
	if text := m[""]; text != "" {
		lines = append(lines, part.FieldError{Text: text})
	}
	for _, field := range order {
		if text := m[field]; text != "" {
			lines = append(lines, part.FieldError{Field: field, Text: text})
		}
	}
	var rest []string
	for field := range m {
		if field != "" && !slices.Contains(order, field) {
			rest = append(rest, field)
		}
	}
	slices.Sort(rest)
	for _, field := range rest {
		lines = append(lines, part.FieldError{Field: field, Text: m[field]})
	}
	return lines
}
