package paper

import (
	"slices"

	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
)

// A wordKey is all that the shapes of a word depend on. Letters join and shift
// within a word alone, so a word is shaped once in a document.
type wordKey struct {
	face      *font.Face
	direction di.Direction
	script    language.Script
	lang      language.Language
	extents   bool
	text      string
}

// mostWords bounds how many words are remembered.
const mostWords = 16384

// words shapes a stretch of letters in one face and direction, word by word, in
// the order of reading. Spaces belong to the word before them.
func (s *setter) words(part shaping.Input, extents bool) []shaping.Output {
	var outputs []shaping.Output
	for start := part.RunStart; start < part.RunEnd; {
		end := start
		for end < part.RunEnd && part.Text[end] != ' ' {
			end++
		}
		for end < part.RunEnd && part.Text[end] == ' ' {
			end++
		}
		word := part
		word.Text, word.RunStart, word.RunEnd = part.Text[start:end], 0, end-start
		outputs = append(outputs, placed(s.word(word, extents), start))
		start = end
	}
	return outputs
}

// word shapes one word, or remembers how it was shaped.
func (s *setter) word(in shaping.Input, extents bool) shaping.Output {
	key := wordKey{in.Face, in.Direction, in.Script, in.Language, extents, string(in.Text)}
	if known, ok := s.shapes[key]; ok {
		return known
	}
	var out shaping.Output
	if extents {
		out = s.shaper.Shape(in)
	} else {
		out = s.shaper.ShapeNoExtents(in)
	}
	if len(s.shapes) >= mostWords {
		clear(s.shapes)
	}
	s.shapes[key] = out
	return out
}

// placed returns a word's shapes as they stand after so many letters of a text.
func placed(word shaping.Output, after int) shaping.Output {
	word.Runes.Offset = after
	word.Glyphs = slices.Clone(word.Glyphs)
	for i := range word.Glyphs {
		word.Glyphs[i].ClusterIndex += after //lint:ignore SA1019 TextIndex reads it; nothing else sets it
	}
	return word
}
