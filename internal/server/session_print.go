package server

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// prints are the pages made for paper, for all staff.
func (s *Server) prints(r chi.Router) {
	r.Get("/sessions/{session}/print/floor", s.page(s.getFloorSheet))
	r.Get("/sessions/{session}/print/cards", s.page(s.getPlanCards))
	r.Get("/classes/{class}/count-sheet", s.page(s.getCountSheet))
}

// made says when a printed page was made.
func (s *Server) made(g gym.Gym) string {
	now := s.Now().In(g.Zone())
	return part.Day(now) + ", " + part.Clock(now)
}

// printed reads a class hour and the course that its plans make.
func (s *Server) printed(r *http.Request) (leading.Scene, floor.Course, error) {
	id, err := idIn(r, "session")
	if err != nil {
		return leading.Scene{}, floor.Course{}, err
	}
	course, scene, err := s.Leading.Preview(r.Context(), who(r.Context()), leading.Start{Session: id})
	if errors.Is(err, floor.ErrNobody) {
		err = nil
	}
	if err == nil && scene.Clock.Started && !scene.Clock.Course.Test {
		course = scene.Clock.Course // the one that runs, late-comers included
	}
	return scene, course, err
}

func whenOf(scene leading.Scene) string {
	return part.Day(scene.Session.Day) + ", " + part.Clock(scene.Session.StartsAt.In(scene.Gym.Zone()))
}

// getFloorSheet shows the groups on one page for the wall.
func (s *Server) getFloorSheet(w http.ResponseWriter, r *http.Request) error {
	scene, course, err := s.printed(r)
	if err != nil {
		return err
	}
	v := page.FloorSheetView{Gym: scene.Gym.Name, Class: scene.Class, When: whenOf(scene), Made: s.made(scene.Gym), Rounds: course.Rounds,
		Length: part.Minutes(course.Seconds), Fits: scene.Fits()}
	for _, g := range course.Groups {
		group := page.SheetGroup{Group: g}
		for _, m := range g.Members {
			group.Waves = max(group.Waves, m.Wave+1)
		}
		for _, m := range g.Members {
			i := slices.IndexFunc(scene.Athletes, func(a gym.Athlete) bool { return a.AthleteID.String() == m.ID })
			if i < 0 {
				continue
			}
			member := page.SheetMember{Athlete: scene.Athletes[i], Sets: m.Sets}
			if group.Waves > 1 {
				member.Wave = m.Wave + 1
			}
			group.Members = append(group.Members, member)
		}
		v.Groups = append(v.Groups, group)
	}
	for _, athlete := range scene.Present() {
		_, held := scene.Holds[athlete.AthleteID]
		switch {
		case held:
			v.Held = append(v.Held, athlete)
		case !course.Has(athlete.AthleteID.String()):
			v.Beside = append(v.Beside, athlete)
		}
	}
	return render(w, r, http.StatusOK, page.FloorSheet(s.paper(r, "Floor sheet"), v))
}

// getPlanCards shows a card for everybody who is here.
func (s *Server) getPlanCards(w http.ResponseWriter, r *http.Request) error {
	scene, course, err := s.printed(r)
	if err != nil {
		return err
	}
	v := page.PlanCards{Gym: scene.Gym.Name, Class: scene.Class, When: whenOf(scene), Made: s.made(scene.Gym)}
	for _, athlete := range scene.Present() {
		card := page.PlanCard{Athlete: athlete}
		if d := course.Doing(athlete.AthleteID.String(), 0); d.Group >= 0 {
			card.Letter = course.Groups[d.Group].Letter
		}
		if plan, planned := scene.Plans[athlete.AthleteID]; planned {
			card.Plan = &plan
		}
		_, card.Held = scene.Holds[athlete.AthleteID]
		v.Cards = append(v.Cards, card)
	}
	return render(w, r, http.StatusOK, page.PlanCardsSheet(s.paper(r, "Cards"), v))
}

// getCountSheet shows a blank list for a day without power.
func (s *Server) getCountSheet(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	var g gym.Gym
	var v page.CountSheetView
	var athletes []gym.Athlete
	var results []gym.Result
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Class(id, &v.Class), store.AthletesOf(id, &athletes),
		store.ResultsOfClass(id, s.Now().Add(-measuring.Lookback).Truncate(24*time.Hour), &results))
	if err != nil {
		return err
	}
	v.Gym, v.Made = g.Name, s.made(g)
	byAthlete := groupResults(results)
	for _, athlete := range athletes {
		v.Rows = append(v.Rows, page.CountSheetRow{Athlete: athlete, Last: lastOf(byAthlete[athlete.AthleteID])})
	}
	return render(w, r, http.StatusOK, page.CountSheet(s.paper(r, "Count sheet"), v))
}
