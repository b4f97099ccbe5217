package server

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/floor"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// boards are the pages from which a class is run, for all staff.
func (s *Server) boards(r chi.Router) {
	r.Get("/sessions/{session}/run", s.page(s.getRun))
	r.Post("/sessions/{session}/run", s.page(s.postRun))
	r.Get("/sessions/{session}/live", s.page(s.getLive))
	r.Post("/sessions/{session}/hands", s.page(s.postHands))
}

// myHour is an athlete's view of the class hour.
func (s *Server) myHour(r chi.Router) {
	r.Get("/me/class", s.page(s.getMyClass))
	r.Get("/me/class/live", s.page(s.getMyClassLive))
	r.Post("/me/class/hand", s.page(s.postMyHand))
}

// boardScript keeps a clock and its page live.
const boardScript = "js/hall-board.js"

// boardRefresh is how often a browser without scripts asks for a board anew.
const boardRefresh = 20

func (s *Server) boardMeta(r *http.Request, title string) part.Meta {
	meta := s.wide(r, title)
	meta.Scripts, meta.Refresh = append(meta.Scripts, boardScript), boardRefresh
	return meta
}

// getRun shows the board, and before the sets the groups to be.
func (s *Server) getRun(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	start := leading.Start{Session: id}
	messages := page.Messages{}
	for field, into := range map[string]func(n int){"groups": func(n int) { start.Groups = n },
		"tolerance": func(n int) { start.ToleranceRPM = float64(n) }, "minutes": func(n int) { start.Minutes = float64(n) }} {
		text := r.FormValue(field)
		if n, ok := number(text); ok {
			into(n)
		} else if text != "" {
			messages[field] = "Type a whole number, like 4."
		}
	}
	v, err := s.runView(r, start)
	if fields := problem.FieldsOf(err); fields != nil {
		for field, message := range fields {
			messages[field] = message
		}
		v, err = s.runView(r, leading.Start{Session: id})
	}
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	meta, status := s.boardMeta(r, "Run the class"), http.StatusOK
	if len(messages) > 0 {
		meta.Error, status = true, http.StatusUnprocessableEntity
	}
	return render(w, r, status, page.Run(meta, v, messages))
}

func (s *Server) runView(r *http.Request, start leading.Start) (page.RunView, error) {
	course, scene, err := s.Leading.Preview(r.Context(), who(r.Context()), start)
	if err != nil && !errors.Is(err, floor.ErrNobody) {
		return page.RunView{}, err
	}
	now := s.Now()
	v := page.RunView{Class: scene.Class, Board: boardView(scene, now, may(who(r.Context()).Role, planAndDecide))}
	if scene.Clock.Over(now) || scene.Clock.Course.Test {
		v.Preview = groupsOf(course, scene, start)
	}
	return v, nil
}

// wellAbove is by how much, in rpm, a group's cue may be above somebody's own
// target without a word (assumed).
const wellAbove = floor.DefaultToleranceRPM

// groupsOf puts a course that is not started yet into words.
func groupsOf(course floor.Course, scene leading.Scene, start leading.Start) *page.PreviewView {
	typed := func(n float64) string {
		if n == 0 {
			return ""
		}
		return strconv.FormatFloat(n, 'g', -1, 64)
	}
	p := &page.PreviewView{Rounds: course.Rounds, Minutes: part.Minutes(course.Seconds), CutSets: course.CutSets, Fits: scene.Fits(),
		Most: typed(float64(start.Groups)), Spread: typed(start.ToleranceRPM), Limit: typed(start.Minutes)}
	for _, g := range course.Groups {
		group := page.PreviewGroup{Group: g}
		for _, m := range g.Members {
			group.Waves = max(group.Waves, m.Wave+1)
			i := slices.IndexFunc(scene.Athletes, func(a gym.Athlete) bool { return a.AthleteID.String() == m.ID })
			if i < 0 {
				continue
			}
			group.Names = append(group.Names, scene.Athletes[i])
			if g.TargetRPM > scene.Plans[scene.Athletes[i].AthleteID].TargetRPM+wellAbove {
				group.Above = append(group.Above, scene.Athletes[i])
			}
		}
		p.Groups = append(p.Groups, group)
	}
	for _, athlete := range scene.Present() {
		_, planned := scene.Plans[athlete.AthleteID]
		if _, held := scene.Holds[athlete.AthleteID]; held {
			p.Held = append(p.Held, athlete)
		} else if !planned {
			p.NoPlan = append(p.NoPlan, athlete)
		}
	}
	return p
}

// postRun presses the clock.
func (s *Server) postRun(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	me := who(r.Context())
	seen, _ := number(r.PostFormValue("seen"))
	if r.PostFormValue("do") == "start" {
		groups, _ := number(r.PostFormValue("groups"))
		tolerance, _ := number(r.PostFormValue("tolerance"))
		minutes, _ := number(r.PostFormValue("minutes"))
		err = s.Leading.Start(r.Context(), me, leading.Start{Session: id, Seen: seen, Groups: groups, ToleranceRPM: float64(tolerance), Minutes: float64(minutes)})
	} else {
		err = s.Leading.Press(r.Context(), me, id, seen, gym.RunKind(r.PostFormValue("do")))
	}
	if err != nil {
		return err
	}
	return s.pressed(w, r, "/sessions/"+id.String()+"/run")
}

// pressed answers a press: a script stays on its page and hears of it by the
// stream, a page without one is shown anew.
func (s *Server) pressed(w http.ResponseWriter, r *http.Request, back string) error {
	if r.Header.Get("HX-Request") == "true" {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	return seeOther(w, r, back)
}

// getLive streams the board, or only that something changed.
func (s *Server) getLive(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	me := who(r.Context())
	changes := r.URL.Query().Get("view") == "changes"
	return s.stream(w, r, me.GymID, id, func(g glimpse) (frame, error) {
		if changes {
			if g.news {
				return frame{event: "changed"}, nil
			}
			return frame{}, nil
		}
		return frame{"board", page.Board(boardView(g.scene, s.Now(), may(me.Role, planAndDecide)))}, nil
	})
}

// postHands says that an athlete who called was seen to.
func (s *Server) postHands(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "session")
	if err != nil {
		return err
	}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.Session(id, new(gym.Session))); err != nil {
		return err
	}
	athlete, err := athleteFrom(r)
	if err != nil {
		return err
	}
	if err := s.Leading.Raise(r.Context(), who(r.Context()), id, athlete, false); err != nil {
		return err
	}
	return s.pressed(w, r, "/sessions/"+id.String()+"/run")
}

// mySession returns the class hour that an athlete is in, newest first; the nil
// id if none is under way.
func (s *Server) mySession(r *http.Request) (uuid.UUID, gym.Class, error) {
	me := who(r.Context())
	var classes []gym.Class
	var open []gym.Session
	err := s.Store.Read(r.Context(), me.GymID, store.ClassesOf(me.AthleteID, &classes), store.OpenSessions(s.Now().Add(-leading.OpenFor), &open))
	if err != nil {
		return uuid.Nil, gym.Class{}, err
	}
	for _, session := range open {
		for _, class := range classes {
			if class.ClassID == session.ClassID {
				return session.SessionID, class, nil
			}
		}
	}
	return uuid.Nil, gym.Class{}, nil
}

// getMyClass shows an athlete the clock and the own turn.
func (s *Server) getMyClass(w http.ResponseWriter, r *http.Request) error {
	session, class, err := s.mySession(r)
	if err != nil {
		return err
	}
	v := page.MyHour{None: true, Class: class.Name}
	if session != uuid.Nil {
		scene, err := s.Leading.Scene(r.Context(), who(r.Context()), session)
		if err != nil {
			return err
		}
		v = s.myHourView(r, scene)
	}
	meta := s.meta(r, "Class now")
	meta.Refresh = boardRefresh
	if !v.None { // else there is no board to keep live
		meta.Scripts = append(meta.Scripts, boardScript)
	}
	return render(w, r, http.StatusOK, page.MyClass(meta, v))
}

func (s *Server) myHourView(r *http.Request, scene leading.Scene) page.MyHour {
	now, me := s.Now(), who(r.Context()).AthleteID
	clock := clockView(scene, now)
	v := page.MyHour{Class: scene.Class.Name, Clock: clock, Doing: scene.Clock.Course.Doing(me.String(), clock.Elapsed),
		At: now.In(scene.Gym.Zone()).Format("15:04:05")}
	_, v.Held = scene.Holds[me]
	_, v.Hand = scene.Hands[me]
	if v.Doing.Group < 0 || !scene.Clock.Started {
		return v
	}
	course := scene.Clock.Course
	v.Group = &course.Groups[v.Doing.Group]
	own := courseFor(course)
	own.Turns = own.Turns[:0]
	for i, turn := range course.Turns {
		if slices.Contains(course.Jumping(i), me.String()) {
			own.Turns = append(own.Turns, clockTurn{Label: "Set " + strconv.Itoa(len(own.Turns)+1), Group: turn.Group, Start: turn.Starts, End: turn.Ends})
		}
	}
	v.Own = asText(own)
	return v
}

// getMyClassLive streams the own turn.
func (s *Server) getMyClassLive(w http.ResponseWriter, r *http.Request) error {
	session, _, err := s.mySession(r)
	if err != nil {
		return err
	}
	if session == uuid.Nil {
		w.WriteHeader(http.StatusNoContent) // tells the browser to ask no more
		return nil
	}
	return s.stream(w, r, who(r.Context()).GymID, session, func(g glimpse) (frame, error) {
		return frame{"board", page.MyTurn(s.myHourView(r, g.scene))}, nil
	})
}

// postMyHand lets an athlete call the coach.
func (s *Server) postMyHand(w http.ResponseWriter, r *http.Request) error {
	session, _, err := s.mySession(r)
	if err != nil {
		return err
	}
	if session == uuid.Nil {
		return problem.New(problem.Conflict, "No class of yours is under way. Go to your coach.")
	}
	me := who(r.Context())
	if err := s.Leading.Raise(r.Context(), me, session, me.AthleteID, r.PostFormValue("up") == yes); err != nil {
		return err
	}
	return s.pressed(w, r, "/me/class")
}
