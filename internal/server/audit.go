package server

import (
	"encoding/csv"
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// audit are the owner's pages of who did what.
func (s *Server) audit(r chi.Router) {
	r.Get("/log", s.page(s.getLog))
	r.Get("/log.csv", s.page(s.getLogCSV))
}

// logLines is how many lines of the log a page shows.
const logLines = 100

// logFilter reads what is asked for. What cannot be read leaves out nothing.
func logFilter(query url.Values, zone *time.Location) store.AuditFilter {
	day := func(field string) time.Time {
		at, err := time.ParseInLocation(time.DateOnly, query.Get(field), zone)
		if err != nil {
			return time.Time{}
		}
		return at
	}
	filter := store.AuditFilter{From: day("from"), To: day("to"), By: parsed(query.Get("by")), About: parsed(query.Get("about")),
		Action: cut(trimmed(query.Get("what")), 60), Before: parsed(query.Get("before"))}
	if !filter.To.IsZero() {
		filter.To = filter.To.AddDate(0, 0, 1) // the day itself is asked for, too
	}
	return filter
}

// readLog reads the lines asked for, at most so many.
func (s *Server) readLog(r *http.Request, most int, more ...store.Reading) (lines []gym.AuditLine, g gym.Gym, err error) {
	ctx := r.Context()
	if err := s.Store.Read(ctx, who(ctx).GymID, store.TheGym(&g)); err != nil {
		return nil, g, err
	}
	filter := logFilter(r.URL.Query(), g.Zone())
	filter.Most = most
	return lines, g, s.Store.Read(ctx, who(ctx).GymID, append(more, store.AuditLines(filter, &lines))...)
}

func (s *Server) getLog(w http.ResponseWriter, r *http.Request) error {
	var staff []store.Staff
	lines, g, err := s.readLog(r, logLines+1, store.StaffOf(&staff))
	if err != nil {
		return err
	}
	query := r.URL.Query()
	view := page.LogView{Zone: g.Zone(), From: query.Get("from"), To: query.Get("to"), By: query.Get("by"), What: query.Get("what"), About: query.Get("about")}
	for _, person := range staff {
		view.Staff = append(view.Staff, page.NamedPerson{ID: person.PersonID, Name: person.Name})
	}
	if len(lines) > logLines {
		lines = lines[:logLines]
		query.Set("before", lines[logLines-1].AuditID.String())
		view.Older = "/log?" + query.Encode()
	}
	query.Del("before")
	view.CSV = "/log.csv?" + query.Encode()
	view.Lines = lines
	return render(w, r, http.StatusOK, page.Log(s.wide(r, "Log"), view))
}

// getLogCSV gives the log to take along, and writes that into the log.
func (s *Server) getLogCSV(w http.ResponseWriter, r *http.Request) error {
	lines, _, err := s.readLog(r, 0)
	if err != nil {
		return err
	}
	ctx := r.Context()
	if err := s.Privacy.NoteExport(ctx, who(ctx), "took the log along"); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="log.csv"`)
	out := csv.NewWriter(w)
	rows := [][]string{{"at", "by", "by_id", "action", "subject", "subject_id", "about"}}
	for _, line := range lines {
		rows = append(rows, []string{line.At.UTC().Format(time.RFC3339), report.Guard(line.ByName), idOrNone(line.By), report.Guard(line.Action), line.Subject,
			idOrNone(line.SubjectID), report.Guard(line.About)})
	}
	return out.WriteAll(rows)
}

func idOrNone(id uuid.UUID) string {
	if id == uuid.Nil {
		return ""
	}
	return id.String()
}
