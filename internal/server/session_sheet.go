package server

import (
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// sheets are the pages on which a class's counts are typed.
func (s *Server) sheets(r chi.Router) {
	r.Get("/classes/{class}/tests", s.page(s.getSheet))
	r.Post("/classes/{class}/tests", s.page(s.postSheet))
	r.Get("/classes/{class}/tests/{round}/rows", s.page(s.getSheetRows))
	r.Post("/classes/{class}/tests/{round}/rows", s.page(s.postSheetRow))
	r.Post("/classes/{class}/tests/{round}/undo", s.page(s.postSheetUndo))
	r.Post("/classes/{class}/tests/{round}/settle", s.page(s.postSheetSettle))
	r.Post("/classes/{class}/tests/{round}/start", s.page(s.postSheetStart))
}

// sheetScript keeps each row when it is left and brings in the pad.
const sheetScript = "js/hall-sheet.js"

// counts is what a sheet of a class's counts is made from.
type counts struct {
	gym      gym.Gym
	view     page.SheetView
	test     gym.ClassTest // zero ID while nothing is kept
	history  map[uuid.UUID][]gym.Result
	names    map[uuid.UUID]string // of whoever may have recorded
	athletes []gym.Athlete
	here     map[uuid.UUID]bool
	bases    []gym.Basis          // what guardians agreed to
	begun    map[uuid.UUID]string // the kind of rope on which the stage was begun
	scene    *leading.Scene       // of the class hour under way, if one is
}

// readCounts reads a sheet: the round asked for, or the newest test of the day
// like the one asked for, or a new one.
func (s *Server) readCounts(r *http.Request) (counts, error) {
	id, err := idIn(r, "class")
	if err != nil {
		return counts{}, err
	}
	me := who(r.Context())
	c := counts{history: map[uuid.UUID][]gym.Result{}, names: map[uuid.UUID]string{}, here: map[uuid.UUID]bool{}}
	var history []gym.Result
	var staff []store.Staff
	var open []gym.Session
	var decisions []gym.StageDecision
	err = s.Store.Read(r.Context(), me.GymID, store.TheGym(&c.gym), store.Class(id, &c.view.Class), store.AthletesOf(id, &c.athletes),
		store.ResultsOfClass(id, s.Now().Add(-measuring.Lookback), &history), store.StaffOf(&staff), store.OpenSessions(s.Now().Add(-leading.OpenFor), &open),
		store.Decisions(store.InClass(id), &decisions), store.BasesOf(store.InClass(id), &c.bases))
	if err != nil {
		return counts{}, err
	}
	c.history = groupResults(history)
	c.begun = begunOn(c.history, decisions)
	for _, p := range staff {
		c.names[p.PersonID] = firstName(p.Name)
	}
	for _, a := range c.athletes {
		c.names[a.AthleteID], c.here[a.AthleteID] = a.Name, true
	}
	day, err := s.dayOfSheet(r, c.gym)
	if err != nil {
		return counts{}, err
	}
	c.view.Day = day.Format(time.DateOnly)
	if !day.Equal(s.today(c.gym)) {
		c.view.Past = part.Day(day)
	} else if i := slices.IndexFunc(open, func(o gym.Session) bool { return o.ClassID == id }); i >= 0 {
		scene, err := s.Leading.Scene(r.Context(), me, open[i].SessionID)
		if err != nil {
			return counts{}, err
		}
		c.scene, c.here, c.view.Session = &scene, scene.Here, open[i].SessionID
	}
	return c, s.chooseRound(r, &c, history, day)
}

// dayOfSheet is today, or the day of a paper list.
func (s *Server) dayOfSheet(r *http.Request, g gym.Gym) (time.Time, error) {
	today, text := s.today(g), r.FormValue("day")
	if text == "" {
		return today, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil || day.After(today) {
		return today, problem.New(problem.Invalid, "Choose a day that is not in the future, like 2026-11-03.")
	}
	return day, nil
}

// chooseRound finds the class's test that the sheet is for, and sets it up.
func (s *Server) chooseRound(r *http.Request, c *counts, history []gym.Result, day time.Time) error {
	var tests []gym.ClassTest
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.ClassTests(c.view.Class.ClassID, day, &tests)); err != nil {
		return err
	}
	asked, wanted := r.FormValue("test"), r.FormValue("round")
	if inPath := chi.URLParam(r, "round"); inPath != "" {
		wanted = inPath
	}
	for _, test := range tests {
		protocol, _ := rate.ProtocolOf(test.Protocol)
		like := asked == "" || asked == test.Protocol || asked == page.TestKey(test.Protocol, test.Seconds)
		if wanted != "" && test.ClassTestID.String() == wanted || wanted == "" && like && r.FormValue("new") == "" {
			c.test = test // the newest of those that fit
		}
		c.view.Rounds = append(c.view.Rounds, page.RoundLink{Text: protocol.Name + ", " + part.Seconds(test.Seconds) + ", " + part.Clock(test.OpenedAt.In(c.gym.Zone())),
			Href: "/classes/" + c.view.Class.ClassID.String() + "/tests?day=" + c.view.Day + "&round=" + test.ClassTestID.String()})
	}
	c.view.Known = len(tests)
	if len(tests) < 2 && c.test.ClassTestID != uuid.Nil {
		c.view.Rounds = nil
	}
	if c.test.ClassTestID == uuid.Nil {
		c.view.New, c.view.Setup = true, setupFor(history, asked)
		c.view.Round = wanted
		if parsed(wanted) == uuid.Nil {
			c.view.Round = newID().String()
		}
		if r.Method == http.MethodPost {
			c.view.Setup = setupFrom(r)
		}
	} else {
		t := c.test
		c.view.Round = t.ClassTestID.String()
		c.view.Setup = page.TestSetup{Test: page.TestKey(t.Protocol, t.Seconds), Step: t.Step, RopeKind: t.RopeKind, Surface: t.Surface, CountedBy: t.CountedBy, OneFoot: t.OneFoot}
		for i := range c.view.Rounds {
			c.view.Rounds[i].Current = tests[i].ClassTestID == t.ClassTestID
		}
	}
	c.view.Kinds = page.TestKinds("/classes/"+c.view.Class.ClassID.String()+"/tests", c.view.Setup.Protocol().Key)
	c.view.Seconds = secondsOf(c.view.Setup)
	for _, athlete := range c.athletes {
		c.view.Rows = append(c.view.Rows, c.row(athlete))
	}
	c.view.Waves = c.waves()
	return nil
}

func secondsOf(setup page.TestSetup) float64 {
	result := gym.Result{}
	fillIn(&result, setup, time.Time{}, gym.Gym{})
	if result.Seconds == nil {
		return 0
	}
	return *result.Seconds
}

// waves says who jumps and who counts, where a class hour is under way.
func (c *counts) waves() []page.WaveView {
	if c.scene == nil {
		return nil
	}
	byID := map[string]gym.Athlete{}
	for _, athlete := range c.athletes {
		byID[athlete.AthleteID.String()] = athlete
	}
	var views []page.WaveView
	for _, wave := range c.scene.Waves() {
		view := page.WaveView{Letter: wave.Letter}
		for i, id := range wave.Jump {
			line := page.WaveLine{Jumps: byID[id]}
			if counter, ok := byID[wave.Count[i]]; ok {
				line.Counts = &counter
			}
			view.Lines = append(view.Lines, line)
		}
		views = append(views, view)
	}
	return views
}

// getSheet shows the sheet of counts, or the sheet for tests of another kind.
func (s *Server) getSheet(w http.ResponseWriter, r *http.Request) error {
	if protocol := (page.TestSetup{Test: r.FormValue("test")}).Protocol(); r.FormValue("test") != "" && protocol.Measured != rate.Rotations {
		return s.getClassTest(w, r)
	}
	c, err := s.readCounts(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Sheet(s.sheetMeta(r), c.view, nil))
}

// sheetMeta never lets a browser without scripts look by itself for what others
// typed: it would lose what is being typed here.
func (s *Server) sheetMeta(r *http.Request) part.Meta {
	meta := s.wide(r, "Record a test")
	meta.Scripts = append(meta.Scripts, sheetScript)
	return meta
}

// postSheet keeps every row that can be kept, without a script; a row that
// cannot stays as typed with a sentence beside it.
func (s *Server) postSheet(w http.ResponseWriter, r *http.Request) error {
	if protocol := (page.TestSetup{Test: r.FormValue("test")}).Protocol(); protocol.Measured != rate.Rotations {
		return s.postClassTest(w, r)
	}
	c, err := s.readCounts(r)
	if err != nil {
		return err
	}
	if settle := r.PostFormValue("settle"); len(settle) > 37 {
		if err := s.Leading.Settle(r.Context(), who(r.Context()), c.test, parsed(settle[:36]), parsed(settle[37:])); err != nil {
			return err
		}
		return seeOther(w, r, "/classes/"+c.view.Class.ClassID.String()+"/tests?day="+c.view.Day+"&round="+c.view.Round)
	}
	messages := page.Messages{}
	for i := range c.view.Rows {
		row := &c.view.Rows[i]
		key := row.Athlete.AthleteID.String()
		typed := typedFrom(r, "-"+key)
		if row.Away || typed.Empty() || r.PostFormValue("keep") == key {
			continue
		}
		ask := asked{id: r.PostFormValue("id-" + key), seen: r.PostFormValue("seen-" + key), typed: typed}
		if r.PostFormValue("use") == key {
			ask.seen = r.PostFormValue("clash-" + key)
		}
		if err := s.keepCount(r, &c, row, ask); err != nil {
			if problem.KindOf(err) == problem.Unavailable { // what was typed stays on the page
				messages[""] = problem.MessageOf(err)
				row.Typed = typed
				continue
			}
			return err
		}
		if row.Error != "" {
			messages[row.Field+"-"+key] = row.Athlete.Name + ": " + row.Error
		}
	}
	meta, status := s.sheetMeta(r), http.StatusOK
	if len(messages) > 0 {
		meta.Error, status = true, http.StatusUnprocessableEntity
	}
	return render(w, r, status, page.Sheet(meta, c.view, messages))
}
