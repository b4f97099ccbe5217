package floor

import (
	"math"
	"slices"
)

// Setup is what a class's course is made from.
type Setup struct {
	Jumpers      []Jumper // in the order they stand in
	MostGroups   int      // 0: DefaultGroups
	ToleranceRPM float64  // around the middle of each group; 0: DefaultToleranceRPM
	Fits         int      // who can jump at once; 0: no limit
	Minutes      float64  // for the whole course; 0: no limit
}

// How a course is put together unless a coach says otherwise (assumed).
const (
	DefaultGroups       = 5
	DefaultToleranceRPM = 6
	LeadSeconds         = 5 // before each turn: places, then the cue's first beats
)

// A Course is the class's sets with one loudspeaker: turn after turn, each one
// wave of one group. Seconds count from the start of the clock.
type Course struct {
	Test         bool    `json:"test,omitempty"` // a countdown for a test, no sets
	Groups       []Group `json:"groups"`
	Turns        []Turn  `json:"turns"`
	Rounds       int     `json:"rounds"`
	Seconds      float64 `json:"seconds"`       // when the last turn ends
	ToleranceRPM float64 `json:"tolerance_rpm"` // that the groups needed
	CutSets      int     `json:"cut_sets"`      // sets of somebody's plan that the time does not hold
}

// A Turn is one wave's set. Before Starts there are LeadSeconds or more of
// pause.
type Turn struct {
	Round  int     `json:"round"` // from 1
	Group  int     `json:"group"` // index
	Wave   int     `json:"wave"`  // from 0
	Starts float64 `json:"starts"`
	Ends   float64 `json:"ends"`
}

// NewCourse lets pace groups take turns at one cue each, wave by wave, until
// everybody has jumped the own sets or the minutes are up. A wave starts its
// next set no sooner than its group's rest allows. It returns [ErrNobody] if
// there is no jumper, and the errors of planner.PaceGroups.
func NewCourse(s Setup) (Course, error) {
	if len(s.Jumpers) == 0 {
		return Course{}, ErrNobody
	}
	most, tolerance := s.MostGroups, s.ToleranceRPM
	if most < 1 {
		most = DefaultGroups
	}
	if !(tolerance > 0) {
		tolerance = DefaultToleranceRPM
	}
	parted, needed, err := groups(s.Jumpers, most, tolerance)
	if err != nil {
		return Course{}, err
	}
	c := Course{Groups: parted, ToleranceRPM: needed}
	for g := range c.Groups {
		c.Groups[g].fillWaves(s.Fits)
	}
	limit := math.Inf(1)
	if s.Minutes > 0 {
		limit = 60 * s.Minutes
	}
	c.fillTurns(nil, limit)
	return c, nil
}

// fillWaves parts the members into the fewest waves that fit, of sizes that
// differ by at most one.
func (g *Group) fillWaves(fits int) {
	n := len(g.Members)
	waves := 1
	if fits > 0 {
		waves = (n + fits - 1) / fits
	}
	for i := range g.Members {
		g.Members[i].Wave = i * waves / n
	}
}

// waves returns how many waves the group has.
func (g *Group) waves() int {
	most := 0
	for _, m := range g.Members {
		most = max(most, m.Wave+1)
	}
	return most
}

// fillTurns keeps the turns already taken and adds those that follow, up to the
// limit in seconds.
func (c *Course) fillTurns(taken []Turn, limit float64) {
	c.Turns, c.Rounds, c.CutSets = slices.Clone(taken), 0, 0
	type place struct{ group, wave int }
	ready := map[place]float64{}
	done := map[place]int{}
	at, first := 0.0, 1
	for _, t := range taken {
		here := place{t.Group, t.Wave}
		at = t.Ends
		ready[here], done[here] = t.Ends+c.Groups[t.Group].RestSeconds, t.Round
		first = max(first, t.Round)
	}
	for round := first; round <= c.lastRound(); round++ {
		for g := range c.Groups {
			for w := range c.Groups[g].waves() {
				here := place{g, w}
				if done[here] >= round || !c.jumps(g, w, round) {
					continue
				}
				starts := math.Ceil(max(at+LeadSeconds, ready[here]))
				ends := starts + c.Groups[g].WorkSeconds
				if ends > limit {
					c.CutSets += c.setsOf(g, w, round)
					continue
				}
				c.Turns = append(c.Turns, Turn{round, g, w, starts, ends})
				at, ready[here] = ends, ends+c.Groups[g].RestSeconds
			}
		}
	}
	for _, t := range c.Turns {
		c.Rounds, c.Seconds = max(c.Rounds, t.Round), t.Ends
	}
}

func (c *Course) lastRound() int {
	last := 0
	for _, g := range c.Groups {
		for _, m := range g.Members {
			last = max(last, m.last())
		}
	}
	return last
}

// jumps reports whether anybody of the wave has a set in the round.
func (c *Course) jumps(group, wave, round int) bool { return c.setsOf(group, wave, round) > 0 }

func (c *Course) setsOf(group, wave, round int) int {
	n := 0
	for _, m := range c.Groups[group].Members {
		if m.Wave == wave && m.From <= round && round <= m.last() {
			n++
		}
	}
	return n
}

// Countdown returns the course of one go at a test: a lead, then everybody of
// the wave at once for so many seconds.
func Countdown(wave Wave, seconds float64) Course {
	g := Group{Letter: wave.Letter, WorkSeconds: seconds}
	for _, id := range wave.Jump {
		g.Members = append(g.Members, Member{ID: id, From: 1, Sets: 1})
	}
	return Course{Test: true, Groups: []Group{g}, Rounds: 1, Seconds: LeadSeconds + seconds,
		Turns: []Turn{{Round: 1, Starts: LeadSeconds, Ends: LeadSeconds + seconds}}}
}

// Join adds an athlete who came late, after elapsed seconds: to the group of the
// same kind with the nearest target, to its smallest wave, from that wave's next
// turn on. Nobody's turn moves that has begun. It is false where no group suits;
// then the athlete jumps beside the course, from the own phone or sheet.
func (c Course) Join(j Jumper, elapsed float64, s Setup) (Course, bool) {
	best, tolerance := -1, math.Inf(1)
	for i, g := range c.Groups {
		off := math.Abs(g.TargetRPM - j.TargetRPM)
		if !c.Test && kindOf(g.Split) == kindOf(j.Split) && off < tolerance && off <= 2*c.ToleranceRPM {
			best, tolerance = i, off
		}
	}
	if best < 0 {
		return c, false
	}
	var taken []Turn
	for _, t := range c.Turns {
		if t.Starts-LeadSeconds <= elapsed {
			taken = append(taken, t)
		}
	}
	next := c
	next.Groups = slices.Clone(c.Groups)
	g := &next.Groups[best]
	g.Members = slices.Clone(g.Members)
	wave := g.smallestWave()
	member := Member{ID: j.ID, Wave: wave, From: 1, Sets: j.Sets}
	for _, t := range taken {
		if t.Group == best && t.Wave == wave {
			member.From = t.Round + 1
		} else {
			member.From = max(member.From, t.Round)
		}
	}
	g.Members = append(g.Members, member)
	g.RestSeconds = max(g.RestSeconds, j.RestSeconds)
	limit := math.Inf(1)
	if s.Minutes > 0 {
		limit = 60 * s.Minutes
	}
	next.fillTurns(taken, limit)
	return next, true
}

func (g *Group) smallestWave() int {
	sizes := make([]int, g.waves())
	for _, m := range g.Members {
		sizes[m.Wave]++
	}
	smallest := 0
	for wave, size := range sizes {
		if size < sizes[smallest] {
			smallest = wave
		}
	}
	return smallest
}
