package part

import "math"

// Bars is a quantity week by week, each a bar, with a second number beneath.
type Bars struct {
	ID      string
	Title   string
	Finding string
	Unit    string
	When    string // head of the table's first column
	Under   string // what the numbers beneath are; "" for none
	Bars    []Bar
}

// Bar is one week. Under is the number beneath, "" where there is none.
type Bar struct {
	When  string
	Value float64
	Under string
}

const (
	barsTop    = 12.0
	barsFloor  = 124.0
	barsHeight = 168.0
)

// barsView is bars ready to be drawn; widths are shares.
type barsView struct {
	rungs []rung
	bars  []barView
}

type barView struct {
	x, width  float64
	y, height float64
	middle    float64
	tick      string // "" where there is no room for words
}

func (b Bars) view() barsView {
	highest := 0.0
	for _, bar := range b.Bars {
		highest = max(highest, bar.Value)
	}
	step := 1.0
	if highest > 0 {
		step = niceStep(highest / 3)
	}
	top := max(step, math.Ceil(highest/step)*step)
	y := func(v float64) float64 { return barsFloor - (barsFloor-barsTop)*v/top }
	var v barsView
	for value := 0.0; value <= top+step/2; value += step {
		v.rungs = append(v.rungs, rung{y(value), Whole(value)})
	}
	each := 1 / float64(max(1, len(b.Bars)))
	every := (len(b.Bars) + 3) / 4 // words fit under four weeks on the narrowest screen
	for i, bar := range b.Bars {
		drawn := barView{x: (float64(i) + 0.2) * each, width: 0.6 * each, y: y(bar.Value), middle: (float64(i) + 0.5) * each}
		drawn.height = barsFloor - drawn.y
		if i%every == 0 {
			drawn.tick = bar.When
		}
		v.bars = append(v.bars, drawn)
	}
	return v
}

// side is the width of the words beside the bars. Other languages need more.
func (b Bars) side() float64 { return max(56, 12*float64(len([]rune(b.Under)))+8) }

func (b Bars) hasUnder() bool {
	for _, bar := range b.Bars {
		if bar.Under != "" {
			return true
		}
	}
	return false
}
