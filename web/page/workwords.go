package page

import (
	"fmt"
	"math"
	"strings"

	"ropewalk.example/internal/cleanrun"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rhythm"
	"ropewalk.example/web/part"
)

// RunsSentence says how far clean runs go. what is "clean reps" or "doubles".
func RunsSentence(r finding.Runs, what string) string {
	if !r.Known() {
		return ""
	}
	text := part.Count(len(r.All), "run", "runs") + " in 12 weeks, the longest of " + fmt.Sprintf("%d %s", r.Longest, what)
	switch {
	case len(r.All) < 3:
		return text + "."
	case r.HasMedian:
		return text + fmt.Sprintf(". Half of them end by %d.", r.Median)
	default:
		return text + ". More than half are likely to go past it."
	}
}

// hazardWords writes a chance of a catch as "1 catch in 48 reps, likely 1 in
// 34 to 1 in 73".
func hazardWords(h finding.Hazard) string {
	if h.Trials() == 0 {
		return "not counted yet"
	}
	oneIn := func(rate float64) string { return part.Whole(1 / rate) }
	if h.Catches == 0 {
		return fmt.Sprintf("no catch in %d reps, at most 1 in %s", h.Reps, oneIn(h.High))
	}
	if h.Rate > 2.0/3 {
		return fmt.Sprintf("a catch at nearly every rep (%d in %d)", h.Catches, h.Trials())
	}
	return fmt.Sprintf("1 catch in %s reps, likely 1 in %s to 1 in %s", oneIn(h.Rate), oneIn(h.High), oneIn(h.Low))
}

func basisWords(h finding.Hazard) string {
	var from []string
	if h.FromTests > 0 {
		from = append(from, part.Count(h.FromTests, "rep", "reps")+" in tests")
	}
	if h.FromSets > 0 {
		from = append(from, part.Count(h.FromSets, "rep", "reps")+" in sets")
	}
	return strings.Join(from, ", ")
}

func patternSentence(f cleanrun.Finding) string {
	switch f.Pattern {
	case cleanrun.AtStart:
		return fmt.Sprintf("Catches come at the start: %d in the first third of all reps, %d in the last.", f.Early.Catches, f.Late.Catches)
	case cleanrun.AsItGrows:
		return fmt.Sprintf("Catches come as the run grows long: %d in the first third of all reps, %d in the last.", f.Early.Catches, f.Late.Catches)
	}
	if f.Missing > 0 {
		return fmt.Sprintf("No pattern yet of where catches come. %s would tell.", part.Count(f.Missing, "more catch", "more catches"))
	}
	return "No pattern: catches come all along the run."
}

// DoublesSentence says how near double unders are.
func DoublesSentence(d finding.Doubles) string {
	if !d.Known {
		return "No burst test yet. It gives a first guess of what a double asks."
	}
	turn := "The rope turns in " + hundredth(d.Turn) + "\u00a0s"
	switch d.Readiness {
	case rhythm.Several:
		return turn + ", as fast as those who string doubles together (0.25\u00a0s)."
	case rhythm.OneAtATime:
		return turn + ". People who string doubles together are near 0.25\u00a0s; those who make one, near 0.28\u00a0s."
	case rhythm.Near:
		return turn + ". People who make one double are near 0.28\u00a0s; those who make none, near 0.31\u00a0s."
	default:
		return turn + ". That is as slow as those who could not double yet (0.31\u00a0s): turn faster first."
	}
}

// centimetres writes metres as whole centimetres.
func centimetres(m float64) string { return part.Whole(100*m) + "\u00a0cm" }

// doubleLines say in numbers what a double asks and what to change.
func doubleLines(d finding.Doubles) []string {
	a := d.Advice
	lines := []string{
		fmt.Sprintf("At %s rpm a double needs %s s in the air: a jump of %s.", part.Whole(d.RopeRPM), hundredth(a.Airtime), centimetres(a.Height)),
		fmt.Sprintf("Two turns fit into a beat up to %s jumps a minute. Cue %s.", part.Whole(math.Floor(a.TopCadence)), part.Whole(a.CueCadence)),
		fmt.Sprintf("10 rpm more would save %s cm of height.", tenth(100*a.SavedBy10)),
	}
	if a.Measured {
		margin := fmt.Sprintf("%s ms to spare", part.Whole(1000*a.Margin))
		if a.Margin < 0 {
			margin = fmt.Sprintf("%s ms too short", part.Whole(math.Ceil(-1000*a.Margin)))
		}
		lines = append(lines, fmt.Sprintf("Measured on %s: %s s in the air (%s), %s.", part.Day(d.FlightOn), hundredth(d.Flight), centimetres(a.JumpHeight), margin))
	}
	for _, step := range a.Steps {
		switch step {
		case rhythm.TurnFaster:
			lines = append(lines, fmt.Sprintf("First turn faster: below %s rpm a double would need more than 20 cm, and none is planned.", part.Whole(math.Ceil(a.SlowestRope))))
		case rhythm.SlowTheCue:
			lines = append(lines, "Slow the beat: at the base rate two turns do not fit.")
		case rhythm.JumpHigher:
			lines = append(lines, "Jump a little higher, or turn faster: the measured jump is too short.")
		}
	}
	if a.FirstGuess {
		lines = append(lines, "All of this is a first guess from the burst rate. Measure the rate inside a double at stage 9.")
	}
	return lines
}

// LoadSentence says what the last seven days asked.
func LoadSentence(l finding.Load) string {
	w := l.Weeks[0]
	switch {
	case l.Sessions == 0 && w.Jumps.Contacts() == 0:
		return "No session told of in the last four weeks."
	case w.Sessions == 0 && w.Jumps.Contacts() == 0:
		return "Nothing in the last seven days."
	}
	text := fmt.Sprintf("Last 7 days: %s, %s.", part.Count(w.Sessions, "session", "sessions"), part.Count(w.Jumps.Contacts(), "jump", "jumps"))
	switch l.Ramp {
	case progress.RampSteep:
		return text + fmt.Sprintf(" That is %s more than the week before: is it meant?", part.Percent(l.Rise))
	case progress.RampRaised:
		return text + fmt.Sprintf(" That is %s more than the week before: was it meant?", part.Percent(l.Rise))
	case progress.RampSteady:
		if w.Jumps.Contacts() == 0 {
			return text
		}
		if math.Round(100*l.Rise) == 0 {
			return text + " As many as the week before."
		}
		return text + fmt.Sprintf(" %s %% against the week before.", part.Signed(100*l.Rise))
	}
	return text
}

// figureOr writes a number, or a dash for what is not defined.
func figureOr(x float64, write func(float64) string) string {
	if math.IsNaN(x) {
		return "–"
	}
	return write(x)
}

// CareSentence says what pain leaves of the plan.
func CareSentence(c progress.Care) string {
	switch c.State {
	case progress.Held:
		return "Impact work is on hold since " + part.Day(c.HeldSince) + " because of pain."
	case progress.Restarting:
		return "Starting again after pain: half the jumps, no doubles, until " + part.Count(c.SessionsLeft, "more session", "more sessions") + " without pain."
	}
	if c.LastPain.IsZero() {
		return "No pain reported."
	}
	return "Last pain told of on " + part.Day(c.LastPain) + "."
}

// signWords names what pain is like.
func signWords(signs []string) string {
	words := make([]string, 0, len(signs))
	for _, option := range signOptions() {
		for _, sign := range signs {
			if sign == option.Value {
				words = append(words, option.Text)
			}
		}
	}
	return strings.Join(words, ", ")
}

// noteSentences say what about a plan's evidence its reader should know.
func noteSentences(notes []string) []string {
	var lines []string
	for _, note := range notes {
		switch note {
		case "burst_other_step":
			lines = append(lines, "The burst was tested on another step or rope than the base. Test both alike.")
		case "all_out_left_out":
			lines = append(lines, "The all-out tests disagree and were left out. The athlete's page says which to repeat.")
		case "burst_hazard":
			lines = append(lines, "Too few bursts were counted yet, so catches in bursts are taken to be as rare as at base.")
		case "odd_left_out":
			lines = append(lines, "Results that need a look were left out. Check them, then make new plans.")
		case "no_stage":
			lines = append(lines, "Nobody has put this athlete on a stage yet, so the ladder sets no limit.")
		}
	}
	return lines
}
