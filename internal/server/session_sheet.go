package server

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/level"
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
		store.Decisions(store.InClass(id), &decisions))
	if err != nil {
		return counts{}, err
	}
	c.history = groupResults(history)
	c.begun = begunOn(c.history, decisions)
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

// row shows what is kept of an athlete in the round.
func (c *counts) row(athlete gym.Athlete) page.SheetRow {
	row := page.SheetRow{Athlete: athlete, ID: newID().String(), Away: !c.here[athlete.AthleteID], Last: c.last(athlete.AthleteID)}
	standing := leading.CountsOf(c.test, c.history[athlete.AthleteID])
	if c.test.ClassTestID == uuid.Nil || len(standing) == 0 {
		return row
	}
	row.Away = false // who was counted was here
	c.show(&row, standing[0])
	if len(standing) > 1 && !(*standing[0].Rotations == *standing[1].Rotations) {
		row.Clash = &page.SheetClash{Stands: *standing[0].Rotations, ID: standing[0].ResultID, By: c.by(standing[0]),
			Other: standing[1].ResultID, Also: *standing[1].Rotations, AlsoBy: c.by(standing[1])}
	}
	return row
}

// show puts a kept result into its row.
func (c *counts) show(row *page.SheetRow, r gym.Result) {
	row.Stands = r.ResultID
	row.Typed.Rotations = strconv.Itoa(*r.Rotations)
	if r.OneFoot && len(r.Counts) > 0 {
		row.Typed.Rotations = strconv.Itoa(int(r.Counts[0]))
	}
	if r.Catches > 0 {
		row.Typed.Catches = strconv.Itoa(r.Catches)
	}
	row.Typed.Lost, row.Typed.Restart = decimal(r.LostSeconds), decimal(r.LongestRestartSeconds)
	row.By = c.by(r) + ", " + part.Clock(r.RecordedAt.In(c.gym.Zone()))
	if row.Odd = c.ropeHint(r); r.KeptOdd {
		row.Odd = "Needs a look"
	}
}

// ropeHint says that a test was on another rope than the stage was begun on.
func (c *counts) ropeHint(r gym.Result) string {
	if began := c.begun[r.AthleteID]; began != "" && r.RopeKind != "" && r.RopeKind != began {
		return page.RopeHint(began)
	}
	return ""
}

func (c *counts) by(r gym.Result) string {
	if name := c.names[r.RecordedBy]; name != "" {
		return name
	}
	return "Somebody"
}

func firstName(name string) string {
	for i, letter := range name {
		if letter == ' ' {
			return name[:i]
		}
	}
	return name
}

// last returns the newest count like the one asked for, as a rate; in this round
// nothing counts yet.
func (c *counts) last(athlete uuid.UUID) string {
	protocol := c.view.Setup.Protocol().Key
	for _, r := range c.history[athlete] {
		if known, err := level.RateOf(r); err == nil && r.Protocol == protocol && !c.test.Holds(r) {
			return part.Whole(known.RPM) + " rpm"
		}
	}
	return ""
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

// sheetRefresh is how often a browser without scripts looks for what others
// typed: never, since it would lose what is being typed here.
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

// asked is one row as it was typed.
type asked struct {
	id, seen string
	typed    page.Typed
}

// keepCount keeps one row, opening the class's test with the first, and shows in
// it what became of it. The error is the database's.
func (s *Server) keepCount(r *http.Request, c *counts, row *page.SheetRow, ask asked) error {
	if c.unchanged(*row, ask) {
		return nil
	}
	result := gym.Result{ResultID: parsed(ask.id), AthleteID: row.Athlete.AthleteID, SessionID: c.view.Session}
	if result.ResultID == uuid.Nil {
		result.ResultID = newID()
	}
	row.Typed, row.Error, row.Clash = ask.typed, "", nil
	wrong := countInto(&result, c.view.Setup, ask.typed)
	for _, field := range []string{"rotations", "catches", "lost", "restart"} {
		if row.Error == "" && wrong[field] != "" {
			row.Error, row.Field = wrong[field], field
		}
	}
	if row.Error != "" {
		return nil
	}
	if err := s.openRound(r, c); err != nil {
		if fields := problem.FieldsOf(err); fields != nil {
			for _, message := range fields {
				row.Error, row.Field = message, "rotations"
			}
			return nil
		}
		return err
	}
	fillIn(&result, c.view.Setup, s.Now(), c.gym)
	if result.Day = c.test.Day; c.view.Past != "" {
		result.TakenAt = c.test.OpenedAt
	}
	result.SeenByCoach = c.view.Setup.CountedBy == "coach" && who(r.Context()).Role != gym.Assistant
	answer, err := s.Leading.Count(r.Context(), who(r.Context()), leading.Count{Test: c.test, Result: result, Seen: parsed(ask.seen)})
	if err != nil {
		return err
	}
	c.answer(row, answer)
	return nil
}

// unchanged reports whether a row holds what is kept of it already.
func (c *counts) unchanged(row page.SheetRow, ask asked) bool {
	same := func(a, b string) bool {
		a, b = strings.Replace(a, ",", ".", 1), strings.Replace(b, ",", ".", 1)
		return a == b || a == "" && b == "0" || a == "0" && b == ""
	}
	return row.Stands != uuid.Nil && row.Clash == nil && ask.seen == row.Stands.String() && row.Typed.Rotations == ask.typed.Rotations &&
		same(row.Typed.Catches, ask.typed.Catches) && same(row.Typed.Lost, ask.typed.Lost) && same(row.Typed.Restart, ask.typed.Restart)
}

// answer shows what became of a count.
func (c *counts) answer(row *page.SheetRow, a leading.Counted) {
	row.ID, row.By = newID().String(), ""
	switch {
	case a.Problem != nil:
		row.Error, row.Field = problem.MessageOf(a.Problem), "rotations"
		for field, message := range problem.FieldsOf(a.Problem) {
			row.Error, row.Field = message, field
		}
	case a.Clash != nil:
		row.Stands = a.Clash.ResultID
		row.Clash = &page.SheetClash{Stands: *a.Clash.Rotations, ID: a.Clash.ResultID, By: c.by(*a.Clash),
			At: part.Clock(a.Clash.RecordedAt.In(c.gym.Zone())), Typed: row.Typed.Rotations}
	default:
		row.Stands, row.Undo, row.Odd = a.Stands.ResultID, a.Added, c.ropeHint(a.Stands)
		began := c.begun[row.Athlete.AthleteID]
		switch {
		case len(a.Odd) > 0:
			row.Odd = oddWords(a.Odd[0])
		case began != "" && c.view.Setup.RopeKind != "" && began != c.view.Setup.RopeKind:
			row.Odd = page.RopeHint(began)
		}
	}
}

// openRound keeps the class's test when its first number comes.
func (s *Server) openRound(r *http.Request, c *counts) error {
	if c.test.ClassTestID != uuid.Nil {
		return nil
	}
	setup := gym.Result{}
	fillIn(&setup, c.view.Setup, s.Now(), c.gym)
	day, err := time.Parse(time.DateOnly, c.view.Day)
	if err != nil {
		return problem.New(problem.Invalid, "That is no day. Choose one like 2026-11-05.")
	}
	test := gym.ClassTest{ClassTestID: parsed(c.view.Round), ClassID: c.view.Class.ClassID, SessionID: c.view.Session, Day: day, Protocol: setup.Protocol,
		Step: setup.Step, RopeKind: setup.RopeKind, Surface: setup.Surface, CountedBy: setup.CountedBy, OneFoot: c.view.Setup.OneFoot}
	if setup.Seconds != nil {
		test.Seconds = *setup.Seconds
	}
	known, _ := number(r.FormValue("known"))
	kept, err := s.Leading.OpenTest(r.Context(), who(r.Context()), test, known)
	if err != nil {
		return err
	}
	c.test, c.view.New, c.view.Round = kept, false, kept.ClassTestID.String()
	return nil
}

// getSheetRows answers with the states of all rows, for a script that heard of a
// change.
func (s *Server) getSheetRows(w http.ResponseWriter, r *http.Request) error {
	c, err := s.readCounts(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.SheetRows(c.view))
}

// postSheetRow keeps one row and answers with its state.
func (s *Server) postSheetRow(w http.ResponseWriter, r *http.Request) error {
	c, row, err := s.rowOf(r)
	if err != nil {
		return err
	}
	typed := page.Typed{Rotations: trimmed(r.PostFormValue("rotations")), Catches: trimmed(r.PostFormValue("catches")),
		Lost: trimmed(r.PostFormValue("lost")), Restart: trimmed(r.PostFormValue("restart"))}
	if err := s.keepCount(r, &c, row, asked{id: r.PostFormValue("id"), seen: r.PostFormValue("seen"), typed: typed}); err != nil {
		return err
	}
	return s.renderRow(w, r, c, *row)
}

// rowOf finds the row that a request is about.
func (s *Server) rowOf(r *http.Request) (counts, *page.SheetRow, error) {
	c, err := s.readCounts(r)
	if err != nil {
		return c, nil, err
	}
	athlete, err := athleteFrom(r)
	if err != nil {
		return c, nil, err
	}
	for i := range c.view.Rows {
		if c.view.Rows[i].Athlete.AthleteID == athlete {
			return c, &c.view.Rows[i], nil
		}
	}
	return c, nil, problem.New(problem.NotFound, "There is no such athlete in this class.")
}

func (s *Server) renderRow(w http.ResponseWriter, r *http.Request, c counts, row page.SheetRow) error {
	status := http.StatusOK
	switch {
	case row.Error != "":
		status = http.StatusUnprocessableEntity
	case row.Clash != nil:
		status = http.StatusConflict
	}
	return render(w, r, status, page.SheetState(c.view, row))
}

// postSheetUndo takes a count back that was just kept.
func (s *Server) postSheetUndo(w http.ResponseWriter, r *http.Request) error {
	c, row, err := s.rowOf(r)
	if err != nil {
		return err
	}
	if err := s.Leading.Undo(r.Context(), who(r.Context()), c.test, row.Athlete.AthleteID, parsed(r.PostFormValue("result"))); err != nil {
		return err
	}
	return s.rowAgain(w, r, row.Athlete.AthleteID)
}

// postSheetSettle lets one of two kept counts stand.
func (s *Server) postSheetSettle(w http.ResponseWriter, r *http.Request) error {
	c, row, err := s.rowOf(r)
	if err != nil {
		return err
	}
	if err := s.Leading.Settle(r.Context(), who(r.Context()), c.test, row.Athlete.AthleteID, parsed(r.PostFormValue("result"))); err != nil {
		return err
	}
	return s.rowAgain(w, r, row.Athlete.AthleteID)
}

// rowAgain reads a row anew and answers with its state.
func (s *Server) rowAgain(w http.ResponseWriter, r *http.Request, athlete uuid.UUID) error {
	c, row, err := s.rowOf(r)
	if err != nil {
		return err
	}
	return s.renderRow(w, r, c, *row)
}

// postSheetStart opens the class's test and starts a countdown on every screen.
func (s *Server) postSheetStart(w http.ResponseWriter, r *http.Request) error {
	c, err := s.readCounts(r)
	if err != nil {
		return err
	}
	if c.scene == nil {
		return problem.New(problem.Conflict, "Check the class in first. Then everybody can start at once.")
	}
	if err := s.openRound(r, &c); err != nil {
		if fields := problem.FieldsOf(err); fields != nil {
			return problem.New(problem.Invalid, "Choose the test from the list first.")
		}
		return err
	}
	if err := s.Leading.StartTest(r.Context(), who(r.Context()), c.view.Session, r.PostFormValue("wave"), c.view.Seconds); err != nil {
		return err
	}
	return seeOther(w, r, "/classes/"+c.view.Class.ClassID.String()+"/tests?round="+c.view.Round)
}
