//go:build science

package cleanrun

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"ropewalk.example/internal/stats"
)

const (
	outsideSets = 300  // random sets of each sort
	outsideGoal = 1e-9 // largest relative difference allowed
)

// TestAgainstRAndSciPy hands random data to R and SciPy and compares. It runs
// only under the tag science (.ci/check-science), because they must be installed.
func TestAgainstRAndSciPy(t *testing.T) {
	seed, err := strconv.ParseUint(os.Getenv("SEED"), 10, 64)
	if err != nil {
		t.Fatalf("SEED: %v", err)
	}
	t.Logf("seed %d, %d sets of each sort", seed, outsideSets)
	o := outside{T: t, folder: t.TempDir(), random: rand.New(rand.NewPCG(seed, 1))}
	runs, lines, tallies, million := o.runs(), o.lines(), o.tallies(), millionRuns()
	o.write("million.csv", []string{"reps", "caught"}, runRows(nil, million))
	o.run("Rscript", "--vanilla", "../../testdata/science/outside.R", o.folder)
	o.run("/usr/bin/python3", "../../testdata/science/outside.py", o.folder)

	o.compareCurves("Kaplan–Meier", runs, o.read("runs.out"))
	o.compareLines(lines)
	o.compareTallies(tallies)
	o.compareCurves("Kaplan–Meier, a million runs", map[string][]Run{"": million}, o.read("million.out"))
	o.compareTimes(million)
}

// outside carries the data to the other programs and back.
type outside struct {
	*testing.T
	folder string
	random *rand.Rand
}

func (o outside) write(name string, header []string, rows [][]string) {
	o.Helper()
	file, err := os.Create(filepath.Join(o.folder, name))
	if err != nil {
		o.Fatal(err)
	}
	if err := csv.NewWriter(file).WriteAll(append([][]string{header}, rows...)); err != nil {
		o.Fatal(err)
	}
	if err := file.Close(); err != nil {
		o.Fatal(err)
	}
}

// read returns the rows of a file of results by column name.
func (o outside) read(name string) []map[string]string {
	o.Helper()
	file, err := os.Open(filepath.Join(o.folder, name))
	if err != nil {
		o.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		o.Fatal(err)
	}
	named := make([]map[string]string, len(rows)-1)
	for i, row := range rows[1:] {
		named[i] = map[string]string{}
		for j, v := range row {
			named[i][rows[0][j]] = v
		}
	}
	return named
}

func (o outside) run(program string, arguments ...string) {
	o.Helper()
	out, err := exec.Command(program, arguments...).CombinedOutput()
	if err != nil {
		o.Fatalf("%s: %v\n%s", program, err, out)
	}
	o.Logf("%s", out)
}

func (o outside) runs() map[string][]Run {
	sets := map[string][]Run{}
	var rows [][]string
	for k := range outsideSets {
		name := strconv.Itoa(k)
		hazard, caught := 0.002+0.3*o.random.Float64(), o.random.Float64()
		for range 1 + o.random.IntN(120) {
			reps := int(math.Log(o.random.Float64()) / math.Log1p(-hazard))
			sets[name] = append(sets[name], Run{reps, o.random.Float64() < caught})
		}
		rows = append(rows, runRows([]string{name}, sets[name])...)
	}
	o.write("runs.csv", []string{"set", "reps", "caught"}, rows)
	return sets
}

func runRows(before []string, runs []Run) [][]string {
	rows := make([][]string, len(runs))
	for i, r := range runs {
		caught := "0"
		if r.Caught {
			caught = "1"
		}
		rows[i] = append(slices.Clone(before), strconv.Itoa(r.Reps), caught)
	}
	return rows
}

type points struct{ x, y []float64 }

// lines are random points about a line; in every second set they are whole
// numbers with ties, some in x too. None lies on its line or is level: relative
// differences mean little about a residual or a slope of 0.
func (o outside) lines() []points {
	sets := make([]points, outsideSets)
	var rows [][]string
	for k := range sets {
		slope, scatter := 2+4*o.random.Float64(), 5+10*o.random.Float64()
		for i := range 12 + o.random.IntN(40) {
			x := float64(i) + o.random.Float64()
			y := 120 + slope*x + scatter*o.random.NormFloat64()
			if k%2 == 1 {
				x, y = math.Round(x/2), math.Round(y/4)
			}
			sets[k].x, sets[k].y = append(sets[k].x, x), append(sets[k].y, y)
			rows = append(rows, []string{strconv.Itoa(k), full(x), full(y)})
		}
	}
	o.write("lines.csv", []string{"set", "x", "y"}, rows)
	return sets
}

func (o outside) tallies() [][2]Tally {
	sets := make([][2]Tally, outsideSets)
	var rows [][]string
	for k := range sets {
		size := 1 + o.random.IntN(1000)
		for i := range sets[k] {
			sets[k][i] = Tally{1 + o.random.IntN(size), o.random.IntN(40)}
		}
		a, b := sets[k][0], sets[k][1]
		rows = append(rows, []string{strconv.Itoa(a.Reps), strconv.Itoa(a.Catches), strconv.Itoa(b.Reps), strconv.Itoa(b.Catches)})
	}
	o.write("tallies.csv", []string{"reps", "catches", "reps2", "catches2"}, rows)
	return sets
}

func full(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// a largest keeps the largest relative difference of one comparison.
type largest struct {
	difference float64
	where      string
	values     int
}

// see compares got with the outside value; neither may lack what the other has.
func (l *largest) see(where string, got float64, outside string) {
	l.values++
	want, err := strconv.ParseFloat(outside, 64)
	if err != nil { // NA, an undefined value
		want = math.NaN()
	}
	difference := math.Abs(got-want) / math.Abs(want)
	switch {
	case got == want || math.IsNaN(got) && math.IsNaN(want):
		difference = 0
	case math.IsNaN(difference):
		difference = math.Inf(1)
	}
	if difference > l.difference {
		l.difference, l.where = difference, fmt.Sprintf("%s: %v here, %s there", where, got, outside)
	}
}

func (o outside) report(what string, l largest) {
	o.Helper()
	o.Logf("%-34s %7d values, largest relative difference %.1e", what, l.values, l.difference)
	if l.values == 0 || l.difference > outsideGoal {
		o.Errorf("%s: above %.0e: %s", what, outsideGoal, l.where)
	}
}

func (o outside) compareCurves(what string, sets map[string][]Run, rows []map[string]string) {
	o.Helper()
	bySet := map[string][]map[string]string{}
	for _, row := range rows {
		bySet[row["set"]] = append(bySet[row["set"]], row)
	}
	var l largest
	for name, runs := range sets {
		curve, err := Survival(runs, 0.95)
		if err != nil {
			o.Fatal(err)
		}
		if len(curve) != len(bySet[name]) {
			o.Fatalf("%s, set %s: %d rows here, %d there", what, name, len(curve), len(bySet[name]))
		}
		for i, row := range bySet[name] {
			p, where := curve[i], fmt.Sprintf("set %s, row %d", name, i)
			l.see(where+", reps", float64(p.Reps), row["reps"])
			l.see(where+", at risk", float64(p.AtRisk), row["at_risk"])
			l.see(where+", caught", float64(p.Caught), row["caught"])
			l.see(where+", survival", p.Survival, row["s"])
			l.see(where+", low", p.Low, row["low"])
			l.see(where+", high", p.High, row["high"])
			if p.Survival > 0 { // at 0 R has no error, ours is the limit 0
				l.see(where+", se", p.SE, row["se"])
			}
		}
	}
	o.report(what, l)
}

func (o outside) compareLines(sets []points) {
	o.Helper()
	fits, trends := o.read("lines.out"), o.read("trends.out")
	if len(fits) != len(sets) || len(trends) != len(sets) {
		o.Fatalf("%d lines and %d trends there, %d here", len(fits), len(trends), len(sets))
	}
	var line, trend largest
	for i := range sets {
		k, err := strconv.Atoi(fits[i]["set"])
		if err != nil {
			o.Fatal(err)
		}
		fit, err := stats.Line(sets[k].x, sets[k].y)
		if err != nil {
			o.Fatal(err)
		}
		where := "set " + fits[i]["set"]
		line.see(where+", slope", fit.Slope, fits[i]["slope"])
		line.see(where+", intercept", fit.Intercept, fits[i]["intercept"])
		line.see(where+", se of slope", fit.SESlope, fits[i]["se_slope"])
		line.see(where+", se of intercept", fit.SEIntercept, fits[i]["se_intercept"])
		line.see(where+", residual sd", fit.ResidualSD, fits[i]["residual_sd"])
		line.see(where+", r2", fit.R2, fits[i]["r2"])

		sen, err := stats.TheilSen(sets[i].x, sets[i].y, 0.95)
		if err != nil {
			o.Fatal(err)
		}
		where = "set " + trends[i]["set"]
		trend.see(where+", slope", sen.Slope, trends[i]["slope"])
		trend.see(where+", low", sen.Low, trends[i]["low"])
		trend.see(where+", high", sen.High, trends[i]["high"])
		trend.see(where+", intercept", sen.Intercept, trends[i]["intercept"])
	}
	o.report("least squares (R lm)", line)
	o.report("Theil–Sen (SciPy theilslopes)", trend)
}

func (o outside) compareTallies(sets [][2]Tally) {
	o.Helper()
	var interval, exact largest
	for i, row := range o.read("tallies.out") {
		hazard, err := sets[i][0].Hazard(0.95)
		if err != nil {
			o.Fatal(err)
		}
		where := fmt.Sprintf("%+v", sets[i])
		interval.see(where, hazard.Low, row["low"])
		interval.see(where, hazard.High, row["high"])
		exact.see(where, fisher(sets[i][0], sets[i][1]), row["fisher"])
	}
	o.report("Jeffreys interval (R qbeta)", interval)
	o.report("exact test (R fisher.test)", exact)
}

// compareTimes prints, and does not judge: a busy machine is no wrong result.
func (o outside) compareTimes(million []Run) {
	o.Helper()
	there, err := strconv.ParseFloat(o.read("seconds.out")[0]["seconds"], 64)
	if err != nil {
		o.Fatal(err)
	}
	seconds := make([]float64, 3)
	for i := range seconds {
		start := time.Now()
		if _, err := Survival(million, 0.95); err != nil {
			o.Fatal(err)
		}
		seconds[i] = time.Since(start).Seconds()
	}
	here := stats.Median(seconds)
	o.Logf("a million runs: %.4f s here, %.3f s in R's survfit, ratio %.4f (goal 0.2 or less)", here, there, here/there)
}
