package server

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/a-h/templ"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
)

// getStageWords shows a stage's words and drill to change.
func (s *Server) getStageWords(w http.ResponseWriter, r *http.Request) error {
	draft, stage, err := s.draftStage(r)
	if err != nil {
		return err
	}
	form, err := stageForm(draft, stage)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EditStage(s.meta(r, stage.Title), form, nil))
}

func stageForm(draft deciding.Draft, stage ladder.Stage) (page.StageForm, error) {
	form := page.FirstStageForm(stage)
	form.Kept, form.Revision = draft.Kept, draft.Revision
	known, err := words()
	form.Words = known
	return form, err
}

// postStageWords keeps a stage's words and drill in the draft.
func (s *Server) postStageWords(w http.ResponseWriter, r *http.Request) error {
	draft, stage, err := s.draftStage(r)
	if err != nil {
		return err
	}
	changed, messages := stageFrom(r, stage)
	if err = problem.Form(messages); err == nil {
		err = s.change(r, func(l ladder.Ladder) (ladder.Ladder, error) { return l.With(changed, changed.Number), nil })
	}
	if err != nil {
		form, wordsErr := stageForm(draft, changed)
		if wordsErr != nil {
			return wordsErr
		}
		err = ladderFields(err, fmt.Sprintf("/stages/%d", stage.Number-1), map[string]string{"drill/blocks": "blocks", "drill": "drill"})
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.EditStage(s.metaAgain(r, stage.Title), form, messages)
		})
	}
	s.say(r, "Kept. Nothing counts before it is published.")
	return seeOther(w, r, ladderPath(draft.Kept.LadderID, "#stage-"+stage.Key))
}

// stageFrom reads the form into a stage like old. What is no number gets a
// message; everything else is checked with the ladder.
func stageFrom(r *http.Request, old ladder.Stage) (ladder.Stage, map[string]string) {
	messages := map[string]string{}
	stage := old
	stage.Title, stage.Purpose = trimmed(r.PostFormValue("title")), trimmed(r.PostFormValue("purpose"))
	stage.RopeAdvice, stage.Caution = trimmed(r.PostFormValue("rope_advice")), trimmed(r.PostFormValue("caution"))
	stage.LookFor, stage.Faults, stage.Checks, stage.AlsoMeasure = nil, nil, nil, nil
	for line := range strings.Lines(r.PostFormValue("look_for")) {
		if text := trimmed(line); text != "" {
			stage.LookFor = append(stage.LookFor, text)
		}
	}
	cues := r.PostForm["cue"]
	for i, fault := range r.PostForm["fault"] {
		pair := ladder.Fault{Fault: trimmed(fault)}
		if i < len(cues) {
			pair.Cue = trimmed(cues[i])
		}
		if pair != (ladder.Fault{}) {
			stage.Faults = append(stage.Faults, pair)
		}
	}
	for _, p := range ladder.Points() {
		if text := trimmed(r.PostFormValue("check-" + string(p))); text != "" {
			stage.Checks = append(stage.Checks, ladder.Check{Point: p, Text: text})
		}
	}
	allows := r.PostForm["allows"]
	may := func(do ladder.Activity) bool { return slices.Contains(allows, string(do)) }
	stage.Allows = ladder.Allows{Bursts: may(ladder.Bursts), AllOut: may(ladder.AllOutTest), SingleHanded: may(ladder.SingleHanded),
		Doubles: may(ladder.Doubles), Triples: may(ladder.Triples)}
	for _, p := range r.PostForm["also_measure"] {
		stage.AlsoMeasure = append(stage.AlsoMeasure, ladder.Protocol(p))
	}
	stage.Drill = drillFrom(r, messages)
	return stage, messages
}

func drillFrom(r *http.Request, messages map[string]string) ladder.Drill {
	count := func(typed, field string) int {
		if typed == "" {
			return 0
		}
		n, ok := number(typed)
		if !ok || n < 1 {
			messages[field] = fmt.Sprintf("Numbers of a drill are whole numbers from 1, like 20. You typed “%s”.", cut(typed, 12))
		}
		return n
	}
	drill := ladder.Drill{Text: trimmed(r.PostFormValue("drill")), Cycles: count(trimmed(r.PostFormValue("cycles")), "blocks"),
		Sets: count(trimmed(r.PostFormValue("sets")), "blocks"), RestSeconds: count(trimmed(r.PostFormValue("rest")), "blocks")}
	at := func(field string, i int) string {
		if values := r.PostForm[field]; i < len(values) {
			return trimmed(values[i])
		}
		return ""
	}
	for i, typed := range r.PostForm["count"] {
		if typed = trimmed(typed); typed == "" {
			continue
		}
		block := ladder.Block{At: ladder.Pace(at("at", i)), Percent: count(at("percent", i), "blocks"), Step: at("step", i)}
		if at("unit", i) == "seconds" {
			block.Seconds = count(typed, "blocks")
		} else {
			block.Reps = count(typed, "blocks")
		}
		drill.Blocks = append(drill.Blocks, block)
	}
	if drill.Text == "" && (len(drill.Blocks) > 0 || drill.Sets > 0) && messages["drill"] == "" {
		messages["drill"] = "Say in a sentence what to do, or take the blocks and sets out."
	}
	return drill
}

// getEditGate shows a gate's clauses, and who would be ready under it today.
func (s *Server) getEditGate(w http.ResponseWriter, r *http.Request) error {
	v, err := s.gateEditView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EditGate(s.meta(r, v.Stage.Title), v, nil))
}

func (s *Server) gateEditView(r *http.Request) (page.GateEditView, error) {
	draft, stage, err := s.draftStage(r)
	if err != nil {
		return page.GateEditView{}, err
	}
	v := page.GateEditView{Kept: draft.Kept, Stage: stage, Revision: draft.Revision, Saved: s.saved(r.Context())}
	if v.Words, err = words(); err != nil {
		return v, err
	}
	outlook, athletes, err := s.Deciding.GateOutlook(r.Context(), who(r.Context()), draft, stage.Key)
	if err != nil {
		return v, err
	}
	v.Look = gateLook(outlook, athletes)
	return v, nil
}

// postEditGate keeps whether a coach must have seen a result.
func (s *Server) postEditGate(w http.ResponseWriter, r *http.Request) error {
	return s.changeGate(w, r, func(g ladder.Gate) (ladder.Gate, error) {
		g.SeenByCoach = r.PostFormValue("seen") != ""
		return g, nil
	})
}

// postRemoveClause takes a clause out of a gate.
func (s *Server) postRemoveClause(w http.ResponseWriter, r *http.Request) error {
	key := clauseKey(r)
	return s.changeGate(w, r, func(g ladder.Gate) (ladder.Gate, error) {
		if len(g.Clauses) == 1 {
			return g, problem.New(problem.Conflict, "A gate needs at least one clause. Add another before you take this one out.")
		}
		g.Clauses = slices.DeleteFunc(slices.Clone(g.Clauses), func(c ladder.Clause) bool { return c.Key == key })
		return g, nil
	})
}

// changeGate applies a change to the gate in the address and shows the gate.
func (s *Server) changeGate(w http.ResponseWriter, r *http.Request, change func(g ladder.Gate) (ladder.Gate, error)) error {
	v, err := s.gateEditView(r)
	if err != nil {
		return err
	}
	err = s.change(r, func(l ladder.Ladder) (ladder.Ladder, error) {
		stage, ok := l.Stage(v.Stage.Key)
		if !ok {
			return l, problem.New(problem.NotFound, "The ladder has no such stage. It may have been retired.")
		}
		gate, err := change(stage.Gate)
		stage.Gate = gate
		return l.With(stage, stage.Number), err
	})
	if err != nil {
		return again(w, r, ladderFields(err, "", nil), func(messages map[string]string) templ.Component {
			return page.EditGate(s.metaAgain(r, v.Stage.Title), v, messages)
		})
	}
	return seeOther(w, r, ladderPath(v.Kept.LadderID, "/stages/"+v.Stage.Key+"/gate"))
}
