// Package paper writes PDF documents: lines, shapes, and text in any script,
// joined, ordered and broken as its script asks. Everything on a page is tagged,
// so that it can be read aloud and copied; the same calls give the same bytes.
// It brings its own letters. It imports only the standard library and the text
// shaping of go-text.
package paper

// A Size is a page's width and height in points of 1/72 inch.
type Size struct{ Width, Height float64 }

// Millimetre is one in points.
const Millimetre = 72 / 25.4

// A4 returns the size of ISO 216.
func A4() Size { return Size{210 * Millimetre, 297 * Millimetre} }

// Letter returns the size of ANSI/ASME Y14.1.
func Letter() Size { return Size{612, 792} }

// A Color is one of the few that a page uses, each part from 0 to 1.
type Color struct{ R, G, B float64 }

// Gray returns a gray from 0, black, to 1, white.
func Gray(level float64) Color { return Color{level, level, level} }

// A Stroke is how a line is drawn. Dashes are lengths of line and gap in turn.
type Stroke struct {
	Width  float64
	Color  Color
	Dashes []float64
}

// A Style is how text looks.
type Style struct {
	Size  float64 // points
	Bold  bool
	Color Color
	Lang  string // BCP 47, where it is not the document's
}

// LineHeight returns the distance of two baselines.
func (s Style) LineHeight() float64 { return 1.36 * s.Size } // Noto Sans: ascent 1.069 and descent 0.293 of the size
