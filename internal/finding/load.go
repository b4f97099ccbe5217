package finding

import (
	"math"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

// A Load is what the last weeks asked of the athlete.
type Load struct {
	Weeks    []WeekLoad // seven days each, the newest first; Weeks[0] ends today
	Ramp     progress.Ramp
	Rise     float64 // of the jumps, as a share of the week before; NaN where that had none
	Unrated  int     // sessions of the newest week without effort or minutes
	Sessions int     // sessions that were told of, in all these weeks
}

// A WeekLoad is the load of seven days that end on a day.
type WeekLoad struct {
	progress.Week
	From, To time.Time
	Sessions int
	Jumps    progress.Jumps
}

// loadWeeks is how many weeks are shown.
const loadWeeks = 4

// LoadOf sums up the last four weeks before and with today.
func LoadOf(r Record, today time.Time) Load {
	load := Load{Weeks: make([]WeekLoad, loadWeeks)}
	jumps := JumpsByDay(r)
	for i := range load.Weeks {
		w := &load.Weeks[i]
		w.To = today.AddDate(0, 0, -7*i)
		w.From = w.To.AddDate(0, 0, -6)
		days := make([]float64, 7)
		for _, d := range r.Debriefs {
			ago := int(w.To.Sub(d.Day).Hours() / 24)
			if d.Day.After(w.To) || ago > 6 || d.Effort == nil && d.Minutes == nil && d.SetsDone == nil {
				continue
			}
			w.Sessions++
			if d.Effort == nil || d.Minutes == nil {
				if i == 0 {
					load.Unrated++
				}
				continue
			}
			if au, err := progress.SessionLoad(float64(*d.Effort), *d.Minutes); err == nil {
				days[6-ago] += au
			}
		}
		w.Week, _ = progress.WeekOf(days) // seven loads, none below 0
		for ago := range 7 {
			w.Jumps = add(w.Jumps, jumps[w.To.AddDate(0, 0, -ago)])
		}
		load.Sessions += w.Sessions
	}
	this, last := load.Weeks[0].Jumps.Contacts(), load.Weeks[1].Jumps.Contacts()
	load.Ramp, load.Rise = progress.RampUnknown, math.NaN()
	if ramp, rise, err := progress.RampOf(float64(last), float64(this)); err == nil {
		load.Ramp, load.Rise = ramp, rise
	}
	return load
}

func add(a, b progress.Jumps) progress.Jumps {
	return progress.Jumps{Low: a.Low + b.Low, Doubles: a.Doubles + b.Doubles, Higher: a.Higher + b.Higher}
}

// JumpsByDay counts the floor contacts of each day: those of sessions, as told,
// and those of tests.
func JumpsByDay(r Record) map[time.Time]progress.Jumps {
	jumps := map[time.Time]progress.Jumps{}
	for _, d := range r.Debriefs {
		jumps[d.Day] = add(jumps[d.Day], r.jumpsIn(d))
	}
	for _, result := range r.Results {
		jumps[result.Day] = add(jumps[result.Day], jumpsOf(result))
	}
	return jumps
}

// jumpsIn returns the contacts of a session: as told, with the doubles that its
// plan had for as many sets.
func (r Record) jumpsIn(d gym.Debrief) progress.Jumps {
	contacts := 0
	if d.Contacts != nil {
		contacts = *d.Contacts
	}
	plan := r.plan(d.PlanID)
	if d.PlanID == uuid.Nil || plan == nil || plan.Contacts == 0 {
		return progress.Jumps{Low: contacts}
	}
	doubles := plan.Doubles * contacts / plan.Contacts
	return progress.Jumps{Low: contacts - doubles, Doubles: doubles}
}

// jumpsOf returns the contacts of a test, misses counted. A cycle or a round is
// taken as the ladder that ships has it: twenty low bounces, three and a double.
func jumpsOf(r gym.Result) progress.Jumps {
	n := 0
	if r.Rotations != nil {
		n = *r.Rotations
	}
	caught := 1
	if r.StoppedClean {
		caught = 0
	}
	switch r.Protocol {
	case rate.DoublesRun:
		return progress.Jumps{Doubles: n + caught}
	case rate.Tries:
		if r.Attempts != nil {
			return progress.Jumps{Doubles: *r.Attempts}
		}
		return progress.Jumps{}
	case rate.Rounds:
		return progress.Jumps{Low: 3 * n, Doubles: n}
	case rate.Cycles:
		return progress.Jumps{Low: 20 * n}
	case rate.RepeatBurst:
		for _, bout := range r.Bouts {
			n += int(bout)
		}
		return progress.Jumps{Low: n}
	case rate.Flight:
		return progress.Jumps{Low: 1}
	case rate.InDouble:
		return progress.Jumps{} // the rope turns at the side
	}
	return progress.Jumps{Low: n}
}
