package server

import (
	"net/http"

	"github.com/google/uuid"

	"ropewalk.example/internal/problem"
	"ropewalk.example/web/page"
)

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
