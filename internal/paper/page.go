package paper

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Page is drawn on from its top left corner, in points, downwards. What is
// drawn in an Element is read aloud with it; all else is decoration.
type Page struct {
	Size    Size
	doc     *Document
	number  int // of its object
	section int
	title   string
	content []byte
	root    *element
	at      *element
	picture bool // inside a Figure: one piece of content with all in it
	owners  []int
}

// A Kind is what an element of a page is (ISO 32000-1, 14.8.4).
type Kind string

// The kinds.
const (
	Section    Kind = "Sect"
	Heading1   Kind = "H1"
	Heading2   Kind = "H2"
	Paragraph  Kind = "P"
	Figure     Kind = "Figure"
	Table      Kind = "Table"
	Row        Kind = "TR"
	HeaderCell Kind = "TH"
	Cell       Kind = "TD"
	List       Kind = "L"
	Item       Kind = "LI"
	ItemBody   Kind = "LBody"
)

// An element is a node of a page's structure.
type element struct {
	kind   Kind
	alt    string
	object int
	kids   []kid
}

// A kid is an element, or a piece of the page's content by number.
type kid struct {
	element *element
	content int
}

// Element draws something as one thing that is read aloud. alt says what a
// Figure shows; it is "" for all others.
func (p *Page) Element(kind Kind, alt string, draw func()) {
	e := &element{kind: kind, alt: alt, object: p.doc.file.reserve()}
	p.at.kids = append(p.at.kids, kid{element: e})
	before := p.at
	p.at = e
	if kind == Figure {
		p.mark()
		p.picture = true
	}
	draw()
	if kind == Figure {
		p.picture = false
		p.op("EMC\n")
	}
	p.at = before
}

// mark begins a piece of content of the element at hand.
func (p *Page) mark() {
	n := len(p.owners)
	p.owners = append(p.owners, p.at.object)
	p.at.kids = append(p.at.kids, kid{content: n})
	p.op("/" + string(p.at.kind) + "<</MCID " + strconv.Itoa(n) + ">>BDC\n")
}

// decoration draws what is not read aloud, unless it is part of a picture.
func (p *Page) decoration(draw func()) {
	if p.picture {
		draw()
		return
	}
	p.op("/Artifact BMC\n")
	draw()
	p.op("EMC\n")
}

// End finishes the page; with front it comes before all pages so far.
func (p *Page) End(front bool) {
	d := p.doc
	stream := d.file.reserve()
	d.file.stream(stream, "", p.content)
	d.file.object(p.number, fmt.Sprintf("<</Type/Page/Parent %s/MediaBox[0 0 %s %s]/Resources %s/Contents %s/StructParents %d/Tabs/S>>",
		ref(d.pages), number(p.Size.Width), number(p.Size.Height), ref(d.resources), ref(stream), len(d.parents)))
	owners := make([]string, len(p.owners))
	for i, n := range p.owners {
		owners[i] = ref(n)
	}
	parents := d.file.reserve()
	d.file.object(parents, "["+strings.Join(owners, " ")+"]")
	d.parents = append(d.parents, parents)
	p.write(p.root, d.tree)
	mark := bookmark{p.title, p.number}
	if front {
		d.kids, d.sections, d.marks = append([]int{p.number}, d.kids...), append([]int{p.section}, d.sections...), append([]bookmark{mark}, d.marks...)
		return
	}
	d.kids, d.sections, d.marks = append(d.kids, p.number), append(d.sections, p.section), append(d.marks, mark)
}

// write writes an element and all below it.
func (p *Page) write(e *element, parent int) {
	var b strings.Builder
	fmt.Fprintf(&b, "<</Type/StructElem/S/%s/P %s/Pg %s/K[", e.kind, ref(parent), ref(p.number))
	for _, k := range e.kids {
		if k.element != nil {
			b.WriteString(ref(k.element.object) + " ")
		} else {
			b.WriteString(strconv.Itoa(k.content) + " ")
		}
	}
	b.WriteByte(']')
	if e.alt != "" {
		b.WriteString("/Alt" + textString(e.alt))
	}
	if e.kind == HeaderCell {
		b.WriteString("/A<</O/Table/Scope/Column>>")
	}
	b.WriteString(">>")
	p.doc.file.object(e.object, b.String())
	for _, k := range e.kids {
		if k.element != nil {
			p.write(k.element, e.object)
		}
	}
}

func (p *Page) op(text string) { p.content = append(p.content, text...) }

// numbers writes numbers with a space after each, y counted from the top.
func (p *Page) numbers(values ...float64) {
	for _, v := range values {
		p.content = appendNumber(p.content, v)
		p.content = append(p.content, ' ')
	}
}

func (p *Page) flip(y float64) float64 { return p.Size.Height - y }

// Line draws a straight line.
func (p *Page) Line(x1, y1, x2, y2 float64, s Stroke) {
	p.Polyline([]float64{x1, y1, x2, y2}, s)
}

// Polyline draws lines from point to point; xy are x and y in turn.
func (p *Page) Polyline(xy []float64, s Stroke) {
	if len(xy) < 4 {
		return
	}
	p.decoration(func() {
		p.stroke(s)
		p.path(xy)
		p.op("S\n")
	})
}

// Fill fills the shape with corners at xy, x and y in turn.
func (p *Page) Fill(xy []float64, c Color) {
	if len(xy) < 6 {
		return
	}
	p.decoration(func() {
		p.numbers(c.R, c.G, c.B)
		p.op("rg\n")
		p.path(xy)
		p.op("f\n")
	})
}

// FillRect fills a rectangle.
func (p *Page) FillRect(x, y, width, height float64, c Color) {
	p.Fill([]float64{x, y, x + width, y, x + width, y + height, x, y + height}, c)
}

// StrokeRect draws a rectangle's edges.
func (p *Page) StrokeRect(x, y, width, height float64, s Stroke) {
	p.Polyline([]float64{x, y, x + width, y, x + width, y + height, x, y + height, x, y - s.Width/2}, s)
}

// Dot draws a round dot, filled with fill and edged with edge.
func (p *Page) Dot(x, y, radius float64, fill Color, edge Stroke) {
	const k = 0.5523 // how far a curve's handles lie for a quarter of a circle
	p.decoration(func() {
		p.stroke(edge)
		p.numbers(fill.R, fill.G, fill.B)
		p.op("rg\n")
		y := p.flip(y)
		p.numbers(x+radius, y)
		p.op("m\n")
		for _, quarter := range [][6]float64{{1, k, k, 1, 0, 1}, {-k, 1, -1, k, -1, 0}, {-1, -k, -k, -1, 0, -1}, {k, -1, 1, -k, 1, 0}} {
			for i := 0; i < 6; i += 2 {
				p.numbers(x+radius*quarter[i], y+radius*quarter[i+1])
			}
			p.op("c\n")
		}
		p.op("b\n")
	})
}

func (p *Page) stroke(s Stroke) {
	p.numbers(s.Width)
	p.op("w ")
	p.numbers(s.Color.R, s.Color.G, s.Color.B)
	p.op("RG [")
	p.numbers(s.Dashes...)
	p.op("]0 d\n")
}

func (p *Page) path(xy []float64) {
	for i := 0; i+1 < len(xy); i += 2 {
		p.numbers(xy[i], p.flip(xy[i+1]))
		if i == 0 {
			p.op("m ")
		} else {
			p.op("l ")
		}
	}
}

// number writes v with at most two decimals.
func number(v float64) string { return string(appendNumber(nil, v)) }

func appendNumber(b []byte, v float64) []byte {
	hundredths := int64(math.Round(v * 100))
	if hundredths < 0 {
		b = append(b, '-')
		hundredths = -hundredths
	}
	b = strconv.AppendInt(b, hundredths/100, 10)
	switch rest := hundredths % 100; {
	case rest == 0:
	case rest%10 == 0:
		b = append(b, '.', byte('0'+rest/10))
	default:
		b = append(b, '.', byte('0'+rest/10), byte('0'+rest%10))
	}
	return b
}
