package review

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"ropewalk.example/internal/progress"
)

// Day writes a day as pages do: "Thu 5 Nov".
func Day(day time.Time) string { return day.Format("Mon 2 Jan") }

// whole writes a number without decimals and with a true minus sign.
func whole(v float64) string {
	if v = math.Round(v); v < 0 {
		return "−" + strconv.FormatFloat(-v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v+0, 'f', 0, 64) // +0: no "-0"
}

// tenths writes a number with one decimal.
func tenths(v float64) string { return strconv.FormatFloat(v+0, 'f', 1, 64) }

// counted writes "1 test", "3 tests".
func counted(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + more
}

// stepWords are the steps within a sentence.
func stepWords(step string) string {
	switch step {
	case "alternate":
		return "in the alternate step"
	case "double":
		return "in double unders"
	default:
		return "in the bounce step"
	}
}

// ropeWords are the kinds of rope within a sentence.
func ropeWords(kind string) string {
	switch kind {
	case "":
		return "the rope was not noted"
	case "cord":
		return "with a PVC cord"
	case "steel":
		return "with a coated steel cable"
	default:
		return "with a " + kind + " rope"
	}
}

// On says what rates were measured on: "in the bounce step, with a beaded rope".
func On(step, rope string) string { return stepWords(step) + ", " + ropeWords(rope) }

// Words says what became of a rate, in a few words for a table.
func (m Movement) Words() string {
	switch {
	case !m.Judged():
		return "too few tests"
	case m.Change.Verdict == progress.WithinError:
		return "may be chance"
	case m.Change.Difference > 0:
		return "really faster"
	default:
		return "really slower"
	}
}

// Sentences say what became of the rates, and where that came from.
func (r Rates) Sentences() []string { return append(r.Finding(), r.Origin()...) }

// Finding says what became of the rate over the whole test.
func (r Rates) Finding() []string {
	m := r.Whole
	switch {
	case len(r.Tests) == 0:
		return []string{"There was no timed test this term."}
	case !m.Judged():
		return []string{
			fmt.Sprintf("%s this term: %s rpm over the whole test.", counted(len(r.Tests), "test", "tests"), whole(m.Start.RPM)),
			"Another test three weeks later or more will show a change.",
		}
	}
	return []string{fmt.Sprintf("Over the whole test the rate went from %s to %s rpm%s.", whole(m.Start.RPM), whole(m.End.RPM), moreOrFewer(m.Gain())), m.because()}
}

// Origin says where a change of the whole-test rate came from, and what became
// of the turning rate; nothing where that is not known.
func (r Rates) Origin() []string {
	var said []string
	if split := r.Split.sentence(r.Whole.Gain()); split != "" {
		said = append(said, split)
	}
	if t := r.Turning; r.Whole.Judged() && t.Judged() && t.Change.Verdict == progress.RealChange && r.Whole.Change.Verdict != progress.RealChange {
		said = append(said, fmt.Sprintf("While the rope turned it went from %s to %s rpm: that change is real.", whole(t.Start.RPM), whole(t.End.RPM)))
	}
	return said
}

func moreOrFewer(gain float64) string {
	switch {
	case gain > 0:
		return ", " + whole(gain) + " more"
	case gain < 0:
		return ", " + whole(-gain) + " fewer"
	default:
		return ""
	}
}

// because says why a change is real or not.
func (m Movement) because() string {
	by := fmt.Sprintf("Tests of one person differ by about %s rpm by themselves", whole(m.Change.Needed))
	if m.Assumed {
		by = fmt.Sprintf("Tests of one person are taken to differ by about %s rpm by themselves", whole(m.Change.Needed))
	}
	if m.Change.Verdict == progress.RealChange {
		return by + ": this change is real."
	}
	return by + ": this change may be chance."
}

// sentence says where a change of the whole-test rate came from, "" where that
// is not known or nothing changed.
func (s Split) sentence(gain float64) string {
	catches, turning := s.FewerCatches, s.TurningFaster
	switch {
	case !s.Known || catches == 0 && turning == 0:
		return ""
	case turning == 0 && catches > 0:
		return "All of it came from fewer catches."
	case catches == 0 && turning > 0:
		return "All of it came from turning faster."
	case catches > 0 && turning > 0:
		return fmt.Sprintf("Of these %s rpm, %s came from fewer catches and %s from turning faster.", whole(gain), whole(catches), whole(turning))
	case catches > 0:
		return fmt.Sprintf("Fewer catches gave %s rpm, turning more slowly took %s.", whole(catches), whole(-turning))
	case turning > 0:
		return fmt.Sprintf("Turning faster gave %s rpm, more catches took %s.", whole(turning), whole(-catches))
	case turning == 0:
		return fmt.Sprintf("More catches took %s rpm.", whole(-catches))
	case catches == 0:
		return fmt.Sprintf("Turning more slowly took %s rpm.", whole(-turning))
	default:
		return fmt.Sprintf("More catches took %s rpm, turning more slowly %s.", whole(-catches), whole(-turning))
	}
}

// CatchSentence says how often the rope was stopped, "" where it is not known.
func (r Rates) CatchSentence() string {
	e := r.PerMinute
	switch {
	case e.KnownStart && e.KnownEnd:
		return fmt.Sprintf("Catches in a minute: %s at the start, %s at the end.", tenths(e.Start), tenths(e.End))
	case e.KnownStart:
		return fmt.Sprintf("Catches in a minute: %s.", tenths(e.Start))
	default:
		return ""
	}
}

// Sentences say how long the rope went round without a catch.
func (r Runs) Sentences() []string {
	var said []string
	switch {
	case r.Best.Reps == 0:
		said = append(said, "No run without a catch was counted this term.")
	case r.Best.Seconds > 0:
		said = append(said, fmt.Sprintf("The longest stretch without a catch was %s, in a test of %s s on %s.",
			counted(r.Best.Reps, "jump", "jumps"), whole(r.Best.Seconds), Day(r.Best.Day)))
	default:
		said = append(said, fmt.Sprintf("The longest clean run was %s, on %s.", counted(r.Best.Reps, "jump", "jumps"), Day(r.Best.Day)))
	}
	if r.Clean.HasMedian {
		said = append(said, fmt.Sprintf("Of %s, half went past %s.", counted(len(r.Clean.All), "counted run", "counted runs"), counted(r.Clean.Median, "jump", "jumps")))
	}
	if r.BestRow.Reps > 0 {
		said = append(said, fmt.Sprintf("The longest row of double unders was %d, on %s.", r.BestRow.Reps, Day(r.BestRow.Day)))
	}
	return said
}

// String writes a rung as "stage 4, Steady minute".
func (r Rung) String() string {
	switch {
	case !r.Known():
		return "no stage"
	case r.Number == 0:
		return strings.TrimSpace(r.Title)
	default:
		return fmt.Sprintf("stage %d, %s", r.Number, r.Title)
	}
}

// Sentences say where the athlete stood and what moved.
func (c Climb) Sentences() []string {
	switch {
	case !c.End.Known():
		return []string{"No stage has been decided yet."}
	case len(c.Moves) == 0:
		return []string{"On " + c.End.String() + ", all term."}
	}
	said := []string{"Began on " + c.Start.String() + "."}
	for _, m := range c.Moves {
		way := "Moved to "
		if m.Up {
			way = "Moved up to "
		}
		said = append(said, way+m.To.String()+", on "+Day(m.Day)+".")
	}
	return said
}

// Sentence says which meetings the athlete came to.
func (a Attendance) Sentence() string {
	if a.Noted == 0 {
		return "Nobody noted who came this term."
	}
	return fmt.Sprintf("Came to %d of %s.", a.Here, counted(a.Noted, "meeting", "meetings"))
}

// Sentences say how much was done.
func (l Load) Sentences() []string {
	var said []string
	if l.Sessions > 0 {
		said = append(said, fmt.Sprintf("Said how it went for %s, %s minutes together.", counted(l.Sessions, "session", "sessions"), whole(l.Minutes)))
	}
	if !math.IsNaN(l.Effort) {
		said = append(said, fmt.Sprintf("Effort was %s of 10 on average.", tenths(l.Effort)))
	}
	if l.Contacts > 0 {
		said = append(said, fmt.Sprintf("%s jumps were counted.", Thousands(l.Contacts)))
	}
	if len(said) == 0 {
		return []string{"Nothing was said of how sessions went."}
	}
	return said
}

// Thousands writes a whole number with a thin gap before each three digits.
func Thousands(n int) string {
	digits := strconv.Itoa(n)
	for at := len(digits) - 3; at > 0; at -= 3 {
		digits = digits[:at] + "\u202f" + digits[at:]
	}
	return digits
}

// Sentences say what comes next: the coach's words first.
func (a Aim) Sentences() []string {
	var said []string
	if a.Words != "" {
		said = append(said, a.Words)
	}
	switch {
	case !a.Stage.Known():
	case a.Met && a.Next.Known():
		said = append(said, fmt.Sprintf("The gate of %s is met. The coach decides about %s.", a.Stage, a.Next))
	case a.Next.Known():
		said = append(said, fmt.Sprintf("Next comes %s. The gate still asks:", a.Next))
		said = append(said, a.Missing...)
	}
	return said
}

// Lead is the term in three sentences.
func (a Athlete) Lead() []string {
	lead := a.Rates.Sentences()[:1]
	switch ups := a.Climb.Ups(); {
	case !a.Climb.End.Known():
	case ups > 0:
		lead = append(lead, fmt.Sprintf("Moved up %s, to %s.", counted(ups, "stage", "stages"), a.Climb.End))
	default:
		lead = append(lead, "Stands on "+a.Climb.End.String()+".")
	}
	return append(lead, a.Attendance.Sentence())
}
