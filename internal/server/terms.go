package server

import (
	"net/http"
	"slices"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/leading"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// terms are the owner's pages of terms and holidays.
func (s *Server) terms(r chi.Router) {
	r.Get("/terms", s.page(s.getTerms))
	r.Get("/terms/new", s.page(s.getNewTerm))
	r.Get("/terms/{term}", s.page(s.getTerm))
	r.Post("/terms", s.page(s.postTerm))
	r.Get("/holidays/new", s.page(s.getNewHoliday))
	r.Get("/holidays/{holiday}", s.page(s.getHoliday))
	r.Post("/holidays", s.page(s.postHoliday))
}

// termsAndHolidays reads both, with the gym's day.
func (s *Server) termsAndHolidays(r *http.Request) (page.TermsView, error) {
	var v page.TermsView
	var g gym.Gym
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Terms(&v.Terms), store.Holidays(&v.Holidays))
	v.Today = s.today(g)
	return v, err
}

func (s *Server) getTerms(w http.ResponseWriter, r *http.Request) error {
	v, err := s.termsAndHolidays(r)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Terms(s.meta(r, "Terms and holidays"), v))
}

// usualTerm is how long a term is that nobody has typed yet.
const usualTerm = 12 * 7

// getNewTerm offers twelve weeks from the Monday after the last term, or from
// the next one.
func (s *Server) getNewTerm(w http.ResponseWriter, r *http.Request) error {
	v, err := s.termsAndHolidays(r)
	if err != nil {
		return err
	}
	from := v.Today
	if len(v.Terms) > 0 && v.Terms[0].EndsOn.After(from) {
		from = v.Terms[0].EndsOn
	}
	from = from.AddDate(0, 0, 1+(7-int(from.Weekday()))%7)
	form := page.SpanForm{What: "term", ID: newID().String(), Starts: from.Format(time.DateOnly), Ends: from.AddDate(0, 0, usualTerm-1).Format(time.DateOnly)}
	return render(w, r, http.StatusOK, page.Span(s.meta(r, "Add a term"), form))
}

func (s *Server) getNewHoliday(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, page.Span(s.meta(r, "Add a holiday"), page.SpanForm{What: "holiday", ID: newID().String()}))
}

func (s *Server) getTerm(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "term")
	if err != nil {
		return err
	}
	v, err := s.termsAndHolidays(r)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(v.Terms, func(t gym.Term) bool { return t.TermID == id })
	if i < 0 {
		return problem.New(problem.NotFound, "There is no such term in this gym.")
	}
	return render(w, r, http.StatusOK, page.Span(s.meta(r, v.Terms[i].Name), spanForm("term", id, v.Terms[i].Name, v.Terms[i].StartsOn, v.Terms[i].EndsOn)))
}

func (s *Server) getHoliday(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "holiday")
	if err != nil {
		return err
	}
	v, err := s.termsAndHolidays(r)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(v.Holidays, func(h gym.Holiday) bool { return h.HolidayID == id })
	if i < 0 {
		return problem.New(problem.NotFound, "There is no such holiday in this gym.")
	}
	return render(w, r, http.StatusOK, page.Span(s.meta(r, v.Holidays[i].Name), spanForm("holiday", id, v.Holidays[i].Name, v.Holidays[i].StartsOn, v.Holidays[i].EndsOn)))
}

func spanForm(what string, id uuid.UUID, name string, from, to time.Time) page.SpanForm {
	return page.SpanForm{What: what, ID: id.String(), Name: name, Starts: from.Format(time.DateOnly), Ends: to.Format(time.DateOnly), Known: true}
}

// spanFrom reads the form of a term or a holiday.
func spanFrom(r *http.Request, what string) page.SpanForm {
	return page.SpanForm{What: what, ID: idFrom(r, "id").String(), Name: trimmed(r.PostFormValue("name")), Starts: r.PostFormValue("starts_on"),
		Ends: r.PostFormValue("ends_on"), Known: r.PostFormValue("known") == yes}
}

// postTerm shows what a term or its removal does, or keeps it.
func (s *Server) postTerm(w http.ResponseWriter, r *http.Request) error {
	ctx, me, f := r.Context(), who(r.Context()), spanFrom(r, "term")
	term := gym.Term{TermID: parsed(f.ID), Name: f.Name, StartsOn: dayIn(f.Starts), EndsOn: dayIn(f.Ends)}
	return s.postSpan(w, r, f, spanVerbs{
		foresee: func() ([]leading.Outlook, error) { return s.Leading.ForeseeTerm(ctx, me, term) },
		set:     func() error { return s.Leading.SetTerm(ctx, me, term) },
		drop:    func() error { return s.Leading.DropTerm(ctx, me, term.TermID) },
	})
}

// postHoliday does the same for a holiday.
func (s *Server) postHoliday(w http.ResponseWriter, r *http.Request) error {
	ctx, me, f := r.Context(), who(r.Context()), spanFrom(r, "holiday")
	holiday := gym.Holiday{HolidayID: parsed(f.ID), Name: f.Name, StartsOn: dayIn(f.Starts), EndsOn: dayIn(f.Ends)}
	return s.postSpan(w, r, f, spanVerbs{
		foresee: func() ([]leading.Outlook, error) { return s.Leading.ForeseeHoliday(ctx, me, holiday) },
		set:     func() error { return s.Leading.SetHoliday(ctx, me, holiday) },
		drop:    func() error { return s.Leading.DropHoliday(ctx, me, holiday.HolidayID) },
	})
}

// spanVerbs are what can be done with a term or a holiday.
type spanVerbs struct {
	foresee func() ([]leading.Outlook, error)
	set     func() error
	drop    func() error
}

// postSpan shows first what follows, and keeps it when asked once more.
func (s *Server) postSpan(w http.ResponseWriter, r *http.Request, f page.SpanForm, do spanVerbs) error {
	var shown []leading.Outlook
	var err error
	asked := r.PostFormValue("do")
	switch asked {
	case "save":
		err = do.set()
	case "remove":
		err = do.drop()
	case "look-remove":
		shown, err = s.Leading.ForeseeWithout(r.Context(), who(r.Context()), parsed(f.ID))
	default:
		shown, err = do.foresee()
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			f.Messages = messages
			return page.Span(s.metaAgain(r, "Terms and holidays"), f)
		})
	}
	if asked != "save" && asked != "remove" {
		return render(w, r, http.StatusOK, page.Consequences(s.meta(r, "What changes"), foreseenSpan(f, shown, asked == "look-remove")))
	}
	s.say(r, page.SpanSentence(f.Name, asked == "remove"))
	return seeOther(w, r, "/terms")
}

// foreseenSpan is the page before a term or a holiday is kept or removed.
func foreseenSpan(f page.SpanForm, shown []leading.Outlook, remove bool) page.Foreseen {
	v := page.Foreseen{Above: f.Name, ByClass: true, Action: "/" + f.What + "s", Back: "/terms", Do: "save", Button: "Keep the " + f.What,
		Hidden: [][2]string{{"id", f.ID}, {"name", f.Name}, {"starts_on", f.Starts}, {"ends_on", f.Ends}}}
	if f.Known {
		v.Hidden = append(v.Hidden, [2]string{"known", yes})
	}
	if remove {
		v.Do, v.Button, v.Strong = "remove", "Remove the "+f.What, true
	}
	for _, o := range shown {
		v.Shifts = append(v.Shifts, shiftView(o))
	}
	return v
}
