// Package roster keeps who trains in the gym: the classes, and the athletes that
// a roster file brings, with every bad line of it named. Reading and matching
// files (csv*.go) is pure and imports only problem and libraries for text and
// ids; the verbs stand on store and account.
package roster

import (
	"io"
	"slices"
	"strings"
	"unicode"

	"ropewalk.example/internal/problem"
)

// Limits bound what ParseCSV takes.
type Limits struct {
	Bytes int64 // of the file
	Lines int   // with an athlete, good or bad
	Year  int   // the present one, against which birth years are judged
}

// UsualLimits returns 2 MiB and 5,000 athletes.
func UsualLimits(year int) Limits { return Limits{Bytes: 2 << 20, Lines: 5000, Year: year} }

// Row is one athlete as a roster file has it.
type Row struct {
	Line      int // the first line about the athlete, counted from 1
	Name      string
	SortName  string   // empty: sort by Name
	BirthYear int      // 0: not given
	PIN       string   // four digits, or empty
	Lang      string   // BCP 47, given or guessed from the script; empty when unknown
	Classes   []string // as written; may be none
	Rope      string   // label of the usual rope, or empty
}

// LineProblem says what is the matter with one line and what to do about it.
type LineProblem struct {
	Line     int    // counted from 1
	Text     string // as the file has it, cut to the first 80 characters
	Sentence string
}

// Preview is what a roster file would add.
type Preview struct {
	Rows     []Row         // of the good lines, in order; no name and year twice
	Problems []LineProblem // lines of which nothing is taken; a line may have several
	Repeats  []LineProblem // good lines about an athlete of an earlier line
	Ignored  []string      // headings of columns that are not read
}

// ParseCSV reads a roster: UTF-8 or UTF-16 text with values between commas,
// semicolons or tabs under a heading in any order, or names alone, one a line,
// some with a birth year. The heading's words are those of columnOf. A bad line costs no good one.
//
// The error is a [problem.Error] when the file as a whole cannot be read.
// ParseCSV reads at most limits.Bytes+1 bytes.
func ParseCSV(r io.Reader, limits Limits) (Preview, error) {
	text, err := decode(r, limits)
	if err != nil {
		return Preview{}, err
	}
	lines := split(text)
	if len(lines) == 0 {
		return Preview{}, problem.New(problem.Invalid, "This file is empty. Choose a file with one athlete on each line.")
	}
	layout, lines, err := layoutOf(lines)
	if err != nil {
		return Preview{}, err
	}
	return layout.read(lines, limits)
}

// A line is one line of text with its number in the file.
type line struct {
	number int
	text   string
}

// split returns the lines of text that hold more than spaces and separators.
func split(text string) []line {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	var lines []line
	number := 0
	for l := range strings.SplitSeq(text, "\n") {
		number++
		if strings.TrimFunc(l, separates) != "" {
			lines = append(lines, line{number, l})
		}
	}
	return lines
}

func separates(r rune) bool { return unicode.IsSpace(r) || slices.Contains(commas(), r) }

// problem names what is wrong with l.
func (l line) problem(sentence string) LineProblem {
	return LineProblem{Line: l.number, Text: cut(l.text, 80), Sentence: sentence}
}

// cut returns at most n characters of s.
func cut(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}

// read reads the lines below the heading.
func (l layout) read(lines []line, limits Limits) (Preview, error) {
	p := Preview{Ignored: l.ignored()}
	found := finder{}
	records := 0
	for len(lines) > 0 {
		first := lines[0]
		values, taken, fault := l.record(lines)
		lines = lines[taken:]
		if fault == "" && blank(values) {
			continue
		}
		if records++; records > limits.Lines {
			return Preview{}, tooManyLines(limits)
		}
		if fault != "" {
			p.Problems = append(p.Problems, first.problem(fault))
			continue
		}
		row, faults := rowOf(l.cells(values), limits.Year)
		for _, f := range faults {
			p.Problems = append(p.Problems, first.problem(f))
		}
		if len(faults) == 0 {
			row.Line = first.number
			p.add(row, first, found)
		}
	}
	if records == 0 {
		return Preview{}, problem.New(problem.Invalid, "This file has a heading but no athletes. Put one athlete on each line below it.")
	}
	for i := range p.Rows { // after joining: a guess must not contradict what another line says
		if p.Rows[i].Lang == "" {
			p.Rows[i].Lang = GuessLang(p.Rows[i].Name)
		}
	}
	return p, nil
}

func blank(values []string) bool {
	return !slices.ContainsFunc(values, func(v string) bool { return strings.TrimSpace(v) != "" })
}
