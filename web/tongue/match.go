package tongue

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A pattern is an English text with holes, cut at them.
type pattern struct {
	own      string
	literals []string // one more than holes
	holes    []string // their names in order: "{1}"
}

// prepare cuts the texts with holes and files each under its longest word.
func (l *Language) prepare() {
	l.index = map[string][]*pattern{}
	for english, own := range l.Texts {
		holes := hole.FindAllString(english, -1)
		if len(holes) == 0 || own == "" {
			continue
		}
		p := &pattern{own: own, literals: hole.Split(english, -1), holes: holes}
		key := ""
		for _, literal := range p.literals {
			for _, word := range wholeWords(literal) {
				if len(word) > len(key) {
					key = word
				}
			}
		}
		l.index[key] = append(l.index[key], p)
	}
}

var word = regexp.MustCompile(`\p{L}+`)

// wholeWords are the words of a literal that no value beside it can lengthen.
func wholeWords(literal string) []string {
	var list []string
	for _, at := range word.FindAllStringIndex(literal, -1) {
		if at[0] > 0 && at[1] < len(literal) {
			list = append(list, literal[at[0]:at[1]])
		}
	}
	return list
}

// mostFits bounds the ways to read one text with one pattern.
const mostFits = 16

// fits finds the values of the holes in each way that there is. A value is
// within one sentence and begins and ends where words do.
func (p *pattern) fits(text string) [][]string {
	rest, ok := strings.CutPrefix(text, p.literals[0])
	if !ok {
		return nil
	}
	return fit(rest, p.literals, nil, nil)
}

func fit(rest string, literals, values []string, found [][]string) [][]string {
	before, next := literals[0], literals[1]
	if len(literals) == 2 {
		if value, ok := strings.CutSuffix(rest, next); ok && stands(before, value, next) {
			found = append(found, append(slices.Clone(values), value))
		}
		return found
	}
	for from := 1; from <= len(rest) && len(found) < mostFits; from++ {
		at := strings.Index(rest[from:], next)
		if at < 0 {
			break
		}
		from += at
		if value := rest[:from]; stands(before, value, next) {
			found = fit(rest[from+len(next):], literals[1:], append(slices.Clone(values), value), found)
		}
	}
	return found
}

// sentences is where one sentence ends and the next begins.
var sentences = regexp.MustCompile(`[.?!] [^\p{Ll}]`)

// stands tells whether a value can stand between two literals.
func stands(before, value, after string) bool {
	if value == "" || sentences.MatchString(value) {
		return false
	}
	last, _ := utf8.DecodeLastRuneInString(before)
	first, _ := utf8.DecodeRuneInString(value)
	end, _ := utf8.DecodeLastRuneInString(value)
	next, _ := utf8.DecodeRuneInString(after)
	return !(unicode.IsLetter(last) && unicode.IsLetter(first)) && !(unicode.IsLetter(end) && unicode.IsLetter(next))
}
