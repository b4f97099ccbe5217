package calc

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// decode reads text, which must be one JSON object and nothing else, into the
// struct that q points to. Keys are case-sensitive, known and given once.
func decode(text []byte, q any) error {
	text = bytes.TrimPrefix(text, []byte("\ufeff")) // spreadsheets put it there
	trimmed := bytes.TrimSpace(text)
	switch {
	case len(trimmed) == 0:
		return wrong("input", "it is empty; give one JSON object")
	case trimmed[0] != '{':
		return wrong("input", "give one JSON object, in braces")
	}
	err := json.Unmarshal(text, q, json.RejectUnknownMembers(true))
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*Error](err); ok {
		return e
	}
	if e, ok := errors.AsType[*json.SemanticError](err); ok {
		return wrong(path(e.JSONPointer), "%s", semantic(e))
	}
	if e, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		return wrong(path(e.JSONPointer), "%s", syntactic(e))
	}
	return wrong("input", "%s", err)
}

func semantic(e *json.SemanticError) string {
	switch {
	case errors.Is(e.Err, json.ErrUnknownName):
		return "there is no such field"
	case errors.Is(e.Err, errNoNumber):
		return "give a number"
	case errors.Is(e.Err, errTooLarge) || e.Err != nil && e.JSONKind == '0':
		return "the number is out of range"
	case e.GoType == nil:
		return "this is not of the right kind"
	}
	return fmt.Sprintf("give %s", kindOf(e.GoType.Kind().String()))
}

func syntactic(e *jsontext.SyntacticError) string {
	if errors.Is(e.Err, jsontext.ErrDuplicateName) {
		return "it is given twice"
	}
	return fmt.Sprintf("this is not JSON: %v at byte %d", e.Err, e.ByteOffset)
}

// kindOf names in JSON's words what a Go kind wants.
func kindOf(kind string) string {
	switch kind {
	case "slice":
		return "a list"
	case "struct":
		return "an object"
	case "bool":
		return "true or false"
	case "string":
		return "a text"
	default:
		return "a number"
	}
}

// path writes a JSON pointer as people do: /tests/1/seconds as tests[1].seconds.
func path(p jsontext.Pointer) string {
	var b strings.Builder
	for token := range p.Tokens() {
		switch {
		case token != "" && strings.Trim(token, "0123456789") == "":
			fmt.Fprintf(&b, "[%s]", token)
		case b.Len() == 0:
			b.WriteString(printable(token))
		default:
			b.WriteString("." + printable(token))
		}
	}
	if b.Len() == 0 {
		return "input"
	}
	return b.String()
}

// printable returns a key as it is, quoted if it would not show as one word.
func printable(key string) string {
	if key == "" || strings.ContainsFunc(key, func(r rune) bool { return !unicode.IsGraphic(r) || unicode.IsSpace(r) }) {
		return strconv.Quote(key)
	}
	return key
}

// Why a value is not taken as a number. largest keeps squares and sums of
// squares within what can be computed with.
var (
	errNoNumber = errors.New("not a number")
	errTooLarge = errors.New("too large a number")
)

const largest = 1e100

// A number is a JSON number that must be given: null and absence are told apart
// from 0.
type number struct {
	value float64
	given bool
}

// UnmarshalJSONFrom implements [json.UnmarshalerFrom].
func (n *number) UnmarshalJSONFrom(d *jsontext.Decoder) error {
	if d.PeekKind() != '0' {
		return errNoNumber
	}
	if err := json.UnmarshalDecode(d, &n.value); err != nil {
		return err
	}
	if math.Abs(n.value) > largest {
		return errTooLarge
	}
	n.given = true
	return nil
}

// or returns the number, or value where none was given.
func (n *number) or(value float64) float64 {
	if n == nil {
		return value
	}
	return n.value
}

// A checker keeps the first thing that is wrong with the fields it is shown.
// While of is set, the fields are those of element index of that list.
type checker struct {
	err   error
	of    string
	index int
}

// element makes the fields that follow those of one element of a list.
func (c *checker) element(list string, index int) { c.of, c.index = list, index }

// wrong notes what is wrong with a field, unless something was before.
func (c *checker) wrong(field, format string, args ...any) {
	switch {
	case c.err != nil:
		return
	case c.of == "":
		c.err = wrong(field, format, args...)
	case field == "":
		c.err = wrong(at(c.of, c.index), format, args...)
	default:
		c.err = wrong(at(c.of, c.index)+"."+field, format, args...)
	}
}

// number returns the value of a field that must be given and hold.
func (c *checker) number(field string, n number, holds func(float64) bool, want string) float64 {
	if !(n.given && holds(n.value)) {
		c.wrong(field, "give a number%s", want)
	}
	return n.value
}

func (c *checker) positive(field string, n number) float64 {
	return c.number(field, n, func(v float64) bool { return v > 0 }, " above 0")
}

func (c *checker) notNegative(field string, n number) float64 {
	return c.number(field, n, func(v float64) bool { return v >= 0 }, " of 0 or more")
}

// whole returns the value of a field that must be a whole number from low to
// high.
func (c *checker) whole(field string, n number, low, high int) int {
	if !n.given || n.value != math.Trunc(n.value) || n.value < float64(low) || n.value > float64(high) {
		c.wrong(field, "give a whole number from %d to %d", low, high)
		return low
	}
	return int(n.value)
}

// confidence returns a share between 0 and 1, 0.95 unless given.
func (c *checker) confidence(n *number) float64 {
	share := n.or(0.95)
	if !(share > 0 && share < 1) {
		c.wrong("confidence", "give a number between 0 and 1")
	}
	return share
}

// list returns the values of a list that must hold at least one number.
func (c *checker) list(field string, numbers []number) []float64 {
	if len(numbers) == 0 {
		c.wrong(field, "give a list of at least one number")
	}
	values := make([]float64, len(numbers))
	for i, n := range numbers {
		values[i] = n.value
	}
	return values
}

// pairs returns two lists of the same length.
func (c *checker) pairs(first string, a []number, second string, b []number) (x, y []float64) {
	x, y = c.list(first, a), c.list(second, b)
	if len(x) != len(y) {
		c.wrong(second, "give as many numbers as in %s", first)
	}
	return x, y
}

// defined returns v for printing, null if it is undefined.
func defined(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// at names element i of a list.
func at(list string, i int) string { return fmt.Sprintf("%s[%d]", list, i) }
