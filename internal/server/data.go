package server

import (
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// data are the owner's pages about taking all data along and letting programs
// read.
func (s *Server) data(r chi.Router) {
	r.Get("/data", s.page(s.getData))
	r.With(s.sure).Post("/data/files", s.page(s.postDataFile))
	r.With(s.sure).Post("/data/tokens", s.page(s.postToken))
	r.Post("/data/tokens/{token}/end", s.page(s.postTokenEnd))
}

func (s *Server) getData(w http.ResponseWriter, r *http.Request) error {
	return s.showData(w, r, http.StatusOK, func(*page.DataView) {})
}

func (s *Server) showData(w http.ResponseWriter, r *http.Request, status int, change func(*page.DataView)) error {
	var g gym.Gym
	var files []gym.Report
	v := page.DataView{ID: newID().String(), Address: s.addressOf(r), MostName: reporting.MostTokenName, Saved: s.saved(r.Context())}
	if err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Reports(gym.ReportGymData, pageOf(r, filesAtOnce), &files), store.Tokens(&v.Tokens)); err != nil {
		return err
	}
	v.Zone = g.Zone()
	files, v.Earlier = onward(r, "/data", files, filesAtOnce, func(f gym.Report) uuid.UUID { return f.ReportID })
	v.Files = s.fileLines(files, g, nil, nil, nil)
	change(&v)
	meta := s.meta(r, "All data")
	meta.Error = len(v.Messages) > 0
	return render(w, r, status, page.Data(meta, v))
}

// dataAgain shows the page with what has to be mended; other faults go on.
func (s *Server) dataAgain(w http.ResponseWriter, r *http.Request, err error, change func(*page.DataView)) error {
	kind := problem.KindOf(err)
	if kind != problem.Invalid && kind != problem.TooMany && kind != problem.Conflict {
		return err
	}
	return s.showData(w, r, statusOf(kind), func(v *page.DataView) {
		change(v)
		if v.Messages = problem.FieldsOf(err); v.Messages == nil {
			v.Messages = page.Messages{"": problem.MessageOf(err)}
		}
	})
}

// postDataFile asks for all data of the gym.
func (s *Server) postDataFile(w http.ResponseWriter, r *http.Request) error {
	order := reporting.Order{ID: idFrom(r, "id"), Kind: gym.ReportGymData, Format: gym.FormatZip}
	if err := s.Reporting.Ask(r.Context(), who(r.Context()), order); err != nil {
		return s.dataAgain(w, r, err, func(*page.DataView) {})
	}
	return seeOther(w, r, fileAddress(order.ID))
}

// postToken makes a token and shows it, this once.
func (s *Server) postToken(w http.ResponseWriter, r *http.Request) error {
	name := r.PostFormValue("name")
	token, err := s.Reporting.MakeToken(r.Context(), who(r.Context()), idFrom(r, "id"), name)
	if err != nil {
		return s.dataAgain(w, r, err, func(v *page.DataView) { v.Name = name })
	}
	return s.showData(w, r, http.StatusOK, func(v *page.DataView) { v.Token = token })
}

func (s *Server) postTokenEnd(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "token")
	if err != nil {
		return err
	}
	if err := s.Reporting.EndToken(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "Ended. That program reads nothing any more.")
	return seeOther(w, r, "/data")
}
