package server

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getToday shows what is under way, the class that meets next with what it
// needs, and the others in short. It asks for the needs of one class alone.
func (s *Server) getToday(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	var g gym.Gym
	var year calendar.Year
	var classes []gym.Class
	var open []gym.Session
	var newest, good []gym.Backup
	readings := append(leading.YearReadings(s.Now(), &year), store.TheGym(&g), store.Classes(&classes), store.OpenSessions(s.Now().Add(-leading.OpenFor), &open))
	if may(me.Role, manageGym) {
		readings = append(readings, store.Backups(1, &newest), store.LastGoodBackup(&good))
	}
	if err := s.Store.Read(r.Context(), me.GymID, readings...); err != nil {
		return err
	}
	year.Zone = g.Zone()
	v := page.TodayView{Day: part.Day(s.Now().In(g.Zone())), MayPlan: may(me.Role, planAndDecide), Saved: s.saved(r.Context())}
	if may(me.Role, manageGym) {
		var last *gym.Backup
		if v.Backup, last, _ = worry(s.machineNow(), g, newest, good, s.realNow()); last != nil {
			v.BackupAt = part.Day(last.EndedAt.In(g.Zone()))
		}
	}
	next, err := s.nextMeetings(year, classes)
	if err != nil {
		return err
	}
	for _, m := range next {
		class := classOf(classes, m.ClassID)
		if v.Next == nil && class.Athletes > 0 && !isOpen(open, m) {
			v.Next = &page.NextClass{Class: class}
			if err := s.fillNext(r, v.Next, m, s.today(g)); err != nil {
				return err
			}
			continue
		}
		v.Others = append(v.Others, page.TodayLine{Class: class, When: page.WhenWords(m, s.today(g))})
	}
	if v.Next == nil && len(next) > 0 && len(open) == 0 { // classes without athletes: the first one is what there is
		v.Next, v.Others = &page.NextClass{Class: classOf(classes, next[0].ClassID)}, v.Others[1:]
		if err := s.fillNext(r, v.Next, next[0], s.today(g)); err != nil {
			return err
		}
	}
	if v.UnderWay, err = s.underWay(r, open, classes); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Today(s.wide(r, "Today"), v))
}

// nextMeetings returns each class's next meeting, the soonest first.
func (s *Server) nextMeetings(year calendar.Year, classes []gym.Class) ([]calendar.Meeting, error) {
	var next []calendar.Meeting
	for _, class := range classes {
		m, err := year.Next(class.ClassID, s.Now())
		if err != nil {
			return nil, err
		}
		next = append(next, m)
	}
	slices.SortStableFunc(next, func(a, b calendar.Meeting) int { return cmp.Compare(a.Starts.UnixNano(), b.Starts.UnixNano()) })
	return next, nil
}

func classOf(classes []gym.Class, id uuid.UUID) gym.Class {
	for _, class := range classes {
		if class.ClassID == id {
			return class
		}
	}
	return gym.Class{ClassID: id}
}

// isOpen reports whether the meeting was checked in already.
func isOpen(open []gym.Session, m calendar.Meeting) bool {
	return slices.ContainsFunc(open, func(s gym.Session) bool { return s.ClassID == m.ClassID && s.StartsAt.Equal(m.Starts) })
}

// fillNext reads what a class needs for a meeting, in one round trip.
func (s *Server) fillNext(r *http.Request, next *page.NextClass, m calendar.Meeting, today time.Time) error {
	next.When, next.Day, next.Early = page.WhenWords(m, today), m.On().Format(time.DateOnly), !m.On().Equal(today)
	next.Occasion = page.OccasionWords(m)
	needs, err := s.needsOf(r, m)
	if err != nil {
		return err
	}
	next.NoTest, next.Ready, next.Pain, next.Away = needs.noTest, needs.ready, needs.pain, needs.away
	next.Odd, next.Planned, next.Sent = needs.odd, len(needs.plans), 0
	for _, plan := range needs.plans {
		if plan.SentAt != nil {
			next.Sent++
		}
	}
	return nil
}

// needs is what a class needs for a meeting.
type needs struct {
	athletes                  []gym.Athlete
	noTest, ready, pain, away []gym.Athlete
	last                      *gym.Session // the one before, nil for the first
	plans                     []gym.Plan
	odd                       int
	stages                    map[uuid.UUID]string // "4 · Steady minute"
}

func (s *Server) needsOf(r *http.Request, m calendar.Meeting) (needs, error) {
	var n needs
	var holds []gym.Hold
	var last []gym.Session
	var noted []store.Attendance
	var results []gym.Result
	ground, err := s.Deciding.Load(r.Context(), who(r.Context()), store.InClass(m.ClassID), store.HoldsOfClass(m.ClassID, &holds),
		store.ResultsOfClass(m.ClassID, m.On().Add(-measuring.Lookback), &results),
		store.PlansOfClass(m.ClassID, m.On(), &n.plans), store.LastSessionOf(m.ClassID, m.Starts, &last), store.LastAttendanceOf(m.ClassID, m.Starts, &noted))
	if err != nil {
		return n, err
	}
	if len(last) > 0 {
		n.last = &last[0]
	}
	standings, _ := ground.Class()
	byAthlete := groupResults(results)
	n.stages = map[uuid.UUID]string{}
	for _, a := range ground.Athletes {
		if stage, ok := ground.Stage(a); ok {
			n.stages[a.AthleteID] = fmt.Sprintf("%d · %s", stage.Number, stage.Title)
		}
		n.athletes = append(n.athletes, a.Athlete)
		if !level.Of(byAthlete[a.AthleteID], m.On()).Planning().Known() {
			n.noTest = append(n.noTest, a.Athlete)
		}
		if slices.Contains(standings.Ready, a.AthleteID.String()) {
			n.ready = append(n.ready, a.Athlete)
		}
		if onHold(a.AthleteID, holds) {
			n.pain = append(n.pain, a.Athlete)
		}
		if slices.ContainsFunc(noted, func(at store.Attendance) bool { return at.AthleteID == a.AthleteID && !at.Here }) {
			n.away = append(n.away, a.Athlete)
		}
		for _, result := range byAthlete[a.AthleteID] {
			if result.KeptOdd {
				n.odd++
			}
		}
	}
	return n, nil
}

// underWay says of each open session who came, in one round trip.
func (s *Server) underWay(r *http.Request, open []gym.Session, classes []gym.Class) ([]page.UnderWay, error) {
	if len(open) == 0 {
		return nil, nil
	}
	hours := make([]page.UnderWay, len(open))
	noted := make([][]store.Attendance, len(open))
	var readings []store.Reading
	for i, session := range open {
		hours[i] = page.UnderWay{Class: classOf(classes, session.ClassID), Session: session}
		readings = append(readings, store.AttendanceAt(session.SessionID, &noted[i]))
	}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, readings...); err != nil {
		return nil, err
	}
	for i := range hours {
		for _, a := range noted[i] {
			if a.Here {
				hours[i].Here++
			} else {
				hours[i].Away++
			}
		}
	}
	return hours, nil
}

// nextMeeting returns the next day, today included, on which a class meets.
func (s *Server) nextMeeting(r *http.Request, class uuid.UUID) (calendar.Meeting, gym.Gym, error) {
	year, g, err := s.Leading.Year(r.Context(), who(r.Context()), s.Now())
	if err != nil {
		return calendar.Meeting{}, g, err
	}
	m, err := year.Next(class, s.Now())
	return m, g, err
}
