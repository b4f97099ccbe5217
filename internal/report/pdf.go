package report

import (
	"fmt"
	"io"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
)

// PDF writes a page for each athlete and, where there are several, one for staff
// about all of them, which comes first.
type PDF struct {
	doc   *paper.Document
	size  paper.Size
	about Subject
	page  int
}

// NewPDF begins a document.
func NewPDF(w io.Writer, letters *paper.Letters, size paper.Size, s Subject) *PDF {
	return &PDF{doc: paper.NewDocument(w, letters, paper.Info{Title: s.title(), Lang: s.Voice.lang(), Made: s.Span.AsOf}), size: size, about: s}
}

// Colours of the pages. Pictures do not rely on them: lines differ by dash and
// mark, too.
var (
	ink   = paper.Color{R: 0.106, G: 0.137, B: 0.149}
	ink2  = paper.Color{R: 0.290, G: 0.333, B: 0.345}
	hair  = paper.Color{R: 0.80, G: 0.79, B: 0.75}
	rope  = paper.Color{R: 0.043, G: 0.361, B: 0.388}
	blue  = paper.Color{R: 0, G: 0.447, B: 0.698}
	ochre = paper.Color{R: 0.478, G: 0.322, B: 0}
	white = paper.Gray(1)
)

// A frame is where things go on one page.
type frame struct {
	*paper.Page
	Voice
	left, right, top, bottom float64
}

func (f frame) width() float64 { return f.right - f.left }

// Margins of a page: 4-experience asks for 14 mm above and below, 12 mm beside.
const (
	marginX = 12 * paper.Millimetre
	marginY = 14 * paper.Millimetre
)

func (p *PDF) begin(bookmark string) frame {
	page := p.doc.Begin(p.size, bookmark)
	return frame{Page: page, Voice: p.about.Voice, left: marginX, right: p.size.Width - marginX, top: marginY, bottom: p.size.Height - marginY}
}

// body is the style of running text.
func body(size float64) paper.Style { return paper.Style{Size: size, Color: ink} }

func quiet(size float64) paper.Style { return paper.Style{Size: size, Color: ink2} }

func strong(size float64) paper.Style { return paper.Style{Size: size, Color: ink, Bold: true} }

// head writes the top of a page, in words of its own: what it belongs to, the name, and the rule with
// the short thick stroke that is the house's sign.
func (f frame) head(above, heading, lang string) float64 {
	y := f.top
	f.Element(paper.Paragraph, "", func() { f.Page.TextIn(f.left, y+8, f.width(), quiet(8.5), paper.Start, above) })
	style := strong(20)
	style.Lang = lang
	f.Element(paper.Heading1, "", func() { f.Page.TextIn(f.left, y+32, f.width(), style, paper.Start, heading) })
	y += 42
	f.Line(f.left, y, f.right, y, paper.Stroke{Width: 1, Color: ink2})
	f.Line(f.left, y, f.left+44, y, paper.Stroke{Width: 3.5, Color: rope})
	return y + 6
}

// foot writes the bottom of a page. It is said once aloud at most, so it is
// decoration.
func (p *PDF) foot(f frame, note string, number, of int) {
	f.Block(f.left, f.bottom-20, f.width()-70, quiet(7), note)
	f.Text(f.right, f.bottom-2, quiet(7.5), paper.Right, fmt.Sprintf("page %d of %d", number, of))
	f.Text(f.right, f.bottom-12, quiet(7.5), paper.Right, p.about.Span.AsOf.Format("2 Jan 2006"))
}

// section writes a heading and returns where its text begins.
func (f frame) section(x, y, width float64, heading string) float64 {
	f.Element(paper.Heading2, "", func() { f.TextIn(x, y+10, width, strong(11), paper.Start, heading) })
	return y + 15
}

// say writes sentences as one paragraph and returns where the next begins.
func (f frame) say(x, y, width float64, style paper.Style, sentences ...string) float64 {
	text := ""
	for _, s := range sentences {
		switch {
		case s == "":
		case text == "":
			text = f.said(s)
		default:
			text += " " + f.said(s)
		}
	}
	if text == "" {
		return y
	}
	f.Element(paper.Paragraph, "", func() { y = f.Page.Block(x, y, width, style, text) })
	return y + 2
}

// pages returns how many pages the document will have.
func (p *PDF) pages() int {
	if p.about.Alone {
		return p.about.Count
	}
	return p.about.Count + 1
}

// Add writes one athlete's page.
func (p *PDF) Add(a review.Athlete, f review.Facts) error {
	p.page++
	number := p.page
	if !p.about.Alone {
		number++ // the page about all of them comes first
	}
	page := p.begin(a.Name)
	p.athlete(page, a, f)
	p.foot(page, athleteNote, number, p.pages())
	page.End(false)
	return nil
}

// Close writes the page about all, if there is one, and ends the document.
func (p *PDF) Close(g review.Group) error {
	if !p.about.Alone {
		page := p.begin(p.about.name())
		p.group(page, g)
		p.foot(page, groupNote, 1, p.pages())
		page.End(true)
	}
	if err := p.doc.Close(); err != nil {
		return fmt.Errorf("writing a PDF: %w", err)
	}
	return nil
}

// The notes at the foot of pages.
const (
	athleteNote = "rpm is rotations of the rope in a minute; ± says how sure a rate is. A change is real when it is larger than tests differ by themselves. Nobody is compared with others."
	groupNote   = "For coaches and the owner, not for families. Spreads name nobody and are left out for fewer than three athletes."
)
