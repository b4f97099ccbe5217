package review

import (
	"fmt"

	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/rhythm"
)

// Doubles are where an athlete stands with double unders at the end of the span.
type Doubles struct {
	Tried bool // within the span; else nothing is known and nothing is said
	finding.Doubles
}

// Drawn reports whether there is a place of the athlete's to draw.
func (d Doubles) Drawn() bool { return d.Tried && d.Known }

func (g Ground) doublesOf(results []gym.Result) Doubles {
	for _, r := range results {
		switch r.Protocol {
		case rate.DoublesRun, rate.InDouble, rate.Flight:
			return Doubles{true, finding.DoublesOf(results, level.Of(results, g.AsOf), g.Sweep, g.AsOf)}
		}
	}
	return Doubles{}
}

// Sentences say what a double asks of the athlete's jump.
func (d Doubles) Sentences() []string {
	if !d.Drawn() {
		return nil
	}
	a := d.Advice
	said := []string{fmt.Sprintf("At %s rpm of the rope a double needs a jump of %s.", whole(d.RopeRPM), centimetres(a.Height))}
	switch {
	case !a.Allowed:
		said = append(said, fmt.Sprintf("Higher than %s is not planned: turn faster first.", centimetres(rhythm.MaxHeight)))
	case a.Measured && a.Margin >= 0:
		said = append(said, fmt.Sprintf("The measured jump was %s high: high enough.", centimetres(a.JumpHeight)))
	case a.Measured:
		said = append(said, fmt.Sprintf("The measured jump was %s high: not yet high enough.", centimetres(a.JumpHeight)))
	}
	if a.FirstGuess {
		said = append(said, "The rate is a first guess, from bursts.")
	}
	return said
}

// centimetres writes metres as whole centimetres.
func centimetres(metres float64) string { return whole(100*metres) + " cm" }
