package paper

import (
	"math"
	"unicode/utf16"
)

// Align is where text stands against its place.
type Align int

// The alignments. Start is left for text that runs from left to right, and right
// within the given width for text that runs from right to left.
const (
	Start Align = iota
	Left
	Center
	Right
)

// Width returns how wide text is in one line, in points.
func (p *Page) Width(style Style, text string) float64 {
	return p.doc.set.one(style, text).width * style.Size / perEm
}

// Text draws one line with its baseline at y: at x, or against x by align.
func (p *Page) Text(x, y float64, style Style, align Align, text string) {
	l := p.doc.set.one(style, text)
	width := l.width * style.Size / perEm
	switch align {
	case Center:
		x -= width / 2
	case Right:
		x -= width
	}
	p.spoken(func() { p.line(x, y, style, l) })
}

// TextIn draws one line within a width from x, smaller where it would not fit.
func (p *Page) TextIn(x, y, width float64, style Style, align Align, text string) {
	l := p.doc.set.one(style, text)
	if needed := l.width * style.Size / perEm; needed > width && needed > 0 {
		style.Size *= width / needed
	}
	drawn := l.width * style.Size / perEm
	switch {
	case align == Right, align == Start && l.right:
		x += width - drawn
	case align == Center:
		x += (width - drawn) / 2
	}
	p.spoken(func() { p.line(x, y, style, l) })
}

// Height returns how high text is when it is broken into lines of a width.
func (p *Page) Height(width float64, style Style, text string) float64 {
	return float64(len(p.doc.set.many(style, text, width*perEm/style.Size))) * style.LineHeight()
}

// Block draws text broken into lines of a width, from y downwards, and returns
// where the next line would begin. Lines of a paragraph that runs from right to
// left stand at the right.
func (p *Page) Block(x, y, width float64, style Style, text string) float64 {
	lines := p.doc.set.many(style, text, width*perEm/style.Size)
	p.spoken(func() {
		for i, l := range lines {
			at := x
			if l.right {
				at += width - l.width*style.Size/perEm
			}
			p.line(at, y+style.LineHeight()*float64(i)+1.08*style.Size, style, l)
		}
	})
	return y + style.LineHeight()*float64(len(lines))
}

// Fit returns style at the largest size, in steps of a quarter point, at which
// text in lines of a width is at most height high, but not below a least size.
func (p *Page) Fit(width, height float64, style Style, least float64, text string) Style {
	for style.Size > least && p.Height(width, style, text) > height {
		style.Size = math.Max(least, style.Size-0.25)
	}
	return style
}

// spoken draws text as content of the element at hand; outside of all elements
// it is decoration.
func (p *Page) spoken(draw func()) {
	switch {
	case p.picture:
		draw()
	case p.at == p.root:
		p.decoration(draw)
	default:
		p.mark()
		draw()
		p.op("EMC\n")
	}
}

// line draws shaped text from x on.
func (p *Page) line(x, y float64, style Style, l line) {
	if len(l.runs) == 0 {
		return
	}
	p.numbers(style.Color.R, style.Color.G, style.Color.B)
	p.op("rg BT\n")
	for _, r := range l.runs {
		x += p.run(x, p.flip(y), style, r)
	}
	p.op("ET\n")
}

// run draws one run and returns its width in points.
func (p *Page) run(x, y float64, style Style, r run) float64 {
	used := p.doc.use(r.face)
	p.op(used.resource)
	p.numbers(style.Size)
	p.op("Tf ")
	thick := style.Bold && r.face.name != bold
	if thick { // letters without a bold face get thicker edges
		p.numbers(style.Size / 36)
		p.op("w ")
		p.numbers(style.Color.R, style.Color.G, style.Color.B)
		p.op("RG 2 Tr ")
	}
	advance := 0.0
	for _, s := range used.stretches(r.glyphs) {
		if s.said != "" {
			p.op("/Span<</ActualText" + textString(s.said) + ">>BDC\n")
		}
		p.op("1 0 0 1 ")
		p.numbers(x+advance*style.Size/perEm, y)
		p.op("Tm\n")
		advance += p.glyphs(used, style, s.glyphs)
		if s.said != "" {
			p.op("EMC\n")
		}
	}
	if thick {
		p.op("0 Tr\n")
	}
	return advance * style.Size / perEm
}

const hexDigits = "0123456789ABCDEF"

// glyphs shows glyphs and returns their width in thousandths of the size. Where
// a glyph stands elsewhere than its font would put it, it is moved there and the
// next one back.
func (p *Page) glyphs(used *usedFont, style Style, glyphs []glyph) float64 {
	advance, move, rise := 0.0, 0.0, 0.0
	open, text := false, false
	begin := func() {
		if !open {
			p.op("[")
			open = true
		}
	}
	end := func() {
		if text {
			p.op(">")
		}
		if open {
			p.op("]TJ\n")
		}
		open, text = false, false
	}
	for _, g := range glyphs {
		if g.dy != rise {
			end()
			rise = g.dy
			p.numbers(rise * style.Size / perEm)
			p.op("Ts\n")
		}
		begin()
		move += g.dx
		if math.Abs(move) >= 0.5 {
			if text {
				p.op(">")
				text = false
			}
			p.numbers(-math.Round(move))
			move -= math.Round(move)
		}
		if !text {
			p.op("<")
			text = true
		}
		p.content = append(p.content, hexDigits[g.id>>12], hexDigits[g.id>>8&15], hexDigits[g.id>>4&15], hexDigits[g.id&15])
		move += g.advance - g.dx - used.width(g.id)
		advance += g.advance
	}
	end()
	if rise != 0 {
		p.op("0 Ts\n")
	}
	return advance
}

// unicodeHex writes text as a character map names it: UTF-16 in hex.
func unicodeHex(text string) string {
	var b []byte
	for _, unit := range utf16.Encode([]rune(text)) {
		b = append(b, hexDigits[unit>>12], hexDigits[unit>>8&15], hexDigits[unit>>4&15], hexDigits[unit&15])
	}
	return string(b)
}
