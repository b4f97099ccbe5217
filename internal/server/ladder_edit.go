package server

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getLadder shows the editor of one ladder.
func (s *Server) getLadder(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ladderView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EditLadder(s.meta(r, v.Ladder.Name), v, nil))
}

func (s *Server) ladderView(r *http.Request) (page.LadderView, error) {
	id, err := idIn(r, "ladder")
	if err != nil {
		return page.LadderView{}, err
	}
	var versions []gym.LadderVersion
	var people []gym.Person
	draft, err := s.Deciding.Draft(r.Context(), who(r.Context()), id, store.LadderVersions(id, &versions), store.PeopleEver(&people))
	if err != nil {
		return page.LadderView{}, err
	}
	known, err := words()
	if err != nil {
		return page.LadderView{}, err
	}
	v := page.LadderView{Kept: draft.Kept, Ladder: draft.Ladder, Revision: draft.Revision, Changed: draft.Changed(), Behind: draft.Behind(),
		Changes: changeWords(draft.Changes(), known), Name: draft.Ladder.Name, Saved: s.saved(r.Context())}
	if draft.Ladder.Name != draft.Published.Name {
		v.Changes = append(v.Changes, fmt.Sprintf("The ladder is now called “%s”.", draft.Ladder.Name))
	}
	for _, version := range versions {
		by := "shipped with the program"
		if version.PublishedBy != [16]byte{} {
			by = nameOf(people, version.PublishedBy)
		}
		v.Versions = append(v.Versions, page.VersionLine{Version: version.Version, Day: part.Day(version.PublishedAt), By: by, Note: version.Note})
	}
	return v, nil
}

// change applies one change to the ladder in the address.
func (s *Server) change(r *http.Request, change func(l ladder.Ladder) (ladder.Ladder, error)) error {
	id, err := idIn(r, "ladder")
	if err != nil {
		return err
	}
	return s.Deciding.Change(r.Context(), who(r.Context()), id, revisionFrom(r), change)
}

func (s *Server) ladderAgain(w http.ResponseWriter, r *http.Request, v page.LadderView, err error) error {
	return again(w, r, err, func(messages map[string]string) templ.Component {
		return page.EditLadder(s.metaAgain(r, v.Ladder.Name), v, messages)
	})
}

// postMoveStage moves a stage one place, or retires it.
func (s *Server) postMoveStage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ladderView(r)
	if err != nil {
		return err
	}
	key := stageKey(r)
	err = s.change(r, func(l ladder.Ladder) (ladder.Ladder, error) {
		stage, ok := l.Stage(key)
		if !ok {
			return l, problem.New(problem.NotFound, "The ladder has no such stage. It may have been retired.")
		}
		switch r.PostFormValue("do") {
		case "up":
			return l.Moved(key, stage.Number-1), nil
		case "down":
			return l.Moved(key, stage.Number+1), nil
		}
		return l.Without(key), nil
	})
	if err != nil {
		return s.ladderAgain(w, r, v, ladderFields(err, "", nil))
	}
	return seeOther(w, r, ladderPath(v.Kept.LadderID, "#stage-"+key))
}

// postAddStage adds a stage that the coach judges until its gate says more.
func (s *Server) postAddStage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ladderView(r)
	if err != nil {
		return err
	}
	v.Add = page.AddStageForm{Title: trimmed(r.PostFormValue("title")), Purpose: trimmed(r.PostFormValue("purpose")), Place: r.PostFormValue("place")}
	place, ok := number(v.Add.Place)
	if !ok {
		place = len(v.Ladder.Stages) + 1
	}
	key := v.Ladder.NewKey(v.Add.Title)
	err = s.change(r, func(l ladder.Ladder) (ladder.Ladder, error) {
		return l.With(newStage(l.NewKey(v.Add.Title), v.Add), place), nil
	})
	if err != nil {
		return s.ladderAgain(w, r, v, ladderFields(err, fmt.Sprintf("/stages/%d", place-1), nil))
	}
	return seeOther(w, r, ladderPath(v.Kept.LadderID, "/stages/"+key+"/gate"))
}

// newStage is a stage with a gate to begin from: the coach judges it.
func newStage(key string, form page.AddStageForm) ladder.Stage {
	judge := ladder.Clause{Key: "seen", Measure: ladder.CoachJudges, Task: key, TaskText: form.Title, Results: 1, Days: 1}
	return ladder.Stage{Key: key, Title: form.Title, Purpose: form.Purpose, Gate: ladder.Gate{Clauses: []ladder.Clause{judge}}}
}

// postLadderName gives the ladder another name.
func (s *Server) postLadderName(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ladderView(r)
	if err != nil {
		return err
	}
	v.Name = trimmed(r.PostFormValue("name"))
	err = s.change(r, func(l ladder.Ladder) (ladder.Ladder, error) {
		l.Name = v.Name
		return l, nil
	})
	if err != nil {
		return s.ladderAgain(w, r, v, ladderFields(err, "", nil))
	}
	return seeOther(w, r, ladderPath(v.Kept.LadderID, ""))
}

// postDiscard throws the changes away.
func (s *Server) postDiscard(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "ladder")
	if err != nil {
		return err
	}
	if err := s.Deciding.Discard(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "The changes are gone. The ladder is as it was published.")
	return seeOther(w, r, ladderPath(id, ""))
}

// getPublish shows what publishing would change for whom.
func (s *Server) getPublish(w http.ResponseWriter, r *http.Request) error {
	v, err := s.publishView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Publish(s.meta(r, "Publish"), v, nil))
}

func (s *Server) publishView(r *http.Request) (page.PublishView, error) {
	draft, known, err := s.draftIn(r)
	if err != nil {
		return page.PublishView{}, err
	}
	outlook, err := s.Deciding.Outlook(r.Context(), who(r.Context()), draft)
	if err != nil {
		return page.PublishView{}, err
	}
	v := page.PublishView{Kept: draft.Kept, Ladder: draft.Ladder, Revision: draft.Revision, Version: draft.Kept.Version + 1,
		Changes: changeWords(draft.Changes(), known), Moves: moveLines(outlook, draft.Published, draft.Ladder)}
	for _, g := range outlook.Gates {
		v.Gates = append(v.Gates, gateLook(g, outlook.Athletes))
	}
	return v, nil
}

func (s *Server) draftIn(r *http.Request) (deciding.Draft, ladder.Words, error) {
	id, err := idIn(r, "ladder")
	if err != nil {
		return deciding.Draft{}, ladder.Words{}, err
	}
	draft, err := s.Deciding.Draft(r.Context(), who(r.Context()), id)
	if err != nil {
		return draft, ladder.Words{}, err
	}
	known, err := words()
	return draft, known, err
}

func moveLines(outlook deciding.Outlook, old, next ladder.Ladder) []page.MoveLine {
	var lines []page.MoveLine
	for _, m := range outlook.Moves {
		lines = append(lines, page.MoveLine{Athlete: outlook.Athletes[m.Athlete], From: page.StageTitle(old, m.From), To: page.StageTitle(next, m.To)})
	}
	return lines
}

func gateLook(g deciding.GateOutlook, athletes map[string]gym.Athlete) page.GateLook {
	named := func(ids []string) []gym.Athlete {
		var list []gym.Athlete
		for _, id := range ids {
			list = append(list, athletes[id])
		}
		return list
	}
	return page.GateLook{Stage: g.Stage, Standing: len(g.Standing), Ready: named(g.Ready), Gained: named(g.Gained), Lost: named(g.Lost)}
}

// postPublish makes the draft count.
func (s *Server) postPublish(w http.ResponseWriter, r *http.Request) error {
	v, err := s.publishView(r)
	if err != nil {
		return err
	}
	v.Note = r.PostFormValue("note")
	moves, _ := number(r.PostFormValue("moves"))
	version, err := s.Deciding.Publish(r.Context(), who(r.Context()), deciding.Publication{Ladder: v.Kept.LadderID, Revision: revisionFrom(r), Moves: moves, Note: v.Note})
	if err != nil {
		return again(w, r, ladderFields(err, "", nil), func(messages map[string]string) templ.Component {
			return page.Publish(s.metaAgain(r, "Publish"), v, messages)
		})
	}
	s.say(r, strings.TrimSpace(fmt.Sprintf("Version %d is published. %s", version, movedWords(moves))))
	return seeOther(w, r, ladderPath(v.Kept.LadderID, ""))
}

func movedWords(moves int) string {
	if moves == 0 {
		return "Everybody keeps the place."
	}
	return part.Count(moves, "athlete stands", "athletes stand") + " elsewhere now; each move is kept."
}

// getUse shows who would stand elsewhere on this ladder.
func (s *Server) getUse(w http.ResponseWriter, r *http.Request) error {
	v, err := s.useView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Publish(s.meta(r, "Use this ladder"), v, nil))
}

func (s *Server) useView(r *http.Request) (page.PublishView, error) {
	draft, _, err := s.draftIn(r)
	if err != nil {
		return page.PublishView{}, err
	}
	outlook, old, err := s.Deciding.UseOutlook(r.Context(), who(r.Context()), draft)
	if err != nil {
		return page.PublishView{}, err
	}
	return page.PublishView{Kept: draft.Kept, Ladder: draft.Published, Use: true, Moves: moveLines(outlook, old, draft.Published)}, nil
}

// postUse puts the ladder into use.
func (s *Server) postUse(w http.ResponseWriter, r *http.Request) error {
	v, err := s.useView(r)
	if err != nil {
		return err
	}
	moves, _ := number(r.PostFormValue("moves"))
	if err := s.Deciding.UseLadder(r.Context(), who(r.Context()), v.Kept.LadderID, moves); err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Publish(s.metaAgain(r, "Use this ladder"), v, messages)
		})
	}
	s.say(r, "“"+v.Ladder.Name+"” is in use. "+movedWords(moves))
	return seeOther(w, r, ladderPath(v.Kept.LadderID, ""))
}
