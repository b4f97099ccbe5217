package measuring

import (
	"math"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/rate"
)

// Recount is the code of the question after a test whose counters differ too
// much: even the two closest counts are more than three apart.
const Recount = "recount"

// Agreed returns the rotations that several counts of one test come to, whole,
// doubled where one foot was counted. No count, or one below 0, gives ok false.
func Agreed(counts []int32, oneFoot bool) (rotations int, recount, ok bool) {
	numbers := make([]float64, len(counts))
	for i, n := range counts {
		numbers[i] = float64(n)
	}
	agreed, err := rate.Agree(numbers)
	if err != nil {
		return 0, false, false
	}
	if oneFoot {
		agreed.Rotations *= 2
	}
	return int(math.Round(agreed.Rotations)), agreed.Recount, true
}

// questions asks what is odd about a result, against the athlete's results of
// the same kind. Nothing that it asks blocks.
func questions(r gym.Result, history []gym.Result) []rate.Question {
	if len(r.Bouts) > 0 && r.Seconds != nil {
		best := 0.0
		for _, n := range r.Bouts {
			best = max(best, 60*float64(n) / *r.Seconds)
		}
		return rate.Questions(rate.Rate{RPM: best}, *r.Seconds, rate.Combined{})
	}
	count, ok := level.CountOf(r)
	if !ok {
		return nil
	}
	overall, err := count.WholeTest()
	if err != nil {
		return nil // refused or kept elsewhere
	}
	var asked []rate.Question
	if _, recount, ok := Agreed(r.Counts, r.OneFoot); ok && recount {
		asked = append(asked, rate.Question{Code: Recount, RPM: overall.RPM})
	}
	return append(asked, rate.Questions(overall, *r.Seconds, recentLevel(r, history))...)
}

// recentLevel combines the results that are like r, or is zero without any.
func recentLevel(r gym.Result, history []gym.Result) rate.Combined {
	var alike []rate.Result
	for _, h := range history {
		if h.ResultID == r.Corrects {
			continue
		}
		if known, err := level.RateOf(h); err == nil {
			alike = append(alike, rate.Result{Rate: known, Kind: kindOf(h), On: h.Day})
		}
	}
	recent, err := rate.Recent(alike, kindOf(r), r.Day)
	if err != nil {
		return rate.Combined{} // nothing to compare with
	}
	return recent
}

func kindOf(r gym.Result) rate.Kind {
	family := r.Protocol
	if protocol, ok := rate.ProtocolOf(r.Protocol); ok && r.Seconds != nil {
		family = protocol.Family(*r.Seconds)
	}
	return rate.Kind{Family: family, Step: r.Step, Rope: r.RopeKind}
}
