package server

import (
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// stages are the pages about the ladder that all staff may read.
func (s *Server) stages(r chi.Router) {
	r.Get("/stages", s.page(s.getStages))
	r.Get("/stages/{stage}", s.page(s.getStage))
	r.Get("/athletes/{athlete}/gate", s.page(s.getGate))
	r.Get("/athletes/{athlete}/catches", s.page(s.getCatches))
	r.Post("/athletes/{athlete}/catches", s.page(s.postCatches))
	s.ropes(r)
}

// deciding are the pages where a coach decides about stages.
func (s *Server) deciding(r chi.Router) {
	r.Post("/athletes/{athlete}/gate", s.page(s.postGate))
	r.Post("/athletes/{athlete}/looks", s.page(s.postLook))
	r.Post("/decisions/{decision}/take-back", s.page(s.postTakeBack))
	r.Get("/classes/{class}/set", s.page(s.getSetClass))
	r.Post("/classes/{class}/set", s.page(s.postSetClass))
	r.Get("/athletes/{athlete}/set", s.page(s.getSetOne))
	r.Post("/athletes/{athlete}/set", s.page(s.postSetOne))
	r.Post("/athletes/{athlete}/set/off", s.page(s.postTakeOff))
	r.Get("/classes/{class}/checks", s.page(s.getChecks))
	r.Post("/classes/{class}/checks", s.page(s.postCheck))
	s.ropeRules(r)
	s.ladders(r)
}

// words returns the catalogue of the ladder's words.
func words() (ladder.Words, error) { return ladder.WordsIn("en") }

// boardAtOnce is how many athletes the board shows at once where no class was asked
// for; in a larger gym it begins with the first class.
const boardAtOnce = 60

// getStages shows who stands where in a class or, asked for "all", in the gym.
func (s *Server) getStages(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	v := page.StagesView{MayDecide: may(me.Role, planAndDecide), Saved: s.saved(r.Context())}
	asked := r.URL.Query().Get("class")
	class, err := uuid.Parse(asked)
	if err != nil && asked != "all" {
		if err := s.Store.Read(r.Context(), me.GymID, store.Classes(&v.Classes)); err != nil {
			return err
		}
		enrolled := 0
		for _, c := range v.Classes {
			enrolled += c.Athletes
		}
		if len(v.Classes) == 1 || enrolled > boardAtOnce {
			class = v.Classes[0].ClassID
		}
	}
	whom := store.Everybody()
	if class != uuid.Nil {
		whom = store.InClass(class)
	}
	ground, err := s.Deciding.Load(r.Context(), me, whom, store.Classes(&v.Classes))
	if err != nil {
		return err
	}
	for i := range v.Classes {
		if v.Classes[i].ClassID == class {
			v.Class = &v.Classes[i]
		}
	}
	if class != uuid.Nil && v.Class == nil {
		return problem.New(problem.NotFound, "There is no such class in this gym.")
	}
	known, err := words()
	if err != nil {
		return err
	}
	fillStages(&v, ground, known)
	return render(w, r, http.StatusOK, page.Stages(s.wide(r, "Stages"), v))
}

// fillStages puts who stands where into the view.
func fillStages(v *page.StagesView, g deciding.Ground, known ladder.Words) {
	class, unplaced := g.Class()
	byID := map[string]deciding.Athlete{}
	for _, a := range g.Athletes {
		byID[a.AthleteID.String()] = a
	}
	stuck := map[string]bool{}
	for _, one := range class.Stuck {
		stuck[one.Athlete] = true
	}
	line := func(id string) page.PersonLine { return personLine(g, byID[id], stuck[id], known) }
	v.Ladder = g.Ladder
	for _, count := range class.Stages {
		stage := page.StageLine{Stage: count.Stage}
		for _, id := range count.Athletes {
			stage.People = append(stage.People, line(id))
		}
		if len(count.Lacking) > 0 {
			stage.Lack, stage.Lacks = clauseSentence(count.Stage.Gate, count.Lacking[0].Clause, known), len(count.Lacking[0].Athletes)
		}
		v.Stages = append(v.Stages, stage)
	}
	for _, id := range class.Ready {
		v.Ready = append(v.Ready, line(id))
	}
	for _, one := range class.Stuck {
		v.Stuck = append(v.Stuck, line(one.Athlete))
	}
	for _, id := range class.Astray {
		v.Astray = append(v.Astray, byID[id].Athlete)
	}
	for _, a := range unplaced {
		v.Unplaced = append(v.Unplaced, a.Athlete)
	}
}

func personLine(g deciding.Ground, a deciding.Athlete, stuck bool, known ladder.Words) page.PersonLine {
	stage, _ := g.Stage(a)
	verdict, _ := g.Verdict(a, stage.Key)
	line := page.PersonLine{Athlete: a.Athlete, Stage: stage, Days: int(g.Today.Sub(a.Place.Since).Hours() / 24), Ready: verdict.State == ladder.Met, Stuck: stuck}
	for i, clause := range verdict.Clauses {
		if clause.State == ladder.Met {
			continue
		}
		var asks ladder.Clause
		if i < len(stage.Gate.Clauses) {
			asks = stage.Gate.Clauses[i]
		}
		line.Lack = known.Missing(asks, clause)
		break
	}
	return line
}

// clauseSentence says what the clause with key asks of everybody.
func clauseSentence(g ladder.Gate, key string, known ladder.Words) string {
	for _, c := range g.Clauses {
		if c.Key == key {
			return known.Clause(c)
		}
	}
	return known.Seen()
}

// getStage explains one stage, its drill at the rates of the athlete asked for.
func (s *Server) getStage(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	asked := parsed(r.URL.Query().Get("athlete"))
	var results []gym.Result
	var plans []gym.Plan
	ground, err := s.Deciding.Places(r.Context(), me, store.Everybody(), store.ResultsOf(asked, s.Now().Add(-deciding.Lookback), &results), store.RecentPlansOf(asked, s.Now().Add(-coaching.Lookback), &plans))
	if err != nil {
		return err
	}
	var v page.StageView
	var ok bool
	if v.Stage, ok = ground.Ladder.Stage(chi.URLParam(r, "stage")); !ok {
		return problem.New(problem.NotFound, "The ladder has no such stage. It may have been retired.")
	}
	if v.Words, err = words(); err != nil {
		return err
	}
	v.Ladder = ground.Ladder
	v.Previous, v.Next = beside(ground.Ladder, v.Stage.Key)
	for i, a := range ground.Athletes {
		if a.Place.Stage == v.Stage.Key {
			v.People = append(v.People, a.Athlete)
			if a.AthleteID == asked {
				v.Athlete = &ground.Athletes[i].Athlete
			}
		}
	}
	if v.Athlete != nil {
		if v.Rates, err = deciding.RatesOf(results, plans, ground.Today); err != nil {
			return err
		}
	}
	return render(w, r, http.StatusOK, page.Stage(s.meta(r, v.Stage.Title), v))
}

func beside(l ladder.Ladder, key string) (previous, next *ladder.Stage) {
	if stage, ok := l.Previous(key); ok {
		previous = &stage
	}
	if stage, ok := l.Next(key); ok {
		next = &stage
	}
	return previous, next
}
