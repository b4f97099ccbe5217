package cleanrun

import (
	"math"
	"sort"

	"ropewalk.example/internal/stats"
)

// A Point is one row of a [Curve]: what is known at one length.
type Point struct {
	Reps     int     // length in clean reps
	AtRisk   int     // runs that were still clean at this length
	Caught   int     // of those, runs that the rope ended here
	Survival float64 // chance that a run goes past Reps, 0–1
	SE       float64 // Greenwood standard error of Survival; 0 where Survival is 0 or 1
	Low      float64 // log–log interval; NaN where Survival is 0 or 1
	High     float64 // likewise
}

// A Curve is a Kaplan–Meier curve, one [Point] per distinct length at which a
// run was caught or stopped, shortest first.
type Curve []Point

// Survival returns the Kaplan–Meier curve of runs with Greenwood variance and
// log–log intervals at the given confidence (0.95 for 95 %). At equal length a
// catch counts before a stop.
//
// It returns [ErrNoRuns], [ErrReps] and [ErrConfidence].
//
// Sources: E. L. Kaplan and P. Meier, J. Am. Stat. Assoc. 53 (1958) 457–481;
// M. Greenwood, Reports on Public Health and Medical Subjects 33 (1926). Equal
// to R's survival::survfit(conf.type = "log-log").
func Survival(runs []Run, confidence float64) (Curve, error) {
	if !(confidence > 0 && confidence < 1) {
		return nil, ErrConfidence
	}
	rows, err := ends(runs)
	if err != nil {
		return nil, err
	}
	z := stats.Normal(0.5 + confidence/2)
	curve := make(Curve, len(rows))
	atRisk, survival, greenwood := len(runs), 1.0, 0.0
	for i, row := range rows {
		n, d := float64(atRisk), float64(row.caught)
		survival *= (n - d) / n
		if row.caught < atRisk {
			greenwood += d / (n * (n - d))
		}
		curve[i] = Point{Reps: row.reps, AtRisk: atRisk, Caught: row.caught,
			Survival: survival, SE: survival * math.Sqrt(greenwood)}
		curve[i].Low, curve[i].High = logLog(survival, z*math.Sqrt(greenwood))
		atRisk -= row.caught + row.stopped
	}
	return curve, nil
}

// logLog returns the interval around survival that is symmetric on the scale
// log(−log S); reach is z times the standard error of log S.
func logLog(survival, reach float64) (low, high float64) {
	if survival <= 0 || survival >= 1 {
		return math.NaN(), math.NaN()
	}
	spread := math.Exp(reach / -math.Log(survival))
	return math.Pow(survival, spread), math.Pow(survival, 1/spread)
}

// half is one half with room for the rounding of a product of fractions: 24 runs
// of different lengths bring it to 0.5 and one unit in the last place.
const half = 0.5 * (1 + 1e-12)

// Median returns the smallest length with Survival ≤ 0.5; ok is false while
// more than half of the runs are expected to go past the longest one.
func (c Curve) Median() (reps int, ok bool) {
	i := sort.Search(len(c), func(i int) bool { return c[i].Survival <= half })
	if i == len(c) {
		return 0, false
	}
	return c[i].Reps, true
}

// Reach returns the chance that a run has at least reps clean reps, 0–1. Beyond
// the longest run it stays at the last known value, which is then a guess.
func (c Curve) Reach(reps int) float64 {
	i := sort.Search(len(c), func(i int) bool { return c[i].Reps >= reps })
	if i == 0 {
		return 1
	}
	return c[i-1].Survival
}
