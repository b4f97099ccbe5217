package ladder

import "math"

// A Drill is what to practise at a stage, at the athlete's own rates: the blocks
// in order, all of them Cycles times without a pause, and so Sets times with
// RestSeconds between.
type Drill struct {
	Text        string  `json:"text"`
	Blocks      []Block `json:"blocks,omitempty"`
	Cycles      int     `json:"cycles,omitempty"` // 0 means 1
	Sets        int     `json:"sets,omitempty"`   // 0 means 1
	RestSeconds int     `json:"rest_seconds,omitempty"`
}

// A Block is one run at one rate, for Reps or for Seconds, the other being 0.
type Block struct {
	Reps    int    `json:"reps,omitempty"`
	Seconds int    `json:"seconds,omitempty"`
	At      Pace   `json:"at"`
	Percent int    `json:"percent,omitempty"` // of that rate; 0 means 100
	Step    string `json:"step,omitempty"`    // a step's key, "" if there is no rope under the feet
}

// A Pace names one of the athlete's own rates.
type Pace string

// The paces. Nothing is prescribed above 95 % of a burst rate.
const (
	Free         Pace = "free"   // as it comes
	BasePace     Pace = "base"   // the base rate
	BurstPace    Pace = "burst"  // the burst rate
	TargetPace   Pace = "target" // what the planner aims bursts at
	DoublePace   Pace = "double" // jumps a minute in which doubles are in time
	burstPercent      = 95
)

// Paces lists the paces by key.
func Paces() []Pace { return []Pace{Free, BasePace, TargetPace, BurstPace, DoublePace} }

// Steps lists the jump steps by key.
func Steps() []string { return []string{"bounce", "alternate", "double"} }

// Rates are an athlete's own rates, 0 where unknown: Base, Burst and Target in
// rpm, Double in jumps a minute.
type Rates struct{ Base, Burst, Target, Double float64 }

func (r Rates) at(p Pace) float64 {
	switch p {
	case BasePace:
		return r.Base
	case BurstPace:
		return r.Burst
	case TargetPace:
		return r.Target
	case DoublePace:
		return r.Double
	}
	return 0
}

// A Line is one block at the athlete's own rate. Rate is in rpm, for doubles in
// jumps a minute, and 0 when free. Reps and Seconds are both known when Rate is.
type Line struct {
	Block   Block
	Rate    float64
	Reps    int     // rounded down
	Seconds float64 // exact
}

// At returns the lines of d at rates, and the paces that d needs and rates lacks,
// each once; the lines of these have no rate.
func (d Drill) At(rates Rates) (lines []Line, lacking []Pace) {
	for _, b := range d.Blocks {
		percent := b.Percent
		if percent == 0 {
			percent = 100
		}
		line := Line{Block: b, Rate: rates.at(b.At) * float64(percent) / 100, Reps: b.Reps, Seconds: float64(b.Seconds)}
		switch {
		case b.At != Free && line.Rate == 0:
			lacking = appendPace(lacking, b.At)
		case b.At == Free:
		case b.Seconds > 0:
			line.Reps = int(math.Floor(float64(b.Seconds) * line.Rate / 60))
		default:
			line.Seconds = float64(b.Reps) * 60 / line.Rate
		}
		lines = append(lines, line)
	}
	return lines, lacking
}

func appendPace(paces []Pace, p Pace) []Pace {
	for _, known := range paces {
		if known == p {
			return paces
		}
	}
	return append(paces, p)
}
