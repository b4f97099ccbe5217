package server

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getChecks shows the class against the points that a coach judges.
func (s *Server) getChecks(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	v := page.ChecksView{Saved: s.saved(r.Context()), Only: ladder.Point(r.URL.Query().Get("point"))}
	ground, err := s.Deciding.Load(r.Context(), who(r.Context()), store.InClass(id), store.Class(id, &v.Class))
	if err != nil {
		return err
	}
	if v.Words, err = words(); err != nil {
		return err
	}
	fillChecks(&v, ground)
	return render(w, r, http.StatusOK, page.Checks(s.wide(r, "Judge on the floor"), v))
}

// postCheck keeps one tap: a look, or the taking back of one.
func (s *Server) postCheck(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	me, tap := who(r.Context()), strings.Fields(r.PostFormValue("do"))
	var class gym.Class
	if err := s.Store.Read(r.Context(), me.GymID, store.Class(id, &class)); err != nil {
		return err
	}
	if len(tap) != 6 {
		return problem.New(problem.Invalid, "Tap one of the cells.")
	}
	look := deciding.Look{Athlete: parsed(tap[0]), Stage: tap[1], Task: tap[2], Good: tap[3] == tapGood, ID: parsed(tap[4]), Instead: parsed(tap[5])}
	if tap[3] == tapBack {
		err = s.Deciding.TakeBackLook(r.Context(), me, look.Athlete, look.Instead)
	} else {
		err = s.Deciding.Judge(r.Context(), me, look)
	}
	if err != nil {
		return err
	}
	next := "/classes/" + id.String() + "/checks"
	if only := r.PostFormValue("point"); slices.Contains(ladder.Points(), ladder.Point(only)) {
		next += "?point=" + only
	}
	return seeOther(w, r, next)
}

// What a tap does.
const (
	tapGood   = "good"
	tapNotYet = "not-yet"
	tapBack   = "back"
)

func fillChecks(v *page.ChecksView, g deciding.Ground) {
	points := ladder.Points()
	if slices.Contains(points, v.Only) {
		points = []ladder.Point{v.Only}
	}
	var all [][]ladder.CheckState
	var stages []ladder.Stage
	for _, a := range g.Athletes {
		stage, ok := g.Stage(a)
		if !ok {
			continue
		}
		states := stage.CheckStates(a.Evidence)
		all = append(all, states)
		row := page.CheckRow{Athlete: a.Athlete, Stage: fmt.Sprintf("%d · %s", stage.Number, stage.Title)}
		for _, p := range points {
			row.Cells = append(row.Cells, checkCell(a.Athlete, stage, p, states, g.Today, v.Words))
		}
		v.Rows = append(v.Rows, row)
		if !slices.ContainsFunc(stages, func(s ladder.Stage) bool { return s.Key == stage.Key }) {
			stages = append(stages, stage)
		}
	}
	counts := ladder.CountChecks(all)
	for _, p := range points {
		line := page.PointLine{Point: p, Name: v.Words.Points[p]}
		for _, c := range counts {
			if c.Point == p && c.Good+c.NotYet > 0 {
				line.Count = fmt.Sprintf("%d good, %d not yet", c.Good, c.NotYet)
			}
		}
		v.Points = append(v.Points, line)
	}
	slices.SortFunc(stages, func(a, b ladder.Stage) int { return a.Number - b.Number })
	for _, stage := range stages {
		text := page.CheckText{Stage: fmt.Sprintf("%d · %s", stage.Number, stage.Title)}
		for _, c := range stage.Checks {
			if slices.Contains(points, c.Point) {
				text.Checks = append(text.Checks, v.Words.Points[c.Point]+": "+c.Text)
			}
		}
		v.Texts = append(v.Texts, text)
	}
}

// checkCell says where a check stands and what the next tap does: good, then not
// yet, then back to what stood before today.
func checkCell(a gym.Athlete, stage ladder.Stage, p ladder.Point, states []ladder.CheckState, today time.Time, known ladder.Words) page.CheckCell {
	i := slices.IndexFunc(states, func(s ladder.CheckState) bool { return s.Check.Point == p })
	if i < 0 {
		return page.CheckCell{None: true}
	}
	state := states[i]
	cell := page.CheckCell{Look: state.Look, ElemID: "look-" + a.AthleteID.String() + "-" + string(p)}
	does, instead := tapGood, uuid.Nil
	switch {
	case state.Look == ladder.NotLooked:
	case state.Day != ladder.DayOf(today):
		cell.Day = part.Day(state.Day.Time())
	case state.Look == ladder.LooksGood:
		does, instead = tapNotYet, parsed(state.ID)
	default:
		does, instead = tapBack, parsed(state.ID)
	}
	cell.Do = strings.Join([]string{a.AthleteID.String(), stage.Key, string(p), does, newID().String(), instead.String()}, " ")
	cell.Says = fmt.Sprintf("%s, %s: %s. Tap for %s.", a.Name, known.Points[p], strings.ToLower(known.Looks[state.Look]),
		map[string]string{tapGood: "good", tapNotYet: "not yet", tapBack: "taking it back"}[does])
	return cell
}
