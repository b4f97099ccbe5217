package planner

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// paced names rates A, B, C and so on, in order.
func paced(rates ...float64) []Paced {
	var list []Paced
	for i, r := range rates {
		list = append(list, Paced{Name: string(rune('A' + i)), RPM: r})
	}
	return list
}

func (g Grouping) members() [][]string {
	var all [][]string
	for _, group := range g.Groups {
		all = append(all, group.Members)
	}
	return all
}

// Source: test suite of the R package Ckmeans.1d.dp (H. Wang and M. Song, The R
// Journal 3/2 (2011) 29–33): −1 2 −1 2 4 5 6 −1 2 −1 in three groups.
func TestPaceGroupsAgainstCkmeans(t *testing.T) {
	got, err := PaceGroups(Class{Rates: paced(-1, 2, -1, 2, 4, 5, 6, -1, 2, -1), Groups: 3})
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{{"A", "C", "H", "J"}, {"B", "D", "I"}, {"E", "F", "G"}}
	if !slices.EqualFunc(got.members(), want, slices.Equal) {
		t.Errorf("groups %v, want %v", got.members(), want)
	}
	for i, mean := range []float64{-1, 2, 5} {
		if got.Groups[i].RPM != mean {
			t.Errorf("group %d has the mean %v, want %v", i, got.Groups[i].RPM, mean)
		}
	}
	// Within 0, 0, 2; the total about the mean of 1.7 is 64.1.
	if !near(got.WithinSS, 2) || !near(got.Fit, 1-2/64.1) {
		t.Errorf("within %v, fit %v, want 2 and %v", got.WithinSS, got.Fit, 1-2/64.1)
	}
}

func TestPaceGroups(t *testing.T) {
	tests := []struct {
		name  string
		class Class
		want  [][]string
	}{
		{"one group", Class{Rates: paced(120, 130, 150), Groups: 1}, [][]string{{"A", "B", "C"}}},
		{"two groups", Class{Rates: paced(150, 120, 130), Groups: 2}, [][]string{{"B", "C"}, {"A"}}},
		{"equal rates stay together", Class{Rates: paced(120, 120, 120, 121), Groups: 3}, [][]string{{"A", "B", "C"}, {"D"}}},
		{"more groups than athletes", Class{Rates: paced(140, 120), Groups: 5}, [][]string{{"B"}, {"A"}}},
		{"a tie goes to the slower group", Class{Rates: paced(120, 121, 122), Groups: 2}, [][]string{{"A", "B"}, {"C"}}},
		{"a tie far from zero too", Class{Rates: paced(120.1, 121.1, 122.1, 123.1), Groups: 3}, [][]string{{"A", "B"}, {"C"}, {"D"}}},
		{"members by rate, then by name", Class{Rates: []Paced{{"Z", 120}, {"B", 125}, {"A", 125}}, Groups: 1}, [][]string{{"Z", "A", "B"}}},
		{"the fewest groups within ± 5", Class{Rates: paced(120, 124, 129, 131, 140), Groups: 5, ToleranceRPM: new(5.0)}, [][]string{{"A", "B", "C"}, {"D", "E"}}},
		{"of two, the better", Class{Rates: paced(120, 122, 131, 132), Groups: 3, ToleranceRPM: new(5.5)}, [][]string{{"A", "B"}, {"C", "D"}}},
		{"a range of exactly twice the tolerance", Class{Rates: paced(120.1, 130.1), Groups: 1, ToleranceRPM: new(5.0)}, [][]string{{"A", "B"}}},
		{"no tolerance at all", Class{Rates: paced(120, 121, 120), Groups: 2, ToleranceRPM: new(0.0)}, [][]string{{"A", "C"}, {"B"}}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := PaceGroups(test.class)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.EqualFunc(got.members(), test.want, slices.Equal) {
				t.Errorf("groups %v, want %v", got.members(), test.want)
			}
		})
	}
	equal, err := PaceGroups(Class{Rates: paced(126.7, 126.7, 126.7), Groups: 2})
	if err != nil || equal.Fit != 1 || equal.WithinSS != 0 || len(equal.Groups) != 1 || equal.Groups[0].RPM != 126.7 {
		t.Errorf("equal rates: %+v, %v", equal, err)
	}
}

func TestPaceGroupsRefuses(t *testing.T) {
	for field, class := range map[string]Class{
		"rates":         {Groups: 1},
		"groups":        {Rates: paced(120), Groups: 0},
		"tolerance_rpm": {Rates: paced(120), Groups: 1, ToleranceRPM: new(-1.0)},
	} {
		_, err := PaceGroups(class)
		if input, ok := errors.AsType[*InputError](err); !ok || input.Field != field {
			t.Errorf("%s: error %v", field, err)
		}
	}
	if _, err := PaceGroups(Class{Rates: paced(math.NaN()), Groups: 1}); err == nil {
		t.Error("a rate that is no number is grouped")
	}
	_, err := PaceGroups(Class{Rates: paced(120, 131), Groups: 1, ToleranceRPM: new(5.0)})
	if evidence, ok := errors.AsType[*EvidenceError](err); !ok || evidence.Code != "tolerance" {
		t.Errorf("a tolerance that cannot be kept: %v", err)
	}
}

// least returns the least sum of squares over all ways to cut the sorted
// distinct rates into exactly k groups no wider than widest, by trying them all.
func least(rates [][]float64, k int, widest float64) float64 {
	if k == 0 || len(rates) < k {
		if k == 0 && len(rates) == 0 {
			return 0
		}
		return math.Inf(1)
	}
	best := math.Inf(1)
	for cut := 1; cut <= len(rates)-k+1; cut++ {
		group := slices.Concat(rates[:cut]...)
		if group[len(group)-1]-group[0] > widest {
			break
		}
		mean, ss := 0.0, 0.0
		for _, r := range group {
			mean += r / float64(len(group))
		}
		for _, r := range group {
			ss += (r - mean) * (r - mean)
		}
		best = min(best, ss+least(rates[cut:], k-1, widest))
	}
	return best
}

func TestPaceGroupsAreTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "athletes")
		class := Class{Groups: rapid.IntRange(1, 5).Draw(t, "groups")}
		for i := range n {
			rate := float64(rapid.IntRange(100, 130).Draw(t, "rate"))
			class.Rates = append(class.Rates, Paced{strconv.Itoa(i), rate})
		}
		widest := math.Inf(1)
		if rapid.Bool().Draw(t, "has tolerance") {
			class.ToleranceRPM = new(float64(rapid.IntRange(0, 10).Draw(t, "tolerance")))
			widest = 2 * *class.ToleranceRPM
		}
		var distinct [][]float64
		sorted := slices.SortedFunc(slices.Values(class.Rates), func(a, b Paced) int { return int(a.RPM - b.RPM) })
		for i, p := range sorted {
			if i == 0 || p.RPM != sorted[i-1].RPM {
				distinct = append(distinct, nil)
			}
			distinct[len(distinct)-1] = append(distinct[len(distinct)-1], p.RPM)
		}
		k, want := min(class.Groups, len(distinct)), 0.0
		if class.ToleranceRPM == nil {
			want = least(distinct, k, widest)
		} else {
			want = math.Inf(1)
			for k = 1; k <= class.Groups; k++ {
				if want = least(distinct, k, widest); !math.IsInf(want, 1) {
					break
				}
			}
		}
		got, err := PaceGroups(class)
		if math.IsInf(want, 1) {
			if _, ok := errors.AsType[*EvidenceError](err); !ok {
				t.Fatalf("no partition keeps the tolerance, got %v, %v", got, err)
			}
			return
		}
		if err != nil || len(got.Groups) != k || math.Abs(got.WithinSS-want) > 1e-9 {
			t.Fatalf("%d groups within %v, %v; want %d within %v", len(got.Groups), got.WithinSS, err, k, want)
		}

		// The order in which athletes are given changes nothing, nor does a shift.
		shuffled := class
		shuffled.Rates = rapid.Permutation(class.Rates).Draw(t, "order")
		again, err := PaceGroups(shuffled)
		if err != nil || !slices.EqualFunc(got.members(), again.members(), slices.Equal) {
			t.Fatalf("in another order %v, %v; want %v", again.members(), err, got.members())
		}
		shifted := class
		shifted.Rates = nil
		for _, p := range class.Rates {
			shifted.Rates = append(shifted.Rates, Paced{p.Name, p.RPM + 0.1})
		}
		moved, err := PaceGroups(shifted)
		if err != nil || !slices.EqualFunc(got.members(), moved.members(), slices.Equal) {
			t.Fatalf("0.1 rpm faster %v, %v; want %v", moved.members(), err, got.members())
		}
	})
}

func BenchmarkPaceGroups(b *testing.B) {
	class := Class{Groups: 6}
	for i := range 1000 {
		class.Rates = append(class.Rates, Paced{strconv.Itoa(i), 90 + float64(i*7919%10007)/100})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := PaceGroups(class); err != nil {
			b.Fatal(err)
		}
	}
}
