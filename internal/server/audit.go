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
		Action: cut(trimmed(query.Get("what")), 60)}
	if !filter.To.IsZero() {
		filter.To = filter.To.AddDate(0, 0, 1) // the day itself is asked for, too
	}
	return filter
}

func (s *Server) getLog(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	var g gym.Gym
	if err := s.Store.Read(ctx, who(ctx).GymID, store.TheGym(&g)); err != nil {
		return err
	}
	var staff []store.Staff
	var lines []gym.AuditLine
	query := r.URL.Query()
	err := s.Store.Read(ctx, who(ctx).GymID, store.StaffOf(&staff), store.AuditLines(logFilter(query, g.Zone()), pageOf(r, logLines), &lines))
	if err != nil {
		return err
	}
	view := page.LogView{Zone: g.Zone(), From: query.Get("from"), To: query.Get("to"), By: query.Get("by"), What: query.Get("what"), About: query.Get("about")}
	for _, person := range staff {
		view.Staff = append(view.Staff, page.NamedPerson{ID: person.PersonID, Name: person.Name})
	}
	view.Lines, view.Older = onward(r, "/log", lines, logLines, func(l gym.AuditLine) uuid.UUID { return l.AuditID })
	query.Del("before")
	view.CSV = "/log.csv?" + query.Encode()
	return render(w, r, http.StatusOK, page.Log(s.wide(r, "Log"), view))
}

// csvLines is how many lines of the log are read at a time for a file.
const csvLines = 1000

// getLogCSV gives the log to take along, and writes that into the log. It reads
// and sends a part at a time, so that a log of many years needs no more memory.
func (s *Server) getLogCSV(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	var g gym.Gym
	if err := s.Store.Read(ctx, who(ctx).GymID, store.TheGym(&g)); err != nil {
		return err
	}
	filter := logFilter(r.URL.Query(), g.Zone())
	if err := s.Privacy.NoteExport(ctx, who(ctx), "took the log along"); err != nil {
		return err
	}
	part := store.Page{Most: csvLines}
	var lines []gym.AuditLine
	if err := s.Store.Read(ctx, who(ctx).GymID, store.AuditLines(filter, part, &lines)); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="log.csv"`)
	out := csv.NewWriter(w)
	_ = out.Write([]string{"at", "by", "by_id", "action", "subject", "subject_id", "about"}) // Flush tells
	for {
		for _, line := range lines {
			_ = out.Write(logRow(line))
		}
		if out.Flush(); out.Error() != nil || len(lines) < csvLines {
			return out.Error()
		}
		part.After = lines[csvLines-1].AuditID
		if err := s.Store.Read(ctx, who(ctx).GymID, store.AuditLines(filter, part, &lines)); err != nil {
			// The answer has begun: the browser learns by the missing lines.
			s.Log.WarnContext(ctx, "the log was not sent whole", "error", err)
			panic(http.ErrAbortHandler)
		}
	}
}

func logRow(line gym.AuditLine) []string {
	return []string{line.At.UTC().Format(time.RFC3339), report.Guard(line.ByName), idOrNone(line.By), report.Guard(line.Action), line.Subject,
		idOrNone(line.SubjectID), report.Guard(line.About)}
}

func idOrNone(id uuid.UUID) string {
	if id == uuid.Nil {
		return ""
	}
	return id.String()
}
