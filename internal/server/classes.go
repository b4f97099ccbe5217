package server

import (
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// today returns the gym's calendar day.
func (s *Server) today(g gym.Gym) time.Time { return g.DayOf(s.Now()) }

func (s *Server) getClasses(w http.ResponseWriter, r *http.Request) error {
	var classes []gym.Class
	var times []gym.ClassTime
	me := who(r.Context())
	if err := s.Store.Read(r.Context(), me.GymID, store.Classes(&classes), store.ClassTimes(&times)); err != nil {
		return err
	}
	lines := make([]page.ClassLine, len(classes))
	for i, class := range classes {
		lines[i] = page.ClassLine{Class: class, Times: page.ClassTimes(class.ClassID, times)}
	}
	return render(w, r, http.StatusOK, page.Classes(s.meta(r, "Classes"), lines, may(me.Role, manageClasses)))
}

func (s *Server) getNewClass(w http.ResponseWriter, r *http.Request) error {
	form := page.ClassForm{ID: newID().String(), Minutes: "60"}
	return render(w, r, http.StatusOK, page.NewClass(s.meta(r, "Make a class"), form, nil))
}

func (s *Server) postClass(w http.ResponseWriter, r *http.Request) error {
	form := page.ClassForm{ID: idFrom(r, "id").String(), Name: r.PostFormValue("name"), Weekday: r.PostFormValue("weekday"),
		StartsAt: r.PostFormValue("starts_at"), Minutes: r.PostFormValue("minutes")}
	class, err := s.Roster.AddClass(r.Context(), who(r.Context()), parsed(form.ID), classFrom(form))
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.meta(r, "Make a class")
			meta.Error = true
			return page.NewClass(meta, form, messages)
		})
	}
	s.say(r, "The class is made. Now bring in its names.")
	return seeOther(w, r, "/classes/"+class.String()+"/import")
}

// classFrom reads the form; what does not parse stays out of range, which
// roster reports.
func classFrom(form page.ClassForm) roster.NewClass {
	class := roster.NewClass{Name: form.Name, StartsAt: -1}
	class.Weekday, _ = number(form.Weekday)
	class.Minutes, _ = number(form.Minutes)
	if at, err := time.Parse("15:04", trimmed(form.StartsAt)); err == nil {
		class.StartsAt = time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute
	}
	return class
}

// getClass shows who is in a class and what is known of each, in one round trip
// however many there are.
func (s *Server) getClass(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	me := who(r.Context())
	v := page.ClassView{MayPlan: may(me.Role, planAndDecide), Saved: s.saved(r.Context())}
	var g gym.Gym
	var times []gym.ClassTime
	var athletes []gym.Athlete
	var results []gym.Result
	var tested []store.Tested
	var places []gym.StageDecision
	var stages []gym.Stage
	var holds []gym.Hold
	err = s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Class(id, &v.Class), store.ClassTimes(&times),
		store.AthletesOf(id, &athletes), store.ResultsOfClass(id, s.Now().Add(-level.Reach), &results),
		store.TestedOfClass(id, s.Now().Add(-measuring.Lookback), &tested),
		store.PlacesOfClass(id, &places), store.StageTitles(&stages), store.HoldsOfClass(id, &holds))
	if err != nil {
		return err
	}
	v.Times = page.ClassTimes(id, times)
	byAthlete, today := groupResults(results), s.today(g)
	lately := make(map[uuid.UUID]store.Tested, len(tested))
	for _, t := range tested {
		lately[t.AthleteID] = t
	}
	for _, athlete := range athletes {
		line := page.AthleteLine{Athlete: athlete, Stage: page.StageOf(athlete.AthleteID, places, stages),
			Levels: level.Of(byAthlete[athlete.AthleteID], today), Hold: onHold(athlete.AthleteID, holds),
			Tested: lately[athlete.AthleteID].Newest, Odd: lately[athlete.AthleteID].Odd}
		v.Odd += line.Odd
		v.Athletes = append(v.Athletes, line)
	}
	return render(w, r, http.StatusOK, page.Class(s.wide(r, v.Class.Name), v))
}

// groupResults returns the results of each athlete. Where results come sorted by
// athlete, those of one are a piece of them, and nothing is copied.
func groupResults(results []gym.Result) map[uuid.UUID][]gym.Result {
	byAthlete := map[uuid.UUID][]gym.Result{}
	for from, to := 0, 1; to <= len(results); to++ {
		if to == len(results) || results[to].AthleteID != results[from].AthleteID {
			one := results[from].AthleteID
			if byAthlete[one] == nil {
				byAthlete[one] = results[from:to:to]
			} else {
				byAthlete[one] = append(byAthlete[one], results[from:to]...)
			}
			from = to
		}
	}
	return byAthlete
}

func onHold(athlete uuid.UUID, newest []gym.Hold) bool {
	for _, hold := range newest {
		if hold.AthleteID == athlete {
			return hold.Opened
		}
	}
	return false
}

// getCards shows the class code and who has a PIN.
func (s *Server) getCards(w http.ResponseWriter, r *http.Request) error {
	return s.showCards(w, r, nil)
}

// postCards gives new PINs and shows them once.
func (s *Server) postCards(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var athletes []gym.Athlete
	if err := s.Store.Read(r.Context(), me.GymID, store.AthletesOf(id, &athletes)); err != nil {
		return err
	}
	chosen := r.PostFormValue("athlete")
	fresh := map[string]string{}
	for _, athlete := range athletes {
		if chosen == athlete.AthleteID.String() || chosen == "missing" && !athlete.HasPIN {
			fresh[athlete.AthleteID.String()] = account.NewPIN()
		}
	}
	if len(fresh) == 0 && chosen != "missing" {
		return problem.New(problem.NotFound, "There is no such athlete in this class.")
	}
	if err := s.Accounts.GivePINs(r.Context(), me, fresh); err != nil {
		return err
	}
	return s.showCards(w, r, fresh)
}

func (s *Server) showCards(w http.ResponseWriter, r *http.Request, fresh map[string]string) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	v := page.CardsView{Fresh: fresh, Address: s.addressOf(r) + "/join"}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(id, &v.Class), store.AthletesOf(id, &v.Athletes)); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Cards(s.meta(r, "Cards and PINs"), v))
}
