package server

import (
	"cmp"
	"net/http"
	"slices"
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

// reports are the pages of a term's reports, for whoever plans and decides.
func (s *Server) reports(r chi.Router) {
	r.Get("/reports", s.page(s.getReports))
	r.Get("/reports/{term}", s.page(s.getReports))
	r.Get("/reports/{term}/gym", s.page(s.getGymReport))
	r.Get("/reports/{term}/classes/{class}", s.page(s.kept(s.getClassReport)))
	r.Get("/reports/{term}/classes/{class}/athletes", s.page(s.getClassReports))
	r.Get("/reports/{term}/classes/{class}/comments", s.page(s.getComments))
	r.Get("/reports/{term}/athletes/{athlete}", s.page(s.kept(s.getReport)))
	r.Get("/reports/{term}/athletes/{athlete}/comment", s.page(s.getComment))
	r.Post("/reports/{term}/athletes/{athlete}/comment", s.page(s.postComment))
	r.Post("/reports/{term}/files", s.page(s.postFile))
	s.files(r)
}

// getReports shows what there is of a term: of the one in the address, else of
// the one that runs or ran last.
func (s *Server) getReports(w http.ResponseWriter, r *http.Request) error {
	return s.showReports(w, r, http.StatusOK, nil)
}

// filesAtOnce is how many files a page lists.
const filesAtOnce = 50

func (s *Server) showReports(w http.ResponseWriter, r *http.Request, status int, messages map[string]string) error {
	me := who(r.Context())
	var g gym.Gym
	var classes []gym.Class
	var files []gym.Report
	v := page.ReportsView{Owner: may(me.Role, manageGym), Saved: s.saved(r.Context()), ID: newID().String(), Messages: messages}
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.Terms(&v.Terms), store.Classes(&classes), store.Athletes(&v.Athletes),
		store.Reports("", pageOf(r, filesAtOnce), &files)); err != nil {
		return err
	}
	term, err := termFor(r, v.Terms, s.today(g))
	if err != nil {
		return err
	}
	meta := s.wide(r, "Reports")
	meta.Error = messages != nil
	if term == nil {
		return render(w, r, status, page.Reports(meta, v))
	}
	v.Term = term
	comments := make([][]gym.Comment, len(classes))
	members := make([][]gym.Athlete, len(classes))
	var readings []store.Reading
	during := store.During{Term: term.TermID}
	for i, class := range classes {
		whom := store.InClassDuring(class.ClassID, during)
		readings = append(readings, store.Comments(term.TermID, whom, &comments[i]), store.AthletesAmong(whom, &members[i]))
	}
	if len(readings) > 0 {
		if err := s.Store.Read(r.Context(), me.GymID, readings...); err != nil {
			return err
		}
	}
	for i, class := range classes {
		v.Classes = append(v.Classes, reportClass(class, members[i], comments[i]))
	}
	files, v.Earlier = onward(r, "/reports/"+term.TermID.String(), files, filesAtOnce, func(f gym.Report) uuid.UUID { return f.ReportID })
	v.Files = s.fileLines(files, g, v.Terms, classes, v.Athletes)
	return render(w, r, status, page.Reports(meta, v))
}

// termFor returns the term in the address; without one the term that runs, else
// the newest that began, else the first to come, or nil if there is none.
func termFor(r *http.Request, terms []gym.Term, today time.Time) (*gym.Term, error) {
	if chi.URLParam(r, "term") != "" {
		id, err := idIn(r, "term")
		if err != nil {
			return nil, err
		}
		at := slices.IndexFunc(terms, func(t gym.Term) bool { return t.TermID == id })
		if at < 0 {
			return nil, problem.New(problem.NotFound, "There is no such term in this gym.")
		}
		return &terms[at], nil
	}
	for i, t := range terms { // newest first
		if !t.StartsOn.After(today) {
			return &terms[i], nil
		}
	}
	if len(terms) == 0 {
		return nil, nil
	}
	return &terms[len(terms)-1], nil
}

func reportClass(class gym.Class, members []gym.Athlete, comments []gym.Comment) page.ReportClass {
	line := page.ReportClass{Class: class, Of: len(members)}
	for _, c := range comments {
		if c.ShownAt != nil {
			line.Shown++
		}
		if c.Pending() {
			line.Drafts++
		}
	}
	return line
}

// reportIn reviews whom in the term of the address.
func (s *Server) reportIn(r *http.Request, whom func(store.During) (store.Whom, error), extra ...store.Reading) (reporting.View, error) {
	term, err := idIn(r, "term")
	if err != nil {
		return reporting.View{}, err
	}
	during := store.During{Term: term}
	someone, err := whom(during)
	if err != nil {
		return reporting.View{}, err
	}
	return s.Reporting.Review(r.Context(), who(r.Context()).GymID, during, someone, extra...)
}

// inClass is whoever was in the class of the address.
func inClass(r *http.Request, class *gym.Class) (func(store.During) (store.Whom, error), store.Reading) {
	id, err := idIn(r, "class")
	return func(during store.During) (store.Whom, error) { return store.InClassDuring(id, during), err }, store.Class(id, class)
}

func onlyAthlete(r *http.Request) func(store.During) (store.Whom, error) {
	return func(store.During) (store.Whom, error) {
		id, err := idIn(r, "athlete")
		return store.Only(id), err
	}
}

func (s *Server) getGymReport(w http.ResponseWriter, r *http.Request) error {
	term, err := idIn(r, "term")
	if err != nil {
		return err
	}
	view, group, err := s.Reporting.Group(r.Context(), who(r.Context()).GymID, store.During{Term: term}, store.Everybody())
	if err != nil {
		return err
	}
	v := page.GroupView{Gym: view.Gym, Span: view.Ground.Span, Group: group}
	return render(w, r, http.StatusOK, page.GroupReport(s.paper(r, "Report of the whole gym"), v))
}

func (s *Server) getClassReport(w http.ResponseWriter, r *http.Request) error {
	var class gym.Class
	whom, theClass := inClass(r, &class)
	view, err := s.reportIn(r, whom, theClass)
	if err != nil {
		return err
	}
	v := page.GroupView{Gym: view.Gym, Span: view.Ground.Span, Class: &class, Group: view.Group()}
	return render(w, r, http.StatusOK, page.GroupReport(s.paper(r, "Report of "+class.Name), v))
}

// getClassReports shows wholeGym of a class, one a printed page.
func (s *Server) getClassReports(w http.ResponseWriter, r *http.Request) error {
	var class gym.Class
	whom, theClass := inClass(r, &class)
	view, err := s.reportIn(r, whom, theClass)
	if err != nil {
		return err
	}
	v := reportView(view, true)
	v.Heading = class.Name
	return render(w, r, http.StatusOK, page.Report(s.paper(r, "Reports of "+class.Name), v))
}

func (s *Server) getReport(w http.ResponseWriter, r *http.Request) error {
	view, err := s.reportIn(r, onlyAthlete(r))
	if err != nil {
		return err
	}
	athlete, err := view.One()
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Report(s.paper(r, "Report of "+athlete.Name), reportView(view, true)))
}

func reportView(view reporting.View, staff bool) page.ReportView {
	v := page.ReportView{Gym: view.Gym, Span: view.Ground.Span, Athletes: view.Athletes, Staff: staff, Comments: map[string]gym.Comment{}}
	for id, c := range view.Comments {
		v.Comments[id.String()] = c
	}
	return v
}

// fileLines puts files in words.
func (s *Server) fileLines(files []gym.Report, g gym.Gym, terms []gym.Term, classes []gym.Class, athletes []gym.Athlete) []page.FileLine {
	lines := make([]page.FileLine, len(files))
	for i, f := range files {
		of := page.FileOf{}
		if l := s.Languages[f.Language]; l != nil && f.Format == gym.FormatPDF {
			of.Language = l.Name
		}
		for _, t := range terms {
			if t.TermID == f.TermID {
				of.Term = t.Name
			}
		}
		for _, c := range classes {
			if c.ClassID == f.ClassID {
				of.Class = c.Name
			}
		}
		for _, a := range athletes {
			if a.AthleteID == f.AthleteID {
				of.Athlete = a.Name
			}
		}
		of.Class, of.Athlete = cmp.Or(of.Class, "a class that is gone"), cmp.Or(of.Athlete, "an athlete who is gone")
		lines[i] = page.FileLine{Report: f, Text: page.FileWords(f, of), When: part.Day(f.AskedAt.In(g.Zone())) + " " + f.AskedAt.In(g.Zone()).Format("15:04")}
	}
	return lines
}
