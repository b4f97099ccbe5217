package planner

import (
	"math"
	"math/rand/v2"
	"testing"

	"ropewalk.example/internal/capacity"
	"ropewalk.example/internal/rate"
)

// jumper is the truth about one invented athlete.
type jumper struct {
	id            uint64
	base, burst   float64 // rpm
	steadyHazard  float64 // per rep, fresh
	burstHazard   float64 // per rep at 20 rpm above base, fresh
	model         capacity.Model
	learning      float64 // of a hazard lost with a clean burst rep
	chance        *rand.Rand
	balance       float64
	lowestBalance float64 // as a share of the reserve, over the term
}

func newJumper(id uint64) *jumper {
	r := rand.New(rand.NewPCG(gymSeed, id))
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	j := &jumper{id: id, base: between(95, 165)}
	j.burst = j.base * between(1.16, 1.45)
	j.steadyHazard = math.Exp(between(math.Log(0.004), math.Log(0.03)))
	j.burstHazard = j.steadyHazard * between(2, 6)
	j.learning = between(0.0001, 0.0005)
	j.model = capacity.Model{
		SustainableRPM: j.base * between(0.97, 1.08), Reserve: between(8, 30), TauSeconds: between(50, 180),
	}
	j.chance = rand.New(rand.NewPCG(gymSeed+1, id))
	return j
}

// hazardAt returns the chance of a catch at one rep: it grows with the rate above
// base, and up to twofold as the reserve empties.
func (j *jumper) hazardAt(rpm float64) float64 {
	h := j.steadyHazard
	if rpm > j.base+1 {
		h = j.burstHazard * math.Exp((rpm-j.base-20)/25)
	}
	tired := 1 + max(0, 1-max(0, j.balance)/j.model.Reserve)
	return min(0.9, h*tired)
}

// block jumps reps at rpm and returns how many were clean; fewer mean a catch,
// which ends the block.
func (j *jumper) block(rpm float64, reps int) int {
	h := j.hazardAt(rpm)
	clean := 0
	for clean < reps && j.chance.Float64() >= h {
		clean++
	}
	j.balance = j.model.After(j.balance, rpm, 60*float64(reps)/rpm)
	j.lowestBalance = min(j.lowestBalance, j.balance/j.model.Reserve)
	if rpm > j.base+1 {
		keep := math.Pow(1-j.learning, float64(clean))
		j.burstHazard *= keep
		j.steadyHazard *= math.Sqrt(keep)
	} else {
		j.steadyHazard *= math.Pow(1-j.learning/4, float64(clean))
	}
	return clean
}

// tally counts what the coach sees of one session.
type tally struct {
	bursts, cleanBursts                                int
	steadyReps, steadyCatches, burstReps, burstCatches int
	contacts                                           int
}

// session jumps a plan's segments.
func (j *jumper) session(p Plan) tally {
	var seen tally
	j.balance = j.model.Reserve
	for _, tread := range Outline(p) {
		switch tread.Kind {
		case TreadRest:
			j.balance = j.model.After(j.balance, 0, tread.Seconds)
		case TreadSteady:
			clean := j.block(tread.RPM, tread.Reps)
			seen.steadyReps += clean
			if clean < tread.Reps {
				seen.steadyCatches++
			}
		default:
			clean := j.block(tread.RPM, tread.Reps)
			seen.bursts++
			seen.burstReps += clean
			if clean < tread.Reps {
				seen.burstCatches++
			} else {
				seen.cleanBursts++
			}
		}
		seen.contacts += tread.Reps
	}
	return seen
}

// away reports whether the athlete misses the term's meeting n: one in eight,
// and every tenth athlete four weeks running.
func (j *jumper) away(n int) bool {
	long := j.id%10 == 0 && n >= 8 && n < 16
	return j.chance.Float64() < 0.125 || long
}

// gate tries four cycles of 10/10 at the larger of 12 rpm and 12 % above base,
// all clean.
func (j *jumper) gate() bool {
	j.balance = j.model.Reserve
	for range 4 {
		if j.block(j.base, 10) < 10 || j.block(j.base+max(12, 0.12*j.base), 10) < 10 {
			return false
		}
	}
	return true
}

// count is one test by a partner: the day is off by 4 %, the count by rounding,
// the watch by hand.
func (j *jumper) count(t *testing.T, truth, window float64) rate.Rate {
	t.Helper()
	today := truth * (1 + 0.04*j.chance.NormFloat64())
	watched := window + 0.1*j.chance.NormFloat64()
	r, err := rate.Count{Counted: math.Floor(today*watched/60 + j.chance.Float64()), Seconds: window, Timing: rate.ByHand}.Turning()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func combined(t *testing.T, tests []rate.Rate) float64 {
	t.Helper()
	c, err := rate.Combine(tests[max(0, len(tests)-3):])
	if err != nil {
		t.Fatal(err)
	}
	return c.RPM
}
