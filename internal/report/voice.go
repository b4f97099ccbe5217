package report

import "ropewalk.example/internal/paper"

// A Voice is the language that a document is written in. The zero Voice is
// English, which the code writes.
type Voice struct {
	Lang string                      // BCP 47
	Say  func(english string) string // what it is in the language
}

func (v Voice) lang() string {
	if v.Say == nil {
		return "en"
	}
	return v.Lang
}

func (v Voice) said(english string) string {
	if v.Say == nil {
		return english
	}
	return v.Say(english)
}

// What a frame writes is said in the document's language. What people wrote
// themselves goes to its Page and stays as it is.

// Element draws something as one thing; alt is said.
func (f frame) Element(kind paper.Kind, alt string, draw func()) {
	f.Page.Element(kind, f.said(alt), draw)
}

// Text draws one line, said.
func (f frame) Text(x, y float64, style paper.Style, align paper.Align, english string) {
	f.Page.Text(x, y, style, align, f.said(english))
}

// TextIn draws one line within a width, said.
func (f frame) TextIn(x, y, width float64, style paper.Style, align paper.Align, english string) {
	f.Page.TextIn(x, y, width, style, align, f.said(english))
}

// Height is how high a text is once it is said.
func (f frame) Height(width float64, style paper.Style, english string) float64 {
	return f.Page.Height(width, style, f.said(english))
}

// Block draws a text in lines, said.
func (f frame) Block(x, y, width float64, style paper.Style, english string) float64 {
	return f.Page.Block(x, y, width, style, f.said(english))
}
