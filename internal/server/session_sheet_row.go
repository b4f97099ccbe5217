package server

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// row shows what is kept of an athlete in the round.
func (c *counts) row(athlete gym.Athlete) page.SheetRow {
	row := page.SheetRow{Athlete: athlete, ID: newID().String(), Away: !c.here[athlete.AthleteID], Last: c.last(athlete.AthleteID)}
	if day, err := time.Parse(time.DateOnly, c.view.Day); err == nil {
		row.NoConsent = !allows(c.bases, athlete.AthleteID, day)
	}
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
	day, err := dayTyped(c.view.Day)
	if err != nil {
		return err
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
