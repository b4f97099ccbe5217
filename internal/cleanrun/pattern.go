package cleanrun

import (
	"math"
	"sort"
)

// A Pattern says where in a run the catches come.
type Pattern string

// The patterns that can be found. The pages word them.
const (
	NoPattern Pattern = "none"  // no pattern yet
	AtStart   Pattern = "start" // catches come at the start
	AsItGrows Pattern = "long"  // catches come as the run grows long
)

// MinCatches is the number of catches below which no pattern is named: fewer
// would find one by luck or miss a strong one. Our caution, no source.
const MinCatches = 12

// patternLevel is the chance of naming a pattern where there is none. Common
// practice, no source.
const patternLevel = 0.05

// A Third is a stretch of rep numbers within runs, with what happened there.
type Third struct {
	From, To int // first and last rep, counted from 1
	Tally
}

// A Finding is the answer of [FindPattern] with what speaks for it.
type Finding struct {
	Pattern Pattern
	Catches int     // in all runs
	Missing int     // catches still needed before a pattern can be named
	Early   Third   // the first third of all reps tried
	Late    Third   // the last third; empty if all runs end too soon to have one
	P       float64 // exact two-sided chance of so uneven a split by luck, 0–1
}

// FindPattern compares the hazard early and late in runs. All reps of all runs
// are lined up by their place in the run; the third that came earliest stands
// against the third that came latest, so both rest on about the same number of
// reps. Fisher's exact test (two-sided, at 5 %) says whether catches split
// unevenly. Runs should be of one kind: same step, pace and rope.
//
// It returns [ErrNoRuns] and [ErrReps]. Too few catches is no error but a finding
// with Missing above 0.
//
// Source of the test: R. A. Fisher, Statistical Methods for Research Workers, 5th
// ed. (1934), section 21.02; the two-sided chance adds all tables no likelier
// than the one seen, as R's fisher.test does.
func FindPattern(runs []Run) (Finding, error) {
	rows, err := ends(runs)
	if err != nil {
		return Finding{}, err
	}
	all := within(rows, math.MaxInt)
	if all.Trials() == 0 {
		return Finding{}, ErrNoRuns
	}
	last := rows[len(rows)-1]
	longest := last.reps
	if last.caught > 0 {
		longest++
	}
	earlyTo, lateFrom := cut(rows, longest, all.Trials(), 1), cut(rows, longest, all.Trials(), 2)+1
	f := Finding{Pattern: NoPattern, Catches: all.Catches, Missing: max(0, MinCatches-all.Catches), P: 1,
		Early: Third{From: 1, To: earlyTo, Tally: within(rows, earlyTo)}}
	if lateFrom > longest {
		return f, nil
	}
	before := within(rows, lateFrom-1)
	f.Late = Third{From: lateFrom, To: longest,
		Tally: Tally{all.Reps - before.Reps, all.Catches - before.Catches}}
	f.P = fisher(f.Early.Tally, f.Late.Tally)
	if f.Missing == 0 && f.P <= patternLevel {
		f.Pattern = AsItGrows
		if f.Early.rate() > f.Late.rate() {
			f.Pattern = AtStart
		}
	}
	return f, nil
}

// within tallies the first upTo reps of every run.
func within(rows []end, upTo int) Tally {
	var t Tally
	for _, row := range rows {
		t.Reps += (row.caught + row.stopped) * min(row.reps, upTo)
		if row.reps < upTo {
			t.Catches += row.caught
		}
	}
	return t
}

// cut returns the smallest rep number up to which at least thirds/3 of all
// trials lie.
func cut(rows []end, longest, trials, thirds int) int {
	return 1 + sort.Search(longest-1, func(i int) bool {
		return 3*within(rows, i+1).Trials() >= thirds*trials
	})
}

func (t Tally) rate() float64 { return float64(t.Catches) / float64(t.Trials()) }

// fisher returns the two-sided exact chance, given the margins, of catches
// splitting between a and b at least as unevenly as they did.
func fisher(a, b Tally) float64 {
	catches, trials := a.Catches+b.Catches, a.Trials()+b.Trials()
	logChance := func(k int) float64 {
		return logChoose(a.Trials(), k) + logChoose(b.Trials(), catches-k) - logChoose(trials, catches)
	}
	const rounding = 1e-7 // tables as likely as the one seen differ by rounding
	limit := logChance(a.Catches) + rounding
	var p float64
	for k := max(0, catches-b.Trials()); k <= min(catches, a.Trials()); k++ {
		if l := logChance(k); l <= limit {
			p += math.Exp(l)
		}
	}
	return min(p, 1)
}
