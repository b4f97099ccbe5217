package server

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// myStage are the pages on which athletes see where they stand.
func (s *Server) myStage(r chi.Router) {
	r.Get("/me/stage", s.page(s.getMyStage))
	r.Get("/me/stage/catches", s.page(s.getMyCatches))
	r.Post("/me/stage/catches", s.page(s.postMyCatches))
}

// getMyStage shows an athlete the own stage and what opens the next.
func (s *Server) getMyStage(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	var results []gym.Result
	var plans []gym.Plan
	var people []gym.Person
	var notes []gym.CatchNote
	var set []gym.Assignment
	whom, now := store.Only(me.AthleteID), s.Now()
	ground, a, err := s.Deciding.LoadOne(r.Context(), me, me.AthleteID, store.ResultsOf(me.AthleteID, now.Add(-deciding.Lookback), &results),
		store.RecentPlansOf(me.AthleteID, now.Add(-coaching.Lookback), &plans), store.PeopleEver(&people), store.CatchNotes(whom, now.AddDate(0, 0, -deciding.DiaryDays), &notes),
		store.Assignments(whom, now.AddDate(0, 0, -deciding.SetDays), &set))
	if err != nil {
		return err
	}
	v := page.MyStageView{Athlete: a.Athlete, Ladder: ground.Ladder}
	if v.Words, err = words(); err != nil {
		return err
	}
	stage, placed := ground.Stage(a)
	if !placed {
		return render(w, r, http.StatusOK, page.MyStage(s.meta(r, "My stage"), v))
	}
	if v.Rates, err = deciding.RatesOf(results, plans, ground.Today); err != nil {
		return err
	}
	v.Stage, v.Days = stage, int(ground.Today.Sub(a.Place.Since).Hours()/24)
	_, v.Next = beside(ground.Ladder, stage.Key)
	verdict, _ := ground.Verdict(a, stage.Key)
	v.Met = verdict.State == ladder.Met
	v.Clauses = clauseLines(ground, a, stage, v.Words, people)
	for _, reason := range stage.May(ladder.GateAttempt, a.Known, false).Reasons {
		v.Cautions = append(v.Cautions, v.Words.Reason(reason))
	}
	v.Work = workLines(deciding.WorkOf(set, a.Results, ground.Today), ground.Ladder, ground.Today, v.Words)
	v.Cue, v.CueReason = v.Words.Suggestion(deciding.Suggest(notes, ground.Today))
	return render(w, r, http.StatusOK, page.MyStage(s.meta(r, "My stage"), v))
}
