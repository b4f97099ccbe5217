package server

import (
	"bytes"
	"net/http"
	"sync"

	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/paper"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// family are a term's report for whomever it is about: at /me for the athlete, at
// /child for a guardian. Whose it is comes from the sign-in, never from the
// address.
func (s *Server) family(r chi.Router, from string) {
	r.Get(from+"/report", s.page(func(w http.ResponseWriter, r *http.Request) error { return s.getOwnReport(w, r, from) }))
	r.Get(from+"/report/{term}", s.page(func(w http.ResponseWriter, r *http.Request) error { return s.getOwnReport(w, r, from) }))
	r.Get(from+"/report/{term}/pdf", s.page(s.getOwnPDF))
}

// getOwnReport shows the report of the term in the address, else of the one that
// runs or ran last.
func (s *Server) getOwnReport(w http.ResponseWriter, r *http.Request, from string) error {
	me := who(r.Context())
	var g gym.Gym
	var terms []gym.Term
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Terms(&terms)); err != nil {
		return err
	}
	term, err := termFor(r, terms, s.today(g))
	if err != nil {
		return err
	}
	meta := s.paper(r, "Report of the term")
	if term == nil {
		return render(w, r, http.StatusOK, page.Report(meta, page.ReportView{Gym: g, Own: &page.OwnReport{From: from}}))
	}
	view, err := s.ownReview(r, *term)
	if err != nil {
		return err
	}
	v := reportView(view, false)
	v.Own = &page.OwnReport{From: from, Terms: terms}
	return render(w, r, http.StatusOK, page.Report(meta, v))
}

// ownReview reviews whomever the sign-in is for.
func (s *Server) ownReview(r *http.Request, term gym.Term) (reporting.View, error) {
	me := who(r.Context())
	view, err := s.Reporting.Review(r.Context(), me.GymID, store.During{Term: term.TermID}, store.Only(me.AthleteID))
	if err != nil {
		return view, err
	}
	_, err = view.One()
	return view, err
}

// getOwnPDF sends the report as a file, a page of A4 or Letter.
func (s *Server) getOwnPDF(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "term")
	if err != nil {
		return err
	}
	view, err := s.ownReview(r, gym.Term{TermID: id})
	if err != nil {
		return err
	}
	letters, err := s.letters.open()
	if err != nil {
		return err
	}
	size := paper.A4()
	switch r.URL.Query().Get("paper") {
	case "", gym.PaperA4:
	case gym.PaperLetter:
		size = paper.Letter()
	default:
		return problem.New(problem.NotFound, "The report comes on A4 and on Letter.")
	}
	var file bytes.Buffer
	pdf := report.NewPDF(&file, letters, size, report.Subject{Gym: view.Gym, Span: view.Ground.Span, Alone: true, Count: 1, Voice: voiceOf(r.Context())})
	if err := pdf.Add(view.Athletes[0], view.Facts[0]); err != nil {
		return err
	}
	if err := pdf.Close(view.Group()); err != nil {
		return err
	}
	w.Header().Set("Content-Type", mediaType(gym.FormatPDF))
	w.Header().Set("Content-Disposition", `attachment; filename="term-report.pdf"`)
	_, _ = file.WriteTo(w) // whoever asked may have left
	return nil
}

// letters are the fonts of PDF files, unpacked when the first is asked for.
type letters struct {
	once  sync.Once
	fonts *paper.Letters
	err   error
}

func (l *letters) open() (*paper.Letters, error) {
	l.once.Do(func() { l.fonts, l.err = paper.OpenLetters() })
	return l.fonts, l.err
}
