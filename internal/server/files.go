package server

import (
	"mime"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// files are the pages of files that are made in the background. Their addresses
// stay.
func (s *Server) files(r chi.Router) {
	r.Get("/files/{report}", s.page(s.getFile))
	r.Get("/files/{report}/progress", s.page(s.getFileProgress))
	r.Get("/files/{report}/download", s.page(s.getFileBytes))
	r.Post("/files/{report}/again", s.page(s.postFileAgain))
	r.Post("/files/{report}/stop", s.page(s.postFileStop))
}

// postFile asks for a file of a term.
func (s *Server) postFile(w http.ResponseWriter, r *http.Request) error {
	term, err := idIn(r, "term")
	if err != nil {
		return err
	}
	order := reporting.Order{ID: idFrom(r, "id"), Term: term}
	what := r.PostFormValue("what")
	class, isClass := strings.CutPrefix(what, page.WhatClass)
	athlete, isAthlete := strings.CutPrefix(what, page.WhatAthlete)
	switch {
	case isClass:
		order.Kind, order.Class = gym.ReportClass, parsed(class)
	case isAthlete:
		order.Kind, order.Athlete = gym.ReportAthlete, parsed(athlete)
	case what == page.WhatGym:
		order.Kind = gym.ReportGym
	}
	order.Format, order.Paper, _ = strings.Cut(r.PostFormValue("format"), ":")
	if l := s.Languages[r.PostFormValue("language")]; l != nil {
		order.Language = l.Tag
	}
	err = s.Reporting.Ask(r.Context(), who(r.Context()), order)
	switch problem.KindOf(err) {
	case problem.Invalid, problem.TooMany:
		messages := problem.FieldsOf(err)
		if messages == nil {
			messages = map[string]string{"": problem.MessageOf(err)}
		}
		return s.showReports(w, r, statusOf(problem.KindOf(err)), messages)
	}
	if err != nil {
		return err
	}
	return seeOther(w, r, fileAddress(order.ID))
}

func fileAddress(id uuid.UUID) string { return "/files/" + id.String() }

// readable reads a file's row, if the one who asks may have it: all data of the
// gym are for the owner.
func (s *Server) readable(r *http.Request, extra ...store.Reading) (gym.Report, error) {
	id, err := idIn(r, "report")
	if err != nil {
		return gym.Report{}, err
	}
	var file gym.Report
	me := who(r.Context())
	if err := s.Store.Read(r.Context(), me.GymID, append(extra, store.Report(id, &file))...); err != nil {
		return gym.Report{}, err
	}
	if file.Kind == gym.ReportGymData && !may(me.Role, manageGym) {
		return gym.Report{}, problem.New(problem.Forbidden, "All data of the gym are for the owner.")
	}
	return file, nil
}

func (s *Server) fileView(r *http.Request) (page.FileView, error) {
	var g gym.Gym
	var terms []gym.Term
	var classes []gym.Class
	var athletes []gym.Athlete
	file, err := s.readable(r, store.TheGym(&g), store.Terms(&terms), store.Classes(&classes), store.Athletes(&athletes))
	if err != nil {
		return page.FileView{}, err
	}
	v := page.FileView{Line: s.fileLines([]gym.Report{file}, g, terms, classes, athletes)[0]}
	if file.FinishedAt != nil {
		at := file.FinishedAt.In(g.Zone())
		v.Made, v.Until = part.Day(at)+" "+at.Format("15:04"), part.Day(at.Add(reporting.KeepFiles))
	}
	return v, nil
}

func (s *Server) getFile(w http.ResponseWriter, r *http.Request) error {
	v, err := s.fileView(r)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	meta := s.meta(r, "File")
	if v.Line.Report.Open() {
		meta.Refresh = 3
	}
	return render(w, r, http.StatusOK, page.File(meta, v))
}

func (s *Server) getFileProgress(w http.ResponseWriter, r *http.Request) error {
	v, err := s.fileView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.FileProgress(v))
}

// mediaType is what a browser is told of a file in a format.
func mediaType(format string) string {
	switch format {
	case gym.FormatPDF:
		return "application/pdf"
	case gym.FormatXLSX:
		return "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
	default:
		return "application/zip"
	}
}

// longestDownload is how long one file may take to be sent.
const longestDownload = 30 * time.Minute

// getFileBytes sends the file itself. Its name is of a person or a gym, so it
// stands in the answer and not in the address.
func (s *Server) getFileBytes(w http.ResponseWriter, r *http.Request) error {
	file, err := s.readable(r)
	if err != nil {
		return err
	}
	if !file.Ready() {
		return problem.New(problem.NotFound, "This file is not there at the moment. Open its page to make it again.")
	}
	h := w.Header()
	tag := tagOf([]byte(file.ReportID.String() + file.FinishedAt.UTC().String())) // a file that was made stays as it is
	if h.Set("ETag", tag); r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return nil
	}
	h.Set("Content-Type", mediaType(file.Format))
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": file.FileName}))
	h.Set("Content-Length", strconv.FormatInt(file.Bytes, 10))
	// A large file may take longer than a page. Not every writer has a deadline.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(longestDownload))
	if err := s.Store.WriteReport(r.Context(), who(r.Context()).GymID, file, w); err != nil {
		// The answer has begun: the browser learns by the missing bytes.
		s.Log.WarnContext(r.Context(), "a file was not sent whole", "report", file.ReportID, "error", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

func (s *Server) postFileAgain(w http.ResponseWriter, r *http.Request) error {
	file, err := s.readable(r)
	if err != nil {
		return err
	}
	if err := s.Reporting.Again(r.Context(), who(r.Context()), file.ReportID); err != nil {
		return err
	}
	return seeOther(w, r, fileAddress(file.ReportID))
}

func (s *Server) postFileStop(w http.ResponseWriter, r *http.Request) error {
	file, err := s.readable(r)
	if err != nil {
		return err
	}
	if err := s.Reporting.Stop(r.Context(), who(r.Context()), file.ReportID); err != nil {
		return err
	}
	return seeOther(w, r, fileAddress(file.ReportID))
}
