package cleanrun

import "ropewalk.example/internal/stats"

// A Tally counts reps tried at one pace: clean ones and catches.
type Tally struct {
	Reps    int // clean reps
	Catches int // reps that the rope ended
}

// Trials returns the reps at risk: clean ones and catches together.
func (t Tally) Trials() int { return t.Reps + t.Catches }

// Add returns t and u together.
func (t Tally) Add(u Tally) Tally { return Tally{t.Reps + u.Reps, t.Catches + u.Catches} }

// TallyRuns counts the clean reps and the catches of runs.
func TallyRuns(runs []Run) (Tally, error) {
	var t Tally
	for _, r := range runs {
		if r.Reps < 0 || r.Reps > MaxReps {
			return Tally{}, ErrReps
		}
		t.Reps += r.Reps
		if r.Caught {
			t.Catches++
		}
	}
	return t, nil
}

// Pace says at which of an athlete's two rates a block was turned.
type Pace int

// The two paces of a split.
const (
	Base Pace = iota
	Burst
)

// A Block is one logged stretch at one pace, with its catches.
type Block struct {
	Pace    Pace
	Reps    int // clean reps, 0–[MaxReps]
	Catches int // 0–[MaxReps]
}

// TallyBlocks counts base and burst apart: most athletes catch several times
// as often at burst pace, and a mean of the two would describe neither.
func TallyBlocks(blocks []Block) (base, burst Tally, err error) {
	for _, b := range blocks {
		if min(b.Reps, b.Catches) < 0 || max(b.Reps, b.Catches) > MaxReps {
			return Tally{}, Tally{}, ErrReps
		}
		t := Tally{b.Reps, b.Catches}
		if b.Pace == Burst {
			burst = burst.Add(t)
		} else {
			base = base.Add(t)
		}
	}
	return base, burst, nil
}

// A Hazard is the chance of a catch at each rep, 0–1, with its interval.
type Hazard struct{ Rate, Low, High float64 }

// Hazard returns catches per rep at risk with the equal-tailed Jeffreys
// interval from Beta(catches + ½, clean reps + ½).
//
// It returns [ErrNoRuns] without a trial, [ErrReps] and [ErrConfidence].
//
// Source: L. D. Brown, T. T. Cai and A. DasGupta, Stat. Sci. 16 (2001) 101–133;
// their adjustment at 0 and n events is left out: the interval is the plain
// Beta one throughout.
func (t Tally) Hazard(confidence float64) (Hazard, error) {
	if err := t.check(); err != nil {
		return Hazard{}, err
	}
	if !(confidence > 0 && confidence < 1) {
		return Hazard{}, ErrConfidence
	}
	a, b := t.posterior()
	tail := (1 - confidence) / 2
	return Hazard{
		Rate: float64(t.Catches) / float64(t.Trials()),
		Low:  stats.BetaQuantile(tail, a, b),
		High: stats.BetaQuantile(1-tail, a, b),
	}, nil
}

// posterior returns the parameters of the Beta distribution of the hazard
// after t, from Jeffreys' prior Beta(½, ½).
func (t Tally) posterior() (a, b float64) {
	return float64(t.Catches) + 0.5, float64(t.Reps) + 0.5
}

func (t Tally) check() error {
	switch {
	case t.Reps < 0 || t.Catches < 0:
		return ErrReps
	case t.Trials() == 0:
		return ErrNoRuns
	}
	return nil
}
