package server

import (
	"net/http"
	"strconv"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// mending are the pages on which a name, a birth year or a class is put right.
func (s *Server) mending(r chi.Router) {
	r.Get("/athletes/{athlete}/edit", s.page(s.getEditAthlete))
	r.Post("/athletes/{athlete}/edit", s.page(s.postEditAthlete))
	r.Get("/classes/{class}/edit", s.page(s.getEditClass))
	r.Post("/classes/{class}/edit", s.page(s.postEditClass))
}

// editForm reads an athlete as it stands, with the gym's classes.
func (s *Server) editForm(r *http.Request) (page.EditAthleteForm, error) {
	var form page.EditAthleteForm
	id, err := idIn(r, "athlete")
	if err != nil {
		return form, err
	}
	var in []gym.Class
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.Athlete(id, &form.Athlete), store.Classes(&form.Classes), store.ClassesOf(id, &in))
	form.Name, form.SortName = form.Athlete.Name, form.Athlete.SortName
	if form.Athlete.BirthYear > 0 {
		form.BirthYear = strconv.Itoa(form.Athlete.BirthYear)
	}
	for _, class := range in {
		form.In = append(form.In, class.ClassID.String())
	}
	return form, err
}

func (s *Server) getEditAthlete(w http.ResponseWriter, r *http.Request) error {
	form, err := s.editForm(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EditAthlete(s.meta(r, "Name and classes"), form, nil))
}

func (s *Server) postEditAthlete(w http.ResponseWriter, r *http.Request) error {
	form, err := s.editForm(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return problem.Wrap(err, problem.Invalid, "The form could not be read. Try once more.")
	}
	form.Name, form.SortName, form.BirthYear, form.In = r.PostFormValue("name"), r.PostFormValue("sort_name"), r.PostFormValue("birth_year"), r.PostForm["class"]
	details := roster.Details{Name: form.Name, SortName: form.SortName, BirthYear: form.BirthYear}
	for _, class := range form.Classes { // those of this gym alone
		for _, ticked := range form.In {
			if parsed(ticked) == class.ClassID && class.ClassID != uuid.Nil {
				details.Classes = append(details.Classes, class.ClassID)
			}
		}
	}
	if err := s.Roster.EditAthlete(r.Context(), who(r.Context()), form.Athlete.AthleteID, details); err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.EditAthlete(s.metaAgain(r, "Name and classes"), form, messages)
		})
	}
	s.say(r, "Changed. Results, plans and stages stay with the athlete.")
	return seeOther(w, r, "/athletes/"+form.Athlete.AthleteID.String())
}

func (s *Server) getEditClass(w http.ResponseWriter, r *http.Request) error {
	class, err := s.classIn(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.EditClass(s.meta(r, "Name of the class"), class, class.Name, nil))
}

func (s *Server) postEditClass(w http.ResponseWriter, r *http.Request) error {
	class, err := s.classIn(r)
	if err != nil {
		return err
	}
	name := r.PostFormValue("name")
	if err := s.Roster.RenameClass(r.Context(), who(r.Context()), class.ClassID, name); err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.EditClass(s.metaAgain(r, "Name of the class"), class, name, messages)
		})
	}
	s.say(r, "The class has its new name.")
	return seeOther(w, r, "/classes/"+class.ClassID.String())
}

// classIn reads the class in the address.
func (s *Server) classIn(r *http.Request) (class gym.Class, err error) {
	id, err := idIn(r, "class")
	if err != nil {
		return class, err
	}
	return class, s.Store.Read(r.Context(), who(r.Context()).GymID, store.Class(id, &class))
}
