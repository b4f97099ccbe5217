package server

import (
	"encoding/json"
	"fmt"
	"time"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// clockTurn and clockCue are what a page's script needs of a course: times and
// what to play, without anybody's name.
type clockTurn struct {
	Label string  `json:"label"`
	Group int     `json:"group"`
	Start float64 `json:"start"`
	End   float64 `json:"end"`
}

type clockCue struct {
	Steady       int     `json:"steady"` // beats
	Burst        int     `json:"burst"`
	SteadyEvery  float64 `json:"steady_every"` // seconds
	BurstEvery   float64 `json:"burst_every"`
	Double       bool    `json:"double"`
	Cycles       int     `json:"cycles"`
	LeadInBeats  int     `json:"lead_in"`
	CountSeconds float64 `json:"count"` // of a test; nothing to play in between
}

type clockCourse struct {
	Turns []clockTurn `json:"turns"`
	Cues  []clockCue  `json:"cues"`
	Lead  float64     `json:"lead"`
}

// cueLeadIn is how many beats lead in to a group's set.
const cueLeadIn = 4

func courseFor(c floor.Course) clockCourse {
	out := clockCourse{Lead: floor.LeadSeconds, Turns: []clockTurn{}, Cues: []clockCue{}}
	for _, g := range c.Groups {
		cue := clockCue{LeadInBeats: cueLeadIn, Cycles: g.Cycles, Steady: g.Split.Steady, Burst: g.Split.Burst, Double: g.Split.Double}
		if g.SteadyRPM > 0 {
			cue.SteadyEvery = 60 / g.SteadyRPM
		}
		switch {
		case g.Split.Double:
			cue.BurstEvery = cue.SteadyEvery // one jump a beat
		case g.TargetRPM > 0:
			cue.BurstEvery = 60 / g.TargetRPM
		}
		if c.Test {
			cue = clockCue{CountSeconds: g.WorkSeconds}
		}
		out.Cues = append(out.Cues, cue)
	}
	for _, t := range c.Turns {
		out.Turns = append(out.Turns, clockTurn{Label: labelOf(c, t), Group: t.Group, Start: t.Starts, End: t.Ends})
	}
	return out
}

// labelOf names a turn: "Group B, wave 1 · round 2 of 5".
func labelOf(c floor.Course, t floor.Turn) string {
	g := c.Groups[t.Group]
	if c.Test {
		return "Wave " + g.Letter
	}
	text := "Group " + g.Letter
	if wave := waveOf(c, t); wave != "" {
		text += ", " + wave
	}
	return fmt.Sprintf("%s · round %d of %d", text, t.Round, c.Rounds)
}

// waveOf names a turn's wave where its group has more than one.
func waveOf(c floor.Course, t floor.Turn) string {
	for _, m := range c.Groups[t.Group].Members {
		if m.Wave > 0 {
			return fmt.Sprintf("wave %d", t.Wave+1)
		}
	}
	return ""
}

// clockView shows where a scene's clock stands.
func clockView(scene leading.Scene, now time.Time) page.ClockView {
	clock := scene.Clock
	elapsed := clock.Elapsed(now)
	v := page.ClockView{Number: clock.Number, Started: clock.Started, Running: clock.Running, Over: clock.Over(now), Test: clock.Course.Test,
		Elapsed: elapsed, Moment: clock.Course.At(elapsed), Rounds: clock.Course.Rounds}
	if !clock.Started {
		return v
	}
	v.ZeroMS = clock.Zero().UnixMilli()
	v.Course = asText(courseFor(clock.Course))
	v.Turn, v.Next = turnView(scene, v.Moment.Turn), turnView(scene, v.Moment.Turn+1)
	return v
}

func asText(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		return "" // numbers and texts alone always have a JSON
	}
	return string(text)
}

// turnView says who jumps in a turn, nil past the last.
func turnView(scene leading.Scene, turn int) *page.TurnView {
	c := scene.Clock.Course
	if turn >= len(c.Turns) {
		return nil
	}
	t := c.Turns[turn]
	g := c.Groups[t.Group]
	v := &page.TurnView{Round: t.Round, Letter: g.Letter, Wave: waveOf(c, t)}
	if !c.Test {
		v.Cue = page.GroupWords(g)
	}
	jumping := map[string]bool{}
	for _, id := range c.Jumping(turn) {
		jumping[id] = true
	}
	for _, athlete := range scene.Present() {
		if _, held := scene.Holds[athlete.AthleteID]; jumping[athlete.AthleteID.String()] && !held {
			v.Jumping = append(v.Jumping, athlete)
		}
	}
	return v
}

// boardView sorts whoever is here by who needs the coach, rests, works and is
// done.
func boardView(scene leading.Scene, now time.Time, mayPlan bool) page.BoardView {
	zone := scene.Gym.Zone()
	v := page.BoardView{Session: scene.Session.SessionID.String(), Clock: clockView(scene, now), MayPlan: mayPlan, At: now.In(zone).Format("15:04:05")}
	for _, place := range scene.Places(now) {
		row := page.BoardRow{Athlete: place.Athlete}
		if place.Doing.Group >= 0 && !scene.Clock.Course.Test {
			row.Letter = scene.Clock.Course.Groups[place.Doing.Group].Letter
			row.Sets = setsWords(place.Doing)
		}
		switch place.Needs {
		case leading.NeedPain:
			row.Why = "On hold: pain, since " + since(place.Since, now, zone)
		case leading.NeedHand:
			row.Why, row.Hand = "Called at "+part.Clock(place.Since.In(zone)), true
		case leading.NeedPlan:
			row.Why, row.Test = "No plan: needs a test", true
		}
		switch {
		case place.Needs != "":
			v.Needs = append(v.Needs, row)
		case place.Doing.State == floor.Resting:
			v.Resting = append(v.Resting, row)
		case place.Doing.State == floor.Working:
			v.Working = append(v.Working, row)
		case place.Doing.State == floor.Done && scene.Clock.Started:
			v.Done = append(v.Done, row)
		default:
			v.Beside = append(v.Beside, row)
		}
	}
	for _, athlete := range scene.Athletes {
		if !scene.Here[athlete.AthleteID] {
			v.Away = append(v.Away, athlete)
		}
	}
	return v
}

// since writes a moment as a time of today or a day.
func since(at, now time.Time, zone *time.Location) string {
	if gym.DayIn(at, zone).Equal(gym.DayIn(now, zone)) {
		return part.Clock(at.In(zone))
	}
	return part.Day(at.In(zone))
}

func setsWords(d floor.Doing) string {
	switch d.State {
	case floor.Working:
		return fmt.Sprintf("set %d of %d", d.Set, d.Sets)
	case floor.Resting:
		return fmt.Sprintf("%d of %d done", d.Set, d.Sets)
	case floor.Done:
		return part.Count(d.Sets, "set", "sets")
	default:
		return ""
	}
}
