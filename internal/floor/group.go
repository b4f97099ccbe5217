package floor

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"ropewalk.example/internal/planner"
)

// A Jumper is one athlete who is here, with what the own plan asks for.
type Jumper struct {
	ID          string
	Name        string  // orders equal rates
	SteadyRPM   float64 // with doubles: jumps a minute
	TargetRPM   float64 // rope rate of the bursts; steady sets: SteadyRPM
	Split       planner.Split
	Cycles      int
	Sets        int
	WorkSeconds float64 // of one set
	RestSeconds float64 // after it
}

// JumperOf takes over an athlete's plan. It is false where the plan has nothing
// to jump: a hold, or no room for a set.
func JumperOf(id, name string, p planner.Plan) (Jumper, bool) {
	if p.Kind == planner.KindHold || p.Sets < 1 || !(p.SteadyRPM > 0) {
		return Jumper{}, false
	}
	return Jumper{ID: id, Name: name, SteadyRPM: p.SteadyRPM, TargetRPM: p.TargetRPM, Split: p.Split, Cycles: p.Cycles,
		Sets: p.Sets, WorkSeconds: p.WorkSeconds, RestSeconds: p.RestSeconds}, true
}

// A Group shares one cue. Its set is that of the member whose own is the
// shortest, turned at the group's rates; its rest is the longest of the
// members'.
type Group struct {
	Letter      string        `json:"letter"`
	SteadyRPM   float64       `json:"steady_rpm"` // mean; with doubles: jumps a minute
	TargetRPM   float64       `json:"target_rpm"` // mean of the members' targets
	LowRPM      float64       `json:"low_rpm"`    // lowest target of a member
	HighRPM     float64       `json:"high_rpm"`
	Split       planner.Split `json:"split"`
	Cycles      int           `json:"cycles"`
	WorkSeconds float64       `json:"work_seconds"`
	RestSeconds float64       `json:"rest_seconds"`
	Members     []Member      `json:"members"` // in the order they stand in
}

// A Member has a place in a group: the wave to jump in, from 0, and the sets
// that are left of the own plan, counted from round From.
type Member struct {
	ID   string `json:"id"`
	Wave int    `json:"wave"`
	From int    `json:"from"` // first round, 1 unless late
	Sets int    `json:"sets"`
}

// last returns the last round that the member jumps in.
func (m Member) last() int { return m.From + m.Sets - 1 }

// kind keeps apart what must not share a cue: whoever does no bursts yet is
// never cued to one, nor to a double.
type kind int

const (
	steadyKind kind = iota
	splitKind
	doubleKind
)

func kindOf(s planner.Split) kind {
	switch {
	case s.Double:
		return doubleKind
	case s.Burst > 0:
		return splitKind
	default:
		return steadyKind
	}
}

// toleranceStepRPM is by how much a tolerance grows until the groups are few
// enough.
const toleranceStepRPM = 2

// groups parts jumpers into at most most groups of one kind and of neighbouring
// target rates, each range at most twice the tolerance, the fewest that do; the
// tolerance grows where there would be too many, up to one group a kind. It
// returns the tolerance that was needed. Jumpers are in the order they stand in.
func groups(jumpers []Jumper, most int, tolerance float64) ([]Group, float64, error) {
	byKind := map[kind][]Jumper{}
	for _, j := range jumpers {
		byKind[kindOf(j.Split)] = append(byKind[kindOf(j.Split)], j)
	}
	kinds := 0
	for range byKind {
		kinds++
	}
	for ; ; tolerance += toleranceStepRPM {
		var parted []Group
		for _, k := range []kind{steadyKind, splitKind, doubleKind} {
			if len(byKind[k]) == 0 {
				continue
			}
			some, err := pace(byKind[k], tolerance)
			if err != nil {
				return nil, 0, err
			}
			parted = append(parted, some...)
		}
		if len(parted) <= max(most, kinds) {
			for i := range parted {
				parted[i].Letter = Letter(i)
			}
			return parted, tolerance, nil
		}
	}
}

// pace parts jumpers of one kind by target rate.
func pace(jumpers []Jumper, tolerance float64) ([]Group, error) {
	const between = "\x00" // in no name and no id
	byKey := make(map[string]Jumper, len(jumpers))
	class := planner.Class{Groups: len(jumpers), ToleranceRPM: &tolerance}
	for _, j := range jumpers {
		key := strings.ReplaceAll(j.Name, between, "") + between + j.ID
		byKey[key] = j
		class.Rates = append(class.Rates, planner.Paced{Name: key, RPM: j.TargetRPM})
	}
	grouping, err := planner.PaceGroups(class)
	if err != nil {
		return nil, err
	}
	var parted []Group
	for _, part := range grouping.Groups {
		group := Group{TargetRPM: part.RPM, LowRPM: part.Low, HighRPM: part.High}
		var members []Jumper
		for _, key := range part.Members {
			members = append(members, byKey[key])
		}
		place := func(j Jumper) int {
			return slices.IndexFunc(jumpers, func(other Jumper) bool { return other.ID == j.ID })
		}
		slices.SortFunc(members, func(a, b Jumper) int { return cmp.Compare(place(a), place(b)) })
		group.take(members)
		parted = append(parted, group)
	}
	return parted, nil
}

// take gives the group its members, and the set and rest that follow.
func (g *Group) take(members []Jumper) {
	shortest := members[0]
	for _, j := range members {
		g.SteadyRPM += j.SteadyRPM / float64(len(members))
		g.RestSeconds = max(g.RestSeconds, j.RestSeconds)
		g.Members = append(g.Members, Member{ID: j.ID, From: 1, Sets: j.Sets})
		if cmp.Or(cmp.Compare(j.WorkSeconds, shortest.WorkSeconds), cmp.Compare(j.Split.Burst, shortest.Split.Burst)) < 0 {
			shortest = j
		}
	}
	g.Split, g.Cycles = shortest.Split, max(1, shortest.Cycles)
	if g.Split.Burst == 0 {
		g.TargetRPM = g.SteadyRPM
	}
	g.WorkSeconds = float64(g.Cycles) * cycleSeconds(*g)
}

// cycleSeconds returns how long one cycle lasts at the group's cue.
func cycleSeconds(g Group) float64 {
	burst := g.TargetRPM
	if g.Split.Double {
		burst = g.SteadyRPM // one jump a beat
	}
	return 60*float64(g.Split.Steady)/g.SteadyRPM + 60*float64(g.Split.Burst)/burst
}

// ErrNobody reports that nobody here has a plan with something to jump.
var ErrNobody = errors.New("nobody here has a plan with something to jump")
