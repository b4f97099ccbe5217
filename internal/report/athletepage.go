package report

import (
	"math"
	"strconv"
	"strings"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
)

// gap lies between columns and between sections.
const gap = 14.0

// athlete draws one athlete's page. Everything has its place; what a coach wrote
// gets the rest and is set smaller where it is long, so that a page is enough.
func (p *PDF) athlete(f frame, a review.Athlete, facts review.Facts) {
	s := p.about.Span
	above := p.about.Gym.Name + " · " + f.span(s)
	if p.about.Class != "" {
		above = p.about.Gym.Name + " · " + p.about.Class + " · " + f.span(s)
	}
	y := f.head(above, a.Name, a.Lang)
	y = f.say(f.left, y, f.width(), body(11.5), a.Lead()...) + 6

	half := (f.width() - gap) / 2
	right := f.left + half + gap
	y = p.rates(f, y, half, right, a)
	y = max(p.clean(f, f.left, y, half, a), p.climb(f, right, y, half, a)) + 6
	y = max(p.meetings(f, f.left, y, half, a), p.load(f, right, y, half, a)) + 6
	p.words(f, y, half, right, a, facts)
}

// span says what part of a term the report looks at.
func (f frame) span(s review.Span) string {
	words := s.Term.StartsOn.Format("2 Jan") + " to " + s.Term.EndsOn.Format("2 Jan 2006")
	if !s.Over() {
		words += " (as of " + s.AsOf.Format("2 Jan") + ")"
	}
	return s.Term.Name + ", " + f.said(words)
}

// rates draws the picture of the rates with their table, and says what they did.
func (p *PDF) rates(f frame, y, half, right float64, a review.Athlete) float64 {
	top := f.section(f.left, y, f.width(), "Rates")
	left := top
	if len(a.Rates.Tests) > 0 {
		left = f.rateChart(box{f.left, top, half, 128}, p.about.Span, a.Rates)
	}
	table := f.movements(right, top, half, a.Rates)
	y = max(left, table)
	sentences := append(a.Rates.Sentences(), a.Rates.CatchSentence())
	return f.say(f.left, y, f.width(), body(9.5), sentences...) + 6
}

// A movementLine is one row of the table of rates.
type movementLine struct {
	name, on string
	review.Movement
}

// movements draws the table of rates at both ends.
func (f frame) movements(x, y, width float64, r review.Rates) float64 {
	var lines []movementLine
	if len(r.Tests) > 0 {
		lines = append(lines, movementLine{"Whole test", review.On(r.Step, r.Rope), r.Whole},
			movementLine{"Rope turning", "without the time that catches took", r.Turning})
	}
	if len(r.Bursts) > 0 {
		lines = append(lines, movementLine{"Burst", review.On(r.BurstStep, r.BurstRope), r.Burst})
	}
	if len(lines) == 0 {
		return y
	}
	// Right edges of the columns with figures, as shares of the width.
	columns := []float64{0.52, 0.72, 0.83}
	verdict := x + 0.86*width
	f.Element(paper.Table, "", func() {
		f.Element(paper.Row, "", func() {
			f.Element(paper.HeaderCell, "", func() { f.Text(x, y+8, quiet(8), paper.Left, "Rate, rpm") })
			for i, head := range []string{"Start", "End", "+/−"} {
				f.Element(paper.HeaderCell, "", func() { f.Text(x+columns[i]*width, y+8, quiet(8), paper.Right, head) })
			}
			f.Element(paper.HeaderCell, "", func() { f.Text(verdict, y+8, quiet(8), paper.Left, "Real?") })
		})
		y += 12
		f.Line(x, y, x+width, y, paper.Stroke{Width: 1, Color: ink})
		for _, line := range lines {
			height := max(25, 4+f.Height(x+width-verdict, body(7.5), line.Words()))
			f.Element(paper.Row, "", func() {
				f.Element(paper.Cell, "", func() {
					f.TextIn(x, y+11, 0.3*width, strong(9), paper.Left, line.name)
					f.TextIn(x, y+20, 0.85*width, quiet(7), paper.Left, line.on)
				})
				for i, cell := range []string{endFigure(line.Start), endFigure(line.End), gainFigure(line.Movement)} {
					f.Element(paper.Cell, "", func() { f.Text(x+columns[i]*width, y+11, body(9), paper.Right, cell) })
				}
				f.Element(paper.Cell, "", func() { f.Block(verdict, y+2, x+width-verdict, body(7.5), line.Words()) })
			})
			y += height
			f.Line(x, y, x+width, y, paper.Stroke{Width: 0.5, Color: hair})
		}
	})
	return y + 4
}

func endFigure(e review.End) string {
	if !e.Known() {
		return "–"
	}
	return figure(e.RPM) + " ± " + figure((e.High-e.Low)/2)
}

func gainFigure(m review.Movement) string {
	if !m.Judged() {
		return "–"
	}
	return signed(m.Gain())
}

// figure writes a number without decimals and with a true minus sign.
func figure(v float64) string {
	if v = math.Round(v); v < 0 {
		return "−" + strconv.FormatFloat(-v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v+0, 'f', 0, 64)
}

func signed(v float64) string {
	if math.Round(v) > 0 {
		return "+" + figure(v)
	}
	return figure(v)
}

// clean draws how far clean runs go, or where the rope stopped.
func (p *PDF) clean(f frame, x, y, width float64, a review.Athlete) float64 {
	y = f.section(x, y, width, "Without a catch")
	switch {
	case len(a.Runs.Clean.Curve) > 0:
		y = f.survival(box{x, y, width, 78}, a.Runs)
	case a.Catches.Total > 0:
		y = f.spots(box{x, y, width, 0}, a.Catches)
	}
	return f.say(x, y, width, body(9.5), a.Runs.Sentences()...)
}

func (p *PDF) climb(f frame, x, y, width float64, a review.Athlete) float64 {
	y = f.section(x, y, width, "Stages")
	most := 5 // moves that fit; the last ones matter
	if a.Doubles.Drawn() {
		most = 2
	}
	sentences := a.Climb.Sentences()
	if len(sentences) > most+1 {
		sentences = append(sentences[:1:1], sentences[len(sentences)-most:]...)
	}
	f.Element(paper.List, "", func() {
		for _, s := range sentences {
			f.Element(paper.Item, "", func() {
				f.Element(paper.ItemBody, "", func() { y = f.Block(x, y, width, body(9.5), s) })
			})
		}
	})
	if !a.Doubles.Drawn() {
		return y + 2
	}
	y = f.heights(box{x, y + 4, width, 84}, a.Doubles)
	return f.say(x, y, width, body(9.5), a.Doubles.Sentences()...)
}

func (p *PDF) meetings(f frame, x, y, width float64, a review.Athlete) float64 {
	y = f.section(x, y, width, "Meetings")
	if len(a.Attendance.Meetings) > 0 {
		y = f.strip(box{x, y, width, 34}, a.Attendance)
	}
	return f.say(x, y, width, body(9.5), a.Attendance.Sentence())
}

func (p *PDF) load(f frame, x, y, width float64, a review.Athlete) float64 {
	y = f.section(x, y, width, "How much was done")
	if a.Load.Total > 0 {
		y = f.loadBars(box{x, y, width, 62}, a.Load)
	}
	return f.say(x, y, width, body(9.5), a.Load.Sentences()...)
}

// words draws what the coach wrote, as large as the rest of the page allows.
func (p *PDF) words(f frame, y, half, right float64, a review.Athlete, facts review.Facts) {
	const least = 6.5
	room := f.bottom - 24 - y - 15
	below := f.section(f.left, y, half, "From the coach")
	comment := a.Comment
	if comment == "" {
		comment = f.said("No comment yet.")
	}
	signature := 0.0
	if a.Comment != "" && facts.Comment.ByName != "" {
		signature = 12
	}
	style := f.Fit(half-10, room-signature, body(10), least, comment)
	end := below
	f.Element(paper.Paragraph, "", func() { end = f.Page.Block(f.left+8, below, half-10, style, comment) })
	f.Line(f.left+1, below+2, f.left+1, end, paper.Stroke{Width: 2.5, Color: rope})
	if signature > 0 {
		by := quiet(8)
		by.Lang = facts.Comment.ByLang
		f.Element(paper.Paragraph, "", func() { f.Page.TextIn(f.left+8, end+9, half-10, by, paper.Start, facts.Comment.ByName) })
	}

	below = f.section(right, y, half, "What comes next")
	text := f.aim(a.Aim)
	style = f.Fit(half, room, body(9.5), least, text)
	f.Element(paper.Paragraph, "", func() { f.Page.Block(right, below, half, style, text) })
}

// aim says what comes next, a line for each sentence. What the coach wrote stays.
func (f frame) aim(a review.Aim) string {
	lines := a.Sentences()
	for i, s := range lines {
		if i > 0 || a.Words == "" {
			lines[i] = f.said(s)
		}
	}
	if len(lines) == 0 {
		return f.said("The coach decides on the next step.")
	}
	return strings.Join(lines, "\n")
}
