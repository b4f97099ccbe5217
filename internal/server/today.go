package server

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getToday shows each class by when it meets next and what it needs.
func (s *Server) getToday(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	var g gym.Gym
	var classes []gym.Class
	var times []gym.ClassTime
	var holidays []gym.Holiday
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Classes(&classes), store.ClassTimes(&times), store.Holidays(&holidays)); err != nil {
		return err
	}
	today := s.today(g)
	v := page.TodayView{Day: part.Day(s.Now().In(g.Zone()))}
	type facts struct {
		athletes []gym.Athlete
		results  []gym.Result
		holds    []gym.Hold
		plans    []gym.Plan
		next     time.Time
	}
	read := make([]facts, len(classes))
	var readings []store.Reading
	for i, class := range classes {
		f := &read[i]
		f.next = s.nextMeeting(g, class.ClassID, times, holidays)
		readings = append(readings, store.AthletesOf(class.ClassID, &f.athletes),
			store.ResultsOfClass(class.ClassID, today.Add(-measuring.Lookback), &f.results),
			store.HoldsOfClass(class.ClassID, &f.holds), store.PlansOfClass(class.ClassID, f.next, &f.plans))
	}
	if len(readings) > 0 {
		if err := s.Store.Read(r.Context(), me.GymID, readings...); err != nil {
			return err
		}
	}
	for i, class := range classes {
		f := read[i]
		line := page.TodayClass{Class: class, NextDay: f.next.Format(time.DateOnly), MayPlan: may(me.Role, planAndDecide), Planned: len(f.plans),
			Next: meetingWords(f.next, today, class.ClassID, times)}
		byAthlete := groupResults(f.results)
		for _, athlete := range f.athletes {
			results := byAthlete[athlete.AthleteID]
			if !level.Of(results, today).Planning().Known() {
				line.NoTest = append(line.NoTest, athlete)
			}
			if onHold(athlete.AthleteID, f.holds) {
				line.OnHold = append(line.OnHold, athlete)
			}
			for _, result := range results {
				if result.KeptOdd {
					line.Odd++
				}
			}
		}
		v.Classes = append(v.Classes, line)
	}
	slices.SortStableFunc(v.Classes, func(a, b page.TodayClass) int { return cmp.Compare(a.NextDay, b.NextDay) })
	return render(w, r, http.StatusOK, page.Today(s.wide(r, "Today"), v))
}

// nextMeeting returns the next day, today included, on which a class meets; a
// class without times is taken to meet today.
func (s *Server) nextMeeting(g gym.Gym, class uuid.UUID, times []gym.ClassTime, holidays []gym.Holiday) time.Time {
	return gym.NextMeeting(s.Now().In(g.Zone()), class, times, holidays)
}

func meetingWords(next, today time.Time, class uuid.UUID, times []gym.ClassTime) string {
	words := part.Day(next)
	switch int(next.Sub(today).Hours() / 24) {
	case 0:
		words = "Today"
	case 1:
		words = "Tomorrow, " + words
	}
	if at := page.ClassTimes(class, times); at != "" {
		words += " · " + at
	}
	return words
}
