package part

import "strconv"

// figureOf is what stands on a tread.
func figureOf(t Tread) string {
	if t.Label != "" {
		return t.Label
	}
	return Whole(t.RPM)
}

// amounts is what stands under the floor, how many or how long, from the
// fullest wording to the shortest.
func (t Tread) amounts() []string {
	if t.Reps > 0 {
		return []string{Count(t.Reps, wordRep, wordReps), strconv.Itoa(t.Reps)}
	}
	return []string{Seconds(t.Seconds)}
}

// nameAll puts figures on a session drawn large, and names its gates.
func (c canvas) nameAll(treads []Tread, gates []Moment) []stepLabel {
	var named labels
	for _, gate := range gates {
		named.under(c, gate.Seconds, 0, gate.Label)
	}
	at := 0.0
	for i, t := range treads {
		if t.Kind != Rest {
			named.add(c, treads, i, at)
		}
		named.under(c, at, t.Seconds, t.amounts()...)
		at += t.Seconds
	}
	return named.placed
}

// labels are figures placed so that none meets another or a line, even on the
// narrowest screen. What finds no place is left to the sentence and the table.
type labels struct {
	placed []stepLabel
	taken  []box
}

type box struct{ left, right, top, bottom float64 }

func (b box) meets(other box) bool {
	return b.left < other.right && other.left < b.right && b.top < other.bottom && other.top < b.bottom
}

// add puts its figure on tread i, which begins at seconds at; beneath its line
// if there is no room on it. It reports whether there was room at all.
func (l *labels) add(c canvas, treads []Tread, i int, at float64) bool {
	t := treads[i]
	above := c.fit(at, t.Seconds, c.y(t)-9, figureOf(t), "step-figure")
	if !c.hidden(treads, i, above.box) && l.take(above) {
		return true
	}
	below := c.fit(at, t.Seconds, c.y(t)+20, figureOf(t), "step-figure")
	return c.within(t.Seconds, below.box) && c.floor()-c.y(t) > 24 && l.take(below)
}

// under puts the first of texts that is no wider than the stretch below the
// floor, or the last.
func (l *labels) under(c canvas, at, seconds float64, texts ...string) {
	for i, text := range texts {
		fitted := c.fit(at, seconds, c.floor()+20, text, "step-time")
		if i == len(texts)-1 || c.within(seconds, fitted.box) {
			l.take(fitted)
			return
		}
	}
}

// within reports whether b is no wider than a stretch.
func (c canvas) within(seconds float64, b box) bool {
	return b.right-b.left <= c.share(seconds)*narrowest
}

// candidate is a label with the room it takes on the narrowest screen.
type candidate struct {
	box
	label stepLabel
}

// fit centres text on a stretch, or moves it inside at the picture's edges.
func (c canvas) fit(at, seconds, y float64, text, class string) candidate {
	width := float64(len([]rune(text)))*digit + 2
	middle := c.share(at+seconds/2) * narrowest
	label := stepLabel{x: c.share(at + seconds/2), y: y, anchor: "middle", class: class, text: text}
	left := middle - width/2
	switch {
	case left < 0:
		left, label.x, label.anchor = 0, 0, "start"
	case left+width > narrowest:
		left, label.x, label.anchor = narrowest-width, 1, "end"
	}
	return candidate{box{left, left + width, y - 14, y + 3}, label}
}

func (l *labels) take(c candidate) bool {
	for _, other := range l.taken {
		if c.meets(other) {
			return false
		}
	}
	l.taken = append(l.taken, c.box)
	l.placed = append(l.placed, c.label)
	return true
}

// hidden reports whether b, on tread i, would lie across the line of another
// tread.
func (c canvas) hidden(treads []Tread, i int, b box) bool {
	start := 0.0
	for j, t := range treads {
		line := box{c.share(start) * narrowest, c.share(start+t.Seconds) * narrowest, c.crown(t), c.floor()}
		if j != i && t.Kind != Rest && b.meets(line) {
			return true
		}
		start += t.Seconds
	}
	return false
}
