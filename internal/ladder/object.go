package ladder

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A reader turns nodes into a ladder and notes every problem on the way.
type reader struct{ problems []Problem }

func (r *reader) problem(n node, format string, values ...any) {
	r.problems = append(r.problems, Problem{n.line, n.path, fmt.Sprintf(format, values...)})
}

// An object is a node whose fields are read by name. What names it in problems,
// with its article.
type object struct {
	*reader
	node
	what string
}

// object reads n as an object that has no fields but known ones, each once. If n
// is no object, that is a problem and the object is empty.
func (r *reader) object(n node, what string, known ...string) object {
	o := object{r, n, what}
	if n.kind != isObject {
		r.problem(n, "Here must be %s, in curly brackets.", what)
		o.fields = nil
		return o
	}
	seen := map[string]bool{}
	for _, f := range n.fields {
		at := node{line: f.line, path: n.path + "/" + f.name}
		switch {
		case seen[f.name]:
			r.problem(at, "%s is given twice. Keep one of them.", quote(f.name))
		case !slices.Contains(known, f.name):
			r.problem(at, "%s has no part called %s. Check the spelling or take it out.", capital(what), quote(f.name))
		}
		seen[f.name] = true
	}
	return o
}

// get returns the field called name, and whether it is there.
func (o object) get(name string) (node, bool) {
	for _, f := range o.fields {
		if f.name == name {
			return f.value, true
		}
	}
	return node{line: o.line, path: o.path + "/" + name}, false
}

// need is get, and a missing field is a problem.
func (o object) need(name string) (node, bool) {
	n, ok := o.get(name)
	if !ok && o.kind == isObject {
		o.problem(n, "%s needs %s. Add it.", capital(o.what), quote(name))
	}
	return n, ok
}

// text reads one line of at most most letters; if it must be there, need is set.
func (o object) text(name string, most int, need bool) string {
	n, ok := o.get(name)
	if need {
		n, ok = o.need(name)
	}
	if !ok {
		return ""
	}
	return o.line1(n, quote(name), most)
}

// line1 reads n as one line of text.
func (r *reader) line1(n node, name string, most int) string {
	switch {
	case n.kind != isText:
		r.problem(n, "%s must be text in quotes.", name)
	case strings.TrimSpace(n.text) == "":
		r.problem(n, "%s is empty. Write it, or take it out.", name)
	case utf8.RuneCountInString(n.text) > most:
		r.problem(n, "%s is too long. Use at most %d letters.", name, most)
	case strings.ContainsFunc(n.text, unicode.IsControl):
		r.problem(n, "%s must be one line, without tabs or line breaks.", name)
	default:
		return n.text
	}
	return ""
}

// key reads a key: small letters, digits and hyphens.
func (o object) key(name string, need bool) string {
	s := o.text(name, maxKey, need)
	if s == "" {
		return ""
	}
	if !isKey(s) {
		n, _ := o.get(name)
		o.problem(n, "%s must be small letters a to z, digits and single hyphens, like \"steady-minute\".", quote(name))
		return ""
	}
	return s
}

func isKey(s string) bool {
	for _, part := range strings.Split(s, "-") {
		if part == "" || strings.Trim(part, "abcdefghijklmnopqrstuvwxyz0123456789") != "" {
			return false
		}
	}
	return true
}

// choice reads one of the keys in among.
func (o object) choice(name string, among []string, need bool) string {
	n, ok := o.get(name)
	if need {
		n, ok = o.need(name)
	}
	if !ok {
		return ""
	}
	if n.kind != isText || !slices.Contains(among, n.text) {
		o.problem(n, "%s must be one of: %s.", quote(name), strings.Join(among, ", "))
		return ""
	}
	return n.text
}

// number reads a number from least to most, or returns other if it is not there.
func (o object) number(name string, least, most, other float64) float64 {
	n, ok := o.get(name)
	if !ok {
		return other
	}
	v, err := strconv.ParseFloat(n.text, 64)
	if n.kind != isNumber || err != nil || !(v >= least && v <= most) {
		o.problem(n, "%s must be a number from %s to %s.", quote(name), plain(least), plain(most))
		return other
	}
	return v
}

// whole is number for a whole number.
func (o object) whole(name string, least, most, other int) int {
	n, ok := o.get(name)
	if !ok {
		return other
	}
	v, err := strconv.ParseFloat(n.text, 64)
	if n.kind != isNumber || err != nil || v != math.Trunc(v) || v < float64(least) || v > float64(most) {
		o.problem(n, "%s must be a whole number from %d to %d.", quote(name), least, most)
		return other
	}
	return int(v)
}

// flag reads true or false.
func (o object) flag(name string) bool {
	n, ok := o.get(name)
	if ok && n.kind != isFlag {
		o.problem(n, "%s must be true or false, without quotes.", quote(name))
	}
	return n.flag
}

// list reads a list of at most most things; if it must have one, need is set.
func (o object) list(name string, most int, need bool) []node {
	n, ok := o.get(name)
	if need {
		n, ok = o.need(name)
	}
	switch {
	case !ok:
		return nil
	case n.kind != isList:
		o.problem(n, "%s must be a list in square brackets.", quote(name))
		return nil
	case need && len(n.items) == 0:
		o.problem(n, "%s is empty. Add at least one.", quote(name))
	case len(n.items) > most:
		o.problem(n, "%s is too long. Use at most %d.", quote(name), most)
	}
	return n.items
}

// texts reads a list of lines of text.
func (o object) texts(name string, most, letters int) []string {
	var texts []string
	for _, n := range o.list(name, most, false) {
		texts = append(texts, o.line1(n, "A line of "+quote(name), letters))
	}
	return texts
}

// quote shows what stands in the file, shortened.
func quote(s string) string {
	const most = 40
	letters := []rune(s)
	if len(letters) > most {
		s = string(letters[:most]) + "…"
	}
	return strconv.Quote(s)
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// plain writes a number without an exponent.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
