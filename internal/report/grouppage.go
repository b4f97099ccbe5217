package report

import (
	"fmt"
	"strconv"

	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/review"
)

// group draws the page about all athletes together.
func (p *PDF) group(f frame, g review.Group) {
	y := f.head(p.about.Gym.Name+" · "+f.span(p.about.Span)+" · "+f.said("for coaches and the owner"), p.about.name(), "")
	y = f.say(f.left, y, f.width(), body(11.5), g.Sentences()...) + 8

	half := (f.width() - gap) / 2
	right := f.left + half + gap
	left := f.ranges(box{f.left, f.section(f.left, y, half, "Rates"), half, 0}, g)
	came := p.came(f, box{right, f.section(right, y, half, "Attendance"), half, 96}, g)
	y = max(left, came) + 8
	left = f.spreadTable(f.left, f.section(f.left, y, half, "Spread without names"), half, g)
	came = f.stageTable(right, f.section(right, y, half, "Stages"), half, g)
	y = max(left, came) + 8
	p.attention(f, y, g)
}

func (p *PDF) came(f frame, b box, g review.Group) float64 {
	bars := make([]bar, len(g.Weeks))
	for i, w := range g.Weeks {
		bars[i] = bar{value: 100 * w.Share(), tick: w.Start.Format("2 Jan")}
		if w.Noted > 0 {
			bars[i].under = fmt.Sprintf("%d/%d", w.Here, w.Noted)
		}
	}
	return f.bars(b, "Share of athletes who came, week by week, in percent.", "%", bars)
}

// spreadTable lists a group's figures from lowest to highest.
func (f frame) spreadTable(x, y, width float64, g review.Group) float64 {
	rows := [][]string{}
	for _, line := range spreads(g) {
		if s := line.spread; s.Shown() {
			rows = append(rows, []string{line.name, strconv.Itoa(s.N), short(s.Low), short(s.Middle), short(s.High)})
		}
	}
	if len(rows) == 0 {
		return f.say(x, y, width, body(9.5), "Fewer than three athletes are known, so no spread is shown.")
	}
	return f.table(x, y, width, []string{"What", "Athletes", "Lowest", "Middle", "Highest"}, []float64{0.62, 0.75, 0.87, 1}, rows)
}

// short writes a figure with one decimal where it is small.
func short(v float64) string {
	if v > -10 && v < 10 && v != float64(int(v)) {
		if v < 0 {
			return "−" + strconv.FormatFloat(-v, 'f', 1, 64)
		}
		return strconv.FormatFloat(v, 'f', 1, 64)
	}
	return figure(v)
}

// stageTable lists who stood where, in numbers.
func (f frame) stageTable(x, y, width float64, g review.Group) float64 {
	if len(g.Stages) == 0 {
		return f.say(x, y, width, body(9.5), "No stage has been decided yet.")
	}
	rows := make([][]string, len(g.Stages))
	for i, s := range g.Stages {
		rows[i] = []string{s.Rung.String(), strconv.Itoa(s.AtStart), strconv.Itoa(s.AtEnd)}
	}
	return f.table(x, y, width, []string{"Athletes on", "Start", "End"}, []float64{0.88, 1}, rows)
}

// table draws a table whose first column is text and whose others are figures
// with their right edges at ends, shares of the width.
func (f frame) table(x, y, width float64, heads []string, ends []float64, rows [][]string) float64 {
	first := width*ends[0] - 34
	f.Element(paper.Table, "", func() {
		f.Element(paper.Row, "", func() {
			for i, head := range heads {
				f.Element(paper.HeaderCell, "", func() {
					if i == 0 {
						f.Text(x, y+8, quiet(8), paper.Left, head)
					} else {
						from := x + first
						if i > 1 {
							from = x + ends[i-2]*width + 4
						}
						f.TextIn(from, y+8, x+ends[i-1]*width-from, quiet(8), paper.Right, head)
					}
				})
			}
		})
		y += 12
		f.Line(x, y, x+width, y, paper.Stroke{Width: 1, Color: ink})
		for _, cells := range rows {
			f.Element(paper.Row, "", func() {
				for i, cell := range cells {
					f.Element(paper.Cell, "", func() {
						if i == 0 {
							f.TextIn(x, y+10, first, body(8.5), paper.Left, cell)
						} else {
							f.Text(x+ends[i-1]*width, y+10, body(8.5), paper.Right, cell)
						}
					})
				}
			})
			y += 14
			f.Line(x, y, x+width, y, paper.Stroke{Width: 0.5, Color: hair})
		}
	})
	return y + 3
}

// attention lists who needs a look, as many as the page holds.
func (p *PDF) attention(f frame, y float64, g review.Group) {
	y = f.section(f.left, y, f.width(), "Who needs a look")
	if len(g.Attention) == 0 {
		f.say(f.left, y, f.width(), body(9.5), "Nobody at the moment.")
		return
	}
	x, bottom := f.left, f.bottom-40
	columns, width := 1, f.width()
	if f.attentionHeight(width, g.Attention) > bottom-y {
		columns, width = 2, (f.width()-gap)/2
	}
	top, column, shown := y, 1, 0
	f.Element(paper.List, "", func() {
		for _, a := range g.Attention {
			height := f.itemHeight(width, a)
			if y+height > bottom && column < columns {
				x, y, column = x+width+gap, top, column+1
			}
			if y+height > bottom {
				break
			}
			f.Element(paper.Item, "", func() {
				f.Element(paper.ItemBody, "", func() {
					name := strong(8.5)
					name.Lang = a.Athlete.Lang
					f.Page.TextIn(x, y+9.2, nameShare*width-6, name, paper.Left, a.Athlete.Name)
					f.Block(x+nameShare*width, y, (1-nameShare)*width, body(8.5), a.Words())
				})
			})
			y += height
			shown++
		}
	})
	if left := len(g.Attention) - shown; left > 0 {
		f.Element(paper.Paragraph, "", func() {
			f.Text(f.left, bottom+10, quiet(8.5), paper.Left, fmt.Sprintf("And %d more; the page of the report lists them all.", left))
		})
	}
}

// nameShare is the part of an item's width that the name gets.
const nameShare = 0.4

func (f frame) itemHeight(width float64, a review.Attention) float64 {
	return f.Height((1-nameShare)*width, body(8.5), a.Words()) + 1.5
}

func (f frame) attentionHeight(width float64, all []review.Attention) float64 {
	height := 0.0
	for _, a := range all {
		if height += f.itemHeight(width, a); height > f.bottom {
			break
		}
	}
	return height
}
