package floor

// A Moment is where a course stands.
type Moment struct {
	Turn    int     // index of the turn under way or next; the number of turns when all are over
	Working bool    // the turn is under way; else there is a pause before it
	Left    float64 // seconds to the end of the work, or to the next turn's start
	Over    bool
}

// At returns where the course stands after elapsed seconds.
func (c Course) At(elapsed float64) Moment {
	for i, t := range c.Turns {
		switch {
		case elapsed < t.Starts:
			return Moment{Turn: i, Left: t.Starts - elapsed}
		case elapsed < t.Ends:
			return Moment{Turn: i, Working: true, Left: t.Ends - elapsed}
		}
	}
	return Moment{Turn: len(c.Turns), Over: true}
}

// Next returns the second to go on from when a coach moves on: the lead of the
// turn after this one, or of this one while its pause lasts; the end of the
// course after the last.
func (c Course) Next(elapsed float64) float64 {
	m := c.At(elapsed)
	if m.Working {
		m.Turn++
	}
	if m.Turn >= len(c.Turns) {
		return max(elapsed, c.Seconds)
	}
	return max(elapsed, c.Turns[m.Turn].Starts-LeadSeconds)
}

// State is what an athlete does at a moment.
type State string

// The states. Beside is whoever is in no group: nothing to jump, or came late.
const (
	Working State = "working"
	Resting State = "resting"
	Done    State = "done"
	Beside  State = "beside"
)

// A Doing is what one athlete does at a moment.
type Doing struct {
	State State
	Group int // index; -1 when beside
	Set   int // the set under way, or the last one done
	Sets  int // in this course
	NextS float64
}

// Doing returns what the athlete with the id does after elapsed seconds. NextS
// is the seconds to the own next start, 0 if there is none.
func (c Course) Doing(id string, elapsed float64) Doing {
	group, member, ok := c.find(id)
	if !ok {
		return Doing{State: Beside, Group: -1}
	}
	d := Doing{State: Done, Group: group}
	for _, t := range c.Turns {
		if t.Group != group || t.Wave != member.Wave || t.Round < member.From || t.Round > member.last() {
			continue
		}
		d.Sets++
		switch {
		case elapsed >= t.Ends:
			d.Set++
		case elapsed >= t.Starts:
			d.Set++
			d.State = Working
		case d.State != Working && d.NextS == 0:
			d.State, d.NextS = Resting, t.Starts-elapsed
		case d.NextS == 0:
			d.NextS = t.Starts - elapsed
		}
	}
	return d
}

// Has reports whether the athlete has a place in the course.
func (c Course) Has(id string) bool {
	_, _, ok := c.find(id)
	return ok
}

func (c Course) find(id string) (group int, member Member, ok bool) {
	for g := range c.Groups {
		for _, m := range c.Groups[g].Members {
			if m.ID == id {
				return g, m, true
			}
		}
	}
	return 0, Member{}, false
}

// Jumping returns the ids of whoever jumps in a turn, in the order they stand in.
func (c Course) Jumping(turn int) []string {
	if turn < 0 || turn >= len(c.Turns) {
		return nil
	}
	t := c.Turns[turn]
	var ids []string
	for _, m := range c.Groups[t.Group].Members {
		if m.Wave == t.Wave && m.From <= t.Round && t.Round <= m.last() {
			ids = append(ids, m.ID)
		}
	}
	return ids
}
