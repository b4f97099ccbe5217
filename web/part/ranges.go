package part

import "math"

// Ranges is how quantities of one unit lie over many people, without names: from
// the lowest to the highest with the middle one marked, at two times each.
type Ranges struct {
	ID      string
	Title   string
	Finding string
	Unit    string
	Rows    []Range
}

// Range is one quantity at one time. Count is how many people are in it.
type Range struct {
	Name              string // "Whole test, start"
	Count             int
	Low, Middle, High float64
	Later             bool // the later of two times: drawn thick
}

const (
	rangeRow  = 40.0
	rangeFoot = 46.0 // the figures and beneath them the unit
)

// rangesView is ranges ready to be drawn; across are shares of the width.
type rangesView struct {
	height float64
	ticks  []rangeTick
	rows   []rangeView
}

type rangeTick struct {
	x    float64
	text string
}

type rangeView struct {
	y                 float64
	low, middle, high float64
	class             string
}

func (r Ranges) view() rangesView {
	low, high := math.Inf(1), math.Inf(-1)
	for _, row := range r.Rows {
		low, high = min(low, row.Low), max(high, row.High)
	}
	if low > high {
		low, high = 0, 1
	}
	step := niceStep(max(high-low, 4) / mostRungs)
	low, high = math.Floor(low/step)*step, math.Ceil(high/step)*step
	if high == low {
		high += step
	}
	x := func(v float64) float64 { return 0.03 + 0.94*(v-low)/(high-low) }
	v := rangesView{height: rangeRow*float64(len(r.Rows)) + rangeFoot}
	for value := low; value <= high+step/2; value += step {
		v.ticks = append(v.ticks, rangeTick{x(value), Whole(value)})
	}
	for i, row := range r.Rows {
		class := "range-line"
		if row.Later {
			class = "range-line range-later"
		}
		v.rows = append(v.rows, rangeView{y: rangeRow * (float64(i) + 0.7), low: x(row.Low), middle: x(row.Middle), high: x(row.High), class: class})
	}
	return v
}
