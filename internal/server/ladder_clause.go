package server

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
)

// newClause stands in the address for a clause that is not there yet.
const newClause = "new"

func clauseKey(r *http.Request) string { return chi.URLParam(r, "clause") }

// getClause shows one clause to change, or a new one of the measure asked for.
func (s *Server) getClause(w http.ResponseWriter, r *http.Request) error {
	form, _, err := s.clauseForm(r, r.URL.Query().Get("measure"))
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EditClause(s.meta(r, "Gate of "+form.Stage.Title), form, nil))
}

func (s *Server) clauseForm(r *http.Request, measure string) (page.ClauseForm, ladder.Clause, error) {
	draft, stage, err := s.draftStage(r)
	if err != nil {
		return page.ClauseForm{}, ladder.Clause{}, err
	}
	clause, found := clauseOf(stage, clauseKey(r))
	if clauseKey(r) == newClause {
		clause, found = firstClause(measure)
	}
	if !found {
		return page.ClauseForm{}, clause, problem.New(problem.NotFound, "This gate has no such clause. It may have been taken out.")
	}
	m, _ := measureIn(clause.Measure)
	form := page.FirstClauseForm(clause, m)
	form.Kept, form.Stage, form.Revision = draft.Kept, stage, draft.Revision
	if clause.Key == "" {
		form.Key = newClause
	}
	form.Words, err = words()
	return form, clause, err
}

func clauseOf(stage ladder.Stage, key string) (ladder.Clause, bool) {
	for _, c := range stage.Gate.Clauses {
		if c.Key == key {
			return c, true
		}
	}
	return ladder.Clause{}, false
}

func measureIn(key string) (ladder.Measure, bool) {
	for _, m := range ladder.Measures() {
		if m.Key == key {
			return m, true
		}
	}
	return ladder.Measure{}, false
}

// firstClause is a clause to begin from: a usual bar, on two days of a term.
func firstClause(measure string) (ladder.Clause, bool) {
	m, ok := measureIn(measure)
	if !ok {
		return ladder.Clause{}, false
	}
	c := ladder.Clause{Measure: m.Key, Results: 1, Days: 1}
	if m.Key == ladder.CoachJudges {
		return c, true
	}
	c.Comparison, c.Step, c.Rope, c.Results, c.Days, c.WithinWeeks = m.Comparisons[0], ladder.Any, ladder.One, 2, 2, 12
	switch m.Unit {
	case "catches":
		c.Threshold.Value, c.Seconds, c.RestartWithinSeconds = 2, 60, 3
	case "rpm":
		c.Threshold.Value = 120
	case "tries":
		c.Threshold.Value, c.Of = 3, 5
	default:
		c.Threshold.Value = 10
	}
	if m.Protocol == ladder.Burst {
		c.Threshold = ladder.Threshold{AboveBase: ladder.AboveBase{RPM: 12, Percent: 12, WithinWeeks: 3}}
		c.Seconds = 10
	}
	return c, true
}

// postClause keeps a clause in the draft.
func (s *Server) postClause(w http.ResponseWriter, r *http.Request) error {
	form, old, err := s.clauseForm(r, r.PostFormValue("measure"))
	if err != nil {
		return err
	}
	fillClauseForm(r, &form)
	clause, messages := clauseFrom(form, old)
	place := slices.IndexFunc(form.Stage.Gate.Clauses, func(c ladder.Clause) bool { return c.Key == old.Key })
	if place < 0 {
		place = len(form.Stage.Gate.Clauses)
	}
	if err = problem.Form(messages); err == nil {
		err = s.change(r, func(l ladder.Ladder) (ladder.Ladder, error) { return withClause(l, form.Stage.Key, clause, old) })
	}
	if err != nil {
		below := fmt.Sprintf("/stages/%d/gate/clauses/%d", form.Stage.Number-1, place)
		err = ladderFields(err, below, map[string]string{"task_text": "task", "threshold/value": "value", "threshold/under": "under", "threshold/above_base": "above",
			"threshold": "value", "restart_within_seconds": "restart", "within_weeks": "weeks"})
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.EditClause(s.metaAgain(r, "Gate of "+form.Stage.Title), form, messages)
		})
	}
	s.say(r, "Kept. Nothing counts before it is published.")
	return seeOther(w, r, ladderPath(form.Kept.LadderID, "/stages/"+form.Stage.Key+"/gate"))
}

// withClause puts a clause in the place of old, or at the end, with keys for the
// clause and its task where they are new.
func withClause(l ladder.Ladder, stage string, clause, old ladder.Clause) (ladder.Ladder, error) {
	s, ok := l.Stage(stage)
	if !ok {
		return l, problem.New(problem.NotFound, "The ladder has no such stage. It may have been retired.")
	}
	clause.Task = taskKey(l, clause, old)
	s.Gate.Clauses = slices.Clone(s.Gate.Clauses)
	if i := slices.IndexFunc(s.Gate.Clauses, func(c ladder.Clause) bool { return c.Key == old.Key && old.Key != "" }); i >= 0 {
		s.Gate.Clauses[i] = clause
	} else {
		clause.Key = freeClauseKey(s.Gate, clause)
		s.Gate.Clauses = append(s.Gate.Clauses, clause)
	}
	return l.With(s, s.Number), nil
}

// taskKey returns the key of a clause's task. Other words for the same clause keep
// it, so that results still count; a task that the ladder has keeps its key, too.
func taskKey(l ladder.Ladder, clause, old ladder.Clause) string {
	if clause.TaskText == "" {
		return ""
	}
	var taken ladder.Ladder // keys of tasks follow the rules for keys of stages
	for _, s := range l.Stages {
		for _, c := range s.Gate.Clauses {
			if c.TaskText == clause.TaskText && c.Measure == clause.Measure {
				return c.Task
			}
			taken.Stages = append(taken.Stages, ladder.Stage{Key: c.Task})
		}
	}
	if old.Task != "" {
		return old.Task
	}
	return taken.NewKey(clause.TaskText)
}

func freeClauseKey(g ladder.Gate, clause ladder.Clause) string {
	taken := ladder.Ladder{Stages: []ladder.Stage{{Key: ladder.SeenClause}, {Key: newClause}}}
	for _, c := range g.Clauses {
		taken.Stages = append(taken.Stages, ladder.Stage{Key: c.Key})
	}
	return taken.NewKey(clause.Measure)
}

// fillClauseForm takes over what was typed.
func fillClauseForm(r *http.Request, f *page.ClauseForm) {
	for field, into := range map[string]*string{"task": &f.Task, "steady": &f.Steady, "burst": &f.Burst, "doubles": &f.Doubles, "seconds": &f.Seconds,
		"step": &f.Step, "rope": &f.Rope, "comparison": &f.Comparison, "value": &f.Value, "age": &f.Age, "young": &f.Young,
		"above_rpm": &f.AboveRPM, "above_percent": &f.AbovePercent, "base_weeks": &f.BaseWeeks, "against": &f.Against, "of": &f.Of,
		"restart": &f.Restart, "results": &f.Results, "days": &f.Days, "weeks": &f.Weeks} {
		*into = trimmed(r.PostFormValue(field))
	}
	f.Seen = r.PostFormValue("seen") != ""
}

// clauseFrom reads the form into a clause like old. What is no number gets a
// message; everything else is checked with the ladder.
func clauseFrom(f page.ClauseForm, old ladder.Clause) (ladder.Clause, map[string]string) {
	messages := map[string]string{}
	whole := func(typed, field string) int {
		if typed == "" {
			return 0
		}
		n, ok := number(typed)
		if !ok {
			messages[field] = fmt.Sprintf("This must be a whole number, like 2. You typed “%s”.", cut(typed, 12))
		}
		return n
	}
	decimal := func(typed, field string) float64 {
		if typed == "" {
			return 0
		}
		x, err := strconv.ParseFloat(strings.Replace(typed, ",", ".", 1), 64)
		if err != nil {
			messages[field] = fmt.Sprintf("This must be a number, like 12. You typed “%s”.", cut(typed, 12))
		}
		return x
	}
	c := ladder.Clause{Key: old.Key, Measure: f.Measure.Key, TaskText: f.Task, Results: whole(f.Results, "results"), Days: whole(f.Days, "days"),
		WithinWeeks: whole(f.Weeks, "weeks")}
	if c.TaskText == "" && f.Measure.Task {
		messages["task"] = "Say in a few words what is tried or judged."
	}
	if c.Measure == ladder.CoachJudges {
		return c, messages
	}
	c.Comparison, c.Step, c.Rope, c.Of, c.Seconds = ladder.Comparison(f.Comparison), f.Step, f.Rope, whole(f.Of, "of"), whole(f.Seconds, "seconds")
	c.Each = ladder.Portion{Steady: whole(f.Steady, "each"), Burst: whole(f.Burst, "each"), Doubles: whole(f.Doubles, "each")}
	c.RestartWithinSeconds, c.SeenByCoach = decimal(f.Restart, "restart"), f.Seen
	if f.Measure.Protocol == ladder.Burst && f.Against == "base" {
		c.Threshold.AboveBase = ladder.AboveBase{RPM: decimal(f.AboveRPM, "above"), Percent: decimal(f.AbovePercent, "above"), WithinWeeks: whole(f.BaseWeeks, "above")}
		return c, messages
	}
	c.Threshold.Value = decimal(f.Value, "value")
	if f.Age != "" || f.Young != "" {
		c.Threshold.Under = []ladder.Variant{{Age: whole(f.Age, "under"), Value: decimal(f.Young, "under")}}
	}
	if len(old.Threshold.Under) > 1 { // ages beyond the first come from a file; the form leaves them
		c.Threshold.Under = append(c.Threshold.Under, old.Threshold.Under[1:]...)
	}
	return c, messages
}
