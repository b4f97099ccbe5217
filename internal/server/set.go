package server

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getSetClass asks what to set for a class; ?on=stage ticks who stands there.
func (s *Server) getSetClass(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.setClassView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Set(s.meta(r, "Set a drill, test or stage"), v, nil))
}

func (s *Server) postSetClass(w http.ResponseWriter, r *http.Request) error {
	v, whom, err := s.setClassView(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return problem.Wrap(err, problem.Invalid, "The form could not be read. Try once more.")
	}
	chosen := []uuid.UUID{}
	for i := range v.People {
		id := v.People[i].Athlete.AthleteID
		v.People[i].Chosen = false
		for _, sent := range r.PostForm["athlete"] {
			if sent == id.String() {
				v.People[i].Chosen, chosen = true, append(chosen, id)
			}
		}
	}
	return s.keepSet(w, r, v, whom, chosen, "/stages?class="+v.Class.ClassID.String())
}

// getSetOne asks what to set for one athlete.
func (s *Server) getSetOne(w http.ResponseWriter, r *http.Request) error {
	v, err := s.setOneView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Set(s.meta(r, "Set a drill, test or stage"), v, nil))
}

func (s *Server) postSetOne(w http.ResponseWriter, r *http.Request) error {
	v, err := s.setOneView(r)
	if err != nil {
		return err
	}
	id := v.Athlete.AthleteID
	return s.keepSet(w, r, v, store.Only(id), nil, "/athletes/"+id.String()+"/gate")
}

// postTakeOff ends what was set for an athlete.
func (s *Server) postTakeOff(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	if err := s.Deciding.TakeOff(r.Context(), who(r.Context()), id, parsed(r.PostFormValue("assignment"))); err != nil {
		return err
	}
	s.say(r, "Taken off.")
	return seeOther(w, r, "/athletes/"+id.String()+"/gate")
}

func (s *Server) keepSet(w http.ResponseWriter, r *http.Request, v page.SetView, whom store.Whom, chosen []uuid.UUID, next string) error {
	v.Form = page.SetForm{ID: idFrom(r, "id").String(), Kind: r.PostFormValue("kind"), Drill: r.PostFormValue("drill"), Test: r.PostFormValue("test"),
		Stage: r.PostFormValue("stage"), Note: r.PostFormValue("note")}
	ask := deciding.Setting{Batch: parsed(v.Form.ID), Whom: whom, Athletes: chosen, Kind: v.Form.Kind, Note: v.Form.Note}
	switch v.Form.Kind {
	case deciding.SetStage:
		ask.Stage = v.Form.Stage
	case deciding.SetDrill:
		if v.Form.Drill != page.OwnDrill {
			ask.Stage = v.Form.Drill
		}
	case deciding.SetTest:
		ask.Test = testFrom(v.Form.Test)
	}
	done, err := s.Deciding.Set(r.Context(), who(r.Context()), ask)
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Set(s.metaAgain(r, "Set a drill, test or stage"), v, messages)
		})
	}
	s.say(r, setWords(done))
	return seeOther(w, r, next)
}

// testFrom reads "base 60" or "tries 0 task"; the test that each gate lacks is
// the zero Test.
func testFrom(typed string) deciding.Test {
	if typed == page.LackedTest {
		return deciding.Test{}
	}
	parts := append(strings.SplitN(typed, " ", 3), "", "")
	seconds, err := strconv.Atoi(parts[1])
	if err != nil {
		seconds = 0
	}
	return deciding.Test{Protocol: parts[0], Seconds: seconds, Task: parts[2]}
}

func setWords(done deciding.Set) string {
	text := fmt.Sprintf("Set for %s.", part.Count(done.Kept, "athlete", "athletes"))
	if len(done.Names) > 0 {
		text += " Nothing to set for " + strings.Join(done.Names, ", ") + "."
	}
	return text
}

func (s *Server) setClassView(r *http.Request) (page.SetView, store.Whom, error) {
	id, err := idIn(r, "class")
	if err != nil {
		return page.SetView{}, store.Whom{}, err
	}
	var class gym.Class
	whom := store.InClass(id)
	ground, err := s.Deciding.Places(r.Context(), who(r.Context()), whom, store.Class(id, &class))
	if err != nil {
		return page.SetView{}, whom, err
	}
	v := page.SetView{Class: &class, Action: "/classes/" + id.String() + "/set", Ladder: ground.Ladder, Form: firstSetForm()}
	if v.Words, err = words(); err != nil {
		return v, whom, err
	}
	on := r.URL.Query().Get("on")
	v.Groups = []page.SetGroup{{Text: "Everybody", Href: v.Action + "?on=all", Current: on == "all"}, {Text: "Nobody", Href: v.Action, Current: on == ""}}
	if on == unplaced {
		v.Form.Kind = deciding.SetStage
	}
	counts, none := map[string]int{}, 0
	for _, a := range ground.Athletes {
		person := page.SetPerson{Athlete: a.Athlete, Stage: "no stage yet", Chosen: on == "all" || on != "" && on == a.Place.Stage}
		if stage, ok := ground.Stage(a); ok {
			person.Stage = fmt.Sprintf("%d · %s", stage.Number, stage.Title)
		} else {
			person.Chosen = person.Chosen || on == unplaced
			none++
		}
		counts[a.Place.Stage]++
		v.People = append(v.People, person)
	}
	if none > 0 {
		v.Groups = append(v.Groups, page.SetGroup{Text: fmt.Sprintf("No stage yet (%d)", none), Href: v.Action + "?on=" + unplaced, Current: on == unplaced})
	}
	for _, stage := range ground.Ladder.Stages {
		if n := counts[stage.Key]; n > 0 {
			v.Groups = append(v.Groups, page.SetGroup{Text: fmt.Sprintf("%d · %s (%d)", stage.Number, stage.Title, n),
				Href: v.Action + "?on=" + url.QueryEscape(stage.Key), Current: on == stage.Key})
		}
	}
	return v, whom, nil
}

// unplaced, in ?on=, ticks whoever has no stage yet, to choose one for them.
const unplaced = "none"

func firstSetForm() page.SetForm {
	return page.SetForm{ID: newID().String(), Kind: deciding.SetDrill, Drill: page.OwnDrill, Test: page.LackedTest}
}

func (s *Server) setOneView(r *http.Request) (page.SetView, error) {
	id, err := idIn(r, "athlete")
	if err != nil {
		return page.SetView{}, err
	}
	ground, err := s.Deciding.Places(r.Context(), who(r.Context()), store.Only(id))
	if err != nil {
		return page.SetView{}, err
	}
	if len(ground.Athletes) == 0 {
		return page.SetView{}, problem.New(problem.NotFound, "There is no such athlete in this gym.")
	}
	v := page.SetView{Athlete: &ground.Athletes[0].Athlete, Action: "/athletes/" + id.String() + "/set", Ladder: ground.Ladder, Form: firstSetForm()}
	v.Words, err = words()
	return v, err
}
