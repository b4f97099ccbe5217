package demo

import "math"

// A week is one meeting of the class for one athlete.
type week struct {
	number   int
	present  bool
	rate     float64   // turning rate in bounce step, rpm; 0 without a test
	lost     []float64 // seconds lost to each catch of the test
	count    int       // rotations in the 30 s test
	turning  float64   // seconds of the 30 s in which the rope turned
	expected float64   // catches expected in 30 s
}

// tested reports whether the 30 s bounce test was taken.
func (w week) tested() bool { return w.rate > 0 }

// bounceSeconds is the length of the class's regular test.
const bounceSeconds = 30

// habits are an athlete's lasting traits.
type habits struct {
	base       float64 // turning rate in bounce step at the start, rpm
	gain       float64 // over the term, rpm
	catches    float64 // expected in 30 s, in week 1
	attendance float64 // chance of coming
	lost       float64 // mean seconds that a catch costs
}

// habitsOf draws an athlete's traits, in this order. They are designed to be
// believable for learners, not measured.
func habitsOf(beginner bool, s stream) habits {
	h := habits{lost: 1.8}
	if beginner {
		h.lost = 2.4
		h.base = s.within(104, 14, 78, 134)
		h.gain = s.within(12, 5, 2, 24)
		h.catches = math.Exp(s.around(math.Log(2.2), 0.4))
	} else {
		h.base = s.within(138, 16, 104, 172)
		h.gain = s.within(8, 4, 1, 18)
		h.catches = math.Exp(s.around(math.Log(0.9), 0.4))
	}
	h.attendance = s.within(0.87, 0.08, 0.60, 0.99)
	return h
}

// termOf draws an athlete's term as it would be without stories.
func termOf(a Athlete) []week {
	s := layer(0, a.ID)
	h := habitsOf(a.Class == starters, s)
	var term []week
	for _, number := range weeks() {
		w := week{number: number, present: s.Float64() <= h.attendance, expected: h.expected(number)}
		if w.present && number%2 == 1 {
			w.test(h, s)
		}
		term = append(term, w)
	}
	return term
}

// expected returns the mean number of catches in 30 s in week number.
func (h habits) expected(number int) float64 {
	return h.catches * math.Exp(-float64(number-1)/9)
}

// test draws the week's 30 s bounce test: rate, catches, then each catch.
func (w *week) test(h habits, s stream) {
	grown := (1 - math.Exp(-float64(w.number)/5)) / (1 - math.Exp(-12.0/5))
	w.rate = s.around(h.base+float64(h.gain*grown), 3.5)
	w.lost = s.losses(w.expected, h.lost)
	w.turning = turning(bounceSeconds, w.lost)
	w.count = rotations(w.rate, w.turning)
}

// losses draws the catches of a test and the seconds that each costs.
func (s stream) losses(expected, mean float64) []float64 {
	lost := make([]float64, s.poisson(expected, 12))
	for i := range lost {
		lost[i] = s.within(mean, 0.6, 1.2, 5)
	}
	return lost
}

// turning returns the seconds of a test in which the rope turned, at least 6.
func turning(seconds float64, lost []float64) float64 {
	sum := 0.0
	for _, l := range lost {
		sum += l
	}
	return max(6, seconds-sum)
}

// rotations returns the whole rotations of seconds at rpm.
func rotations(rpm, seconds float64) int { return int(rpm * seconds / 60) }
