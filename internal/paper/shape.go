package paper

import (
	"slices"
	"strings"
	"unicode"

	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/bidi"
)

// perEm is the size at which text is shaped: glyph widths then come in
// thousandths of the size, as PDF counts them.
const perEm = 1000

// A line is shaped text in one line, its runs from left to right.
type line struct {
	runs  []run
	width float64 // thousandths of the size
	right bool    // belongs at the right edge: its paragraph runs from right to left
}

// A run is a stretch of a line in one face and one direction.
type run struct {
	face   *typeface
	glyphs []glyph
	text   string // in the order of reading
	right  bool   // read from right to left
}

// A glyph is one shape, in thousandths of the size.
type glyph struct {
	id      uint16
	advance float64
	dx, dy  float64
	text    string // letters that it stands for, "" for a further part of a group
}

// A setter turns text into lines for one document. It remembers what it shaped:
// reports say the same words often.
type setter struct {
	letters *Letters
	shaper  shaping.HarfbuzzShaper
	segs    shaping.Segmenter
	wrapper shaping.LineWrapper
	regular choice
	bold    choice
	lang    language.Language
	lines   map[lineKey][]line
	shapes  map[wordKey]shaping.Output
}

type lineKey struct {
	bold  bool
	lang  string
	text  string
	width float64
}

// mostLines bounds how many texts are remembered.
const mostLines = 2048

func newSetter(letters *Letters, lang string) *setter {
	s := &setter{letters: letters, lang: language.NewLanguage(lang), lines: map[lineKey][]line{}, shapes: map[wordKey]shaping.Output{}}
	for _, c := range []*choice{&s.regular, &s.bold} {
		*c = choice{letters: letters, faces: map[string]*font.Face{}, of: map[*font.Face]*typeface{}}
	}
	s.bold.bold = true
	return s
}

// one sets text in a single line.
func (s *setter) one(style Style, text string) line {
	if lines := s.many(style, strings.ReplaceAll(text, "\n", " "), endless); len(lines) > 0 {
		return lines[0]
	}
	return line{}
}

// endless is wider than any line.
const endless = 1 << 24

// many sets text in lines of at most a width, in thousandths of the size. Line
// breaks in the text stay.
func (s *setter) many(style Style, text string, width float64) []line {
	key := lineKey{style.Bold, style.Lang, text, width}
	if known, ok := s.lines[key]; ok {
		return known
	}
	if len(s.lines) >= mostLines {
		clear(s.lines)
	}
	lines := s.broken(style, text, width)
	s.lines[key] = lines
	return lines
}

// broken breaks text into lines.
func (s *setter) broken(style Style, text string, width float64) []line {
	var lines []line
	for paragraph := range strings.SplitSeq(text, "\n") {
		letters := []rune(plainSpaces(paragraph))
		if len(letters) == 0 {
			lines = append(lines, line{})
			continue
		}
		direction := directionOf(letters)
		outputs := s.shape(style, letters, direction, width < endless)
		config := shaping.WrapConfig{Direction: direction, DisableTrailingWhitespaceTrim: true}
		wrapped, _ := s.wrapper.WrapParagraphF(config, fixed.Int26_6(64*width), letters, shaping.NewSliceIterator(outputs))
		for _, w := range wrapped {
			visual := slices.Clone(w)
			slices.SortFunc(visual, func(a, b shaping.Output) int { return int(a.VisualIndex - b.VisualIndex) })
			lines = append(lines, s.lineOf(letters, visual, style.Bold, direction))
		}
	}
	return lines
}

// plainSpaces replaces what would break a line or cannot be seen by a space.
func plainSpaces(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, text)
}

// shape joins and places the letters, run by run in the order of reading. The
// wrapper tells spaces by the extents of glyphs; a single line does not need them.
func (s *setter) shape(style Style, letters []rune, direction di.Direction, extents bool) []shaping.Output {
	faces := &s.regular
	if style.Bold {
		faces = &s.bold
	}
	lang := s.lang
	if style.Lang != "" {
		lang = language.NewLanguage(style.Lang)
	}
	in := shaping.Input{Text: letters, RunEnd: len(letters), Direction: direction, Size: fixed.I(perEm), Language: lang}
	var outputs []shaping.Output
	for _, part := range s.segs.Split(in, faces) {
		outputs = append(outputs, s.words(part, extents)...)
	}
	return outputs
}

// directionOf returns the direction of a paragraph: that of its first letter
// with a direction (UAX #9, P2 and P3).
func directionOf(letters []rune) di.Direction {
	for _, r := range letters {
		properties, _ := bidi.LookupRune(r)
		switch properties.Class() {
		case bidi.L:
			return di.DirectionLTR
		case bidi.R, bidi.AL:
			return di.DirectionRTL
		}
	}
	return di.DirectionLTR
}

// lineOf reads what the shaper made.
func (s *setter) lineOf(letters []rune, visual []shaping.Output, isBold bool, direction di.Direction) line {
	faces := &s.regular
	if isBold {
		faces = &s.bold
	}
	l := line{right: direction == di.DirectionRTL}
	for _, out := range visual {
		if out.Runes.Count == 0 {
			continue
		}
		r := run{face: faces.of[out.Face], text: string(letters[out.Runes.Offset : out.Runes.Offset+out.Runes.Count]), right: out.Direction == di.DirectionRTL}
		r.glyphs = make([]glyph, 0, len(out.Glyphs))
		for i, g := range out.Glyphs {
			shaped := glyph{id: uint16(g.GlyphID), advance: toEm(g.Advance), dx: toEm(g.XOffset), dy: toEm(g.YOffset)}
			if i == 0 || out.Glyphs[i-1].TextIndex() != g.TextIndex() {
				shaped.text = string(letters[g.TextIndex() : g.TextIndex()+g.RunesCount()])
			}
			l.width += shaped.advance
			r.glyphs = append(r.glyphs, shaped)
		}
		if n := len(l.runs); n > 0 && l.runs[n-1].face == r.face && l.runs[n-1].right == r.right {
			l.runs[n-1].join(r)
		} else {
			l.runs = append(l.runs, r)
		}
	}
	return l
}

// join adds the run at its right.
func (r *run) join(next run) {
	r.glyphs = append(r.glyphs, next.glyphs...)
	if r.right {
		r.text = next.text + r.text
	} else {
		r.text += next.text
	}
}

func toEm(v fixed.Int26_6) float64 { return float64(v) / 64 }
