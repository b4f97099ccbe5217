package planner

import (
	"cmp"
	"math"
	"slices"
)

// Class is a class to be parted into pace groups.
type Class struct {
	Rates        []Paced  `json:"rates"`
	Groups       int      `json:"groups"`        // this many; with a tolerance, at most
	ToleranceRPM *float64 `json:"tolerance_rpm"` // each rate within ± this of its group's middle; nil: no bound
}

// Paced is one athlete's target rate.
type Paced struct {
	Name string  `json:"name"`
	RPM  float64 `json:"rpm"`
}

// Grouping is a class parted by pace, the slowest group first. WithinSS is the
// sum of squares about the groups' means, in rpm²; Fit is 1 − WithinSS/total,
// 1 when all rates are equal.
type Grouping struct {
	Groups   []PaceGroup `json:"groups"`
	WithinSS float64     `json:"within_ss"`
	Fit      float64     `json:"fit"`
}

// A PaceGroup shares one cue at RPM, the mean of its members' rates.
type PaceGroup struct {
	RPM     float64  `json:"rpm"`
	Low     float64  `json:"low"`
	High    float64  `json:"high"`
	Members []string `json:"members"` // by rate, then by name
}

// mostGroupCells bounds the table that [PaceGroups] fills: groups × distinct
// rates.
const mostGroupCells = 20_000_000

// PaceGroups parts a class into groups of neighbouring rates with the least sum
// of squares within groups, exactly. Athletes with one rate stay together, so
// there are never more groups than distinct rates: asked for more, it gives one
// group a rate. With a tolerance w, no group's range exceeds 2w, and the fewest
// groups that manage it are made, at most Groups. Of two partitions as good as
// each other, the one whose slower groups are larger is taken.
//
// It returns an [*InputError] for a class of nobody, a rate that is no number,
// fewer than one group, or a negative tolerance, and an [*EvidenceError] with
// the code "tolerance" where even Groups groups spread wider than 2w.
//
// Source: W. D. Fisher, On Grouping for Maximum Homogeneity, J. Am. Stat. Assoc.
// 53 (1958) 789–798.
func PaceGroups(class Class) (Grouping, error) {
	if err := class.check(); err != nil {
		return Grouping{}, err
	}
	sorted := slices.Clone(class.Rates)
	slices.SortStableFunc(sorted, func(a, b Paced) int {
		return cmp.Or(cmp.Compare(a.RPM, b.RPM), cmp.Compare(a.Name, b.Name))
	})
	f := fisher{}
	f.fill(sorted)
	f.widest = math.Inf(1)
	groups := min(class.Groups, len(f.rates))
	if class.ToleranceRPM != nil {
		f.widest = 2 * *class.ToleranceRPM
		f.widest += slack * max(1, f.widest)
		if groups = f.fewest(); groups > class.Groups {
			return Grouping{}, &EvidenceError{
				Code:    "tolerance",
				Problem: "the rates spread too wide for so few groups; allow more groups or a wider tolerance",
			}
		}
	}
	if groups*len(f.rates) > mostGroupCells {
		return Grouping{}, &InputError{Field: "groups", Problem: "is too many for so many rates"}
	}
	return grouping(sorted, f.part(groups)), nil
}

func (c *Class) check() error {
	if len(c.Rates) == 0 {
		return &InputError{Field: "rates", Problem: "must name at least one athlete"}
	}
	for _, r := range c.Rates {
		if math.IsNaN(r.RPM) || math.Abs(r.RPM) > 1e6 {
			return &InputError{Field: "rates", Problem: "of " + r.Name + " must be a rate"}
		}
	}
	switch {
	case c.Groups < 1:
		return &InputError{Field: "groups", Problem: "must be 1 or more"}
	case c.ToleranceRPM != nil && !(*c.ToleranceRPM >= 0 && *c.ToleranceRPM <= 1e6):
		return &InputError{Field: "tolerance_rpm", Problem: "must be 0 or more"}
	}
	return nil
}

// fisher holds the distinct rates of a class in order, with running sums over
// the athletes up to each. Sums are of rates less the mean, which keeps squares
// small.
type fisher struct {
	rates  []float64
	first  []int     // index of each rate's first athlete; one more at the end
	sum    []float64 // sum[i] is over the athletes before rate i
	square []float64
	widest float64 // largest range of a group
}

func (f *fisher) fill(sorted []Paced) {
	mean := 0.0
	for _, p := range sorted {
		mean += p.RPM / float64(len(sorted))
	}
	sum, square := 0.0, 0.0
	for i, p := range sorted {
		if i == 0 || p.RPM != sorted[i-1].RPM {
			f.rates = append(f.rates, p.RPM)
			f.first = append(f.first, i)
			f.sum = append(f.sum, sum)
			f.square = append(f.square, square)
		}
		sum += p.RPM - mean
		square += (p.RPM - mean) * (p.RPM - mean)
	}
	f.first = append(f.first, len(sorted))
	f.sum = append(f.sum, sum)
	f.square = append(f.square, square)
}

// within returns the sum of squares of rates from up to, not including, to.
func (f *fisher) within(from, to int) float64 {
	if to == from+1 {
		return 0
	}
	n := float64(f.first[to] - f.first[from])
	sum := f.sum[to] - f.sum[from]
	return max(0, f.square[to]-f.square[from]-sum*sum/n)
}

// fewest returns the fewest groups whose ranges keep to the widest.
func (f *fisher) fewest() int {
	groups, low := 1, f.rates[0]
	for _, rate := range f.rates {
		if rate-low > f.widest {
			groups, low = groups+1, rate
		}
	}
	return groups
}

// part returns the index of each group's first athlete, and one more at the
// end, for the partition into exactly k groups with the least sum of squares.
//
// best[j] is the least sum for the rates before j in g groups; starts[g][j] is
// where the last of these groups starts.
func (f *fisher) part(k int) []int {
	n := len(f.rates)
	best, next := make([]float64, n+1), make([]float64, n+1)
	for j := range best {
		best[j] = math.Inf(1)
	}
	best[0] = 0
	starts := make([][]int32, k+1)
	tie := slack * max(1e-9, f.within(0, n))
	for g := 1; g <= k; g++ {
		starts[g] = make([]int32, n+1)
		for j := range next {
			next[j] = math.Inf(1)
		}
		for j := g; j <= n-(k-g); j++ {
			for i := j - 1; i >= g-1 && f.rates[j-1]-f.rates[i] <= f.widest; i-- {
				last := f.within(i, j)
				if last > next[j]+tie {
					break // grows as the group reaches further down
				}
				if total := best[i] + last; total < next[j]-tie {
					next[j], starts[g][j] = total, int32(i)
				}
			}
		}
		best, next = next, best
	}
	cuts := make([]int, k+1)
	for g, j := k, n; ; g-- {
		cuts[g] = f.first[j]
		if g == 0 {
			return cuts
		}
		j = int(starts[g][j])
	}
}

// grouping cuts the sorted athletes into groups.
func grouping(sorted []Paced, cuts []int) Grouping {
	var out Grouping
	for g := range len(cuts) - 1 {
		members := sorted[cuts[g]:cuts[g+1]]
		group := PaceGroup{RPM: meanRPM(members), Low: members[0].RPM, High: members[len(members)-1].RPM}
		for _, p := range members {
			group.Members = append(group.Members, p.Name)
		}
		out.WithinSS += squares(members, group.RPM)
		out.Groups = append(out.Groups, group)
	}
	out.Fit = 1
	if total := squares(sorted, meanRPM(sorted)); total > 0 {
		out.Fit = 1 - out.WithinSS/total
	}
	return out
}

// meanRPM returns the mean rate, exact where all are equal.
func meanRPM(members []Paced) float64 {
	first, more := members[0].RPM, 0.0
	for _, p := range members {
		more += p.RPM - first
	}
	return first + more/float64(len(members))
}

func squares(members []Paced, about float64) float64 {
	sum := 0.0
	for _, p := range members {
		sum += (p.RPM - about) * (p.RPM - about)
	}
	return sum
}
