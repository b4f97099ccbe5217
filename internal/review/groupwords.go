package review

import (
	"fmt"
	"strings"
)

// Words says why somebody needs a look.
func (r Reason) Words() string {
	switch r {
	case NoTest:
		return "no base test in the last six weeks"
	case AwayInRow:
		return "away from the last meetings"
	case Seldom:
		return "came to fewer than six in ten meetings"
	case OddLeft:
		return "a result still needs a look"
	case NoStage:
		return "no stage decided yet"
	case GateMet:
		return "the gate is met: decide about the next stage"
	case SameStage:
		return "eight weeks or more on one stage"
	case Slower:
		return "really slower than at the start"
	default:
		return string(r)
	}
}

// Words lists why an athlete needs a look.
func (a Attention) Words() string {
	words := make([]string, len(a.Reasons))
	for i, r := range a.Reasons {
		words[i] = r.Words()
	}
	return strings.Join(words, "; ")
}

// Sentences say what the term changed for everybody together.
func (g Group) Sentences() []string {
	said := []string{fmt.Sprintf("%s, %d of them tested.", counted(g.Athletes, "athlete", "athletes"), g.Tested)}
	if judged := g.Real.Faster + g.Real.Slower + g.Real.WithinError; judged > 0 {
		said = append(said, fmt.Sprintf("Tested at both ends: %d. Really faster: %d, really slower: %d, may be chance: %d.",
			judged, g.Real.Faster, g.Real.Slower, g.Real.WithinError))
	}
	if g.Gain.Shown() {
		said = append(said, fmt.Sprintf("The middle change of the whole-test rate is %s rpm.", signed(g.Gain.Middle)))
	}
	if g.Movers == 0 {
		said = append(said, "Nobody moved up a stage.")
	} else {
		said = append(said, fmt.Sprintf("%s moved up, %s together.", counted(g.Movers, "athlete", "athletes"), counted(g.Moves, "stage", "stages")))
	}
	if g.Noted > 0 {
		said = append(said, fmt.Sprintf("Athletes came to %s %% of the meetings they could come to.", whole(100*float64(g.Here)/float64(g.Noted))))
	}
	return said
}

func signed(v float64) string {
	if whole(v) != "0" && v > 0 {
		return "+" + whole(v)
	}
	return whole(v)
}
