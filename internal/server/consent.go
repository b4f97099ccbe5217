package server

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// consents are the pages on which coaches note what guardians agreed to.
func (s *Server) consents(r chi.Router) {
	r.Get("/classes/{class}/consents", s.page(s.getClassConsents))
	r.Post("/classes/{class}/consents", s.page(s.postClassConsents))
	r.Get("/athletes/{athlete}/consents", s.page(s.getConsents))
	r.Post("/athletes/{athlete}/consents", s.page(s.postConsent))
}

// allows reports whether more may be kept of an athlete on a day.
func allows(bases []gym.Basis, athlete uuid.UUID, day time.Time) bool {
	i := slices.IndexFunc(bases, func(b gym.Basis) bool { return b.AthleteID == athlete })
	return i < 0 || bases[i].Allows(gym.ToRecord, day.Year())
}

func (s *Server) getClassConsents(w http.ResponseWriter, r *http.Request) error {
	view, err := s.classConsents(r)
	if err != nil {
		return err
	}
	view.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.ClassConsents(s.wide(r, "Consents"), view, nil))
}

func (s *Server) classConsents(r *http.Request) (page.ClassConsentsView, error) {
	view := page.ClassConsentsView{ID: newID().String(), How: "paper", Wordings: wordings()}
	class, err := idIn(r, "class")
	if err != nil {
		return view, err
	}
	var g gym.Gym
	var consents []gym.Consent
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Class(class, &view.Class),
		store.BasesOf(store.InClass(class), &view.Bases), store.ConsentsOfClass(class, &consents))
	view.Age, view.Year, view.Zone = g.ConsentAge, g.DayOf(s.Now()).Year(), g.Zone()
	slices.SortStableFunc(view.Bases, func(a, b gym.Basis) int { // what is missing comes first
		return cmp.Compare(rank(a.Allows(gym.ToRecord, view.Year)), rank(b.Allows(gym.ToRecord, view.Year)))
	})
	view.Newest = map[uuid.UUID]gym.Consent{}
	for _, c := range consents {
		if newest, known := view.Newest[c.AthleteID]; !known || newest.NotedAt.Before(c.NotedAt) {
			view.Newest[c.AthleteID] = c
		}
	}
	return view, err
}

func rank(last bool) int {
	if last {
		return 1
	}
	return 0
}

// postClassConsents notes the forms that a class brought, all of them at once.
func (s *Server) postClassConsents(w http.ResponseWriter, r *http.Request) error {
	view, err := s.classConsents(r)
	if err != nil {
		return err
	}
	view.How = r.PostFormValue("how")
	base := idFrom(r, "id")
	var forms []account.ConsentForm
	for _, basis := range view.Bases {
		id := basis.AthleteID.String()
		purposes := purposesFrom(r, "agreed-"+id)
		if r.PostFormValue("everybody") == yes && !basis.Allows(gym.ToRecord, view.Year) {
			purposes = gym.Purposes()
		}
		if len(purposes) == 0 {
			continue
		}
		by := trimmed(r.PostFormValue("by-" + id))
		if by == "" {
			by = r.PostFormValue("by_all")
		}
		forms = append(forms, account.ConsentForm{ID: uuid.NewSHA1(base, basis.AthleteID[:]), Athlete: basis.AthleteID, Purposes: purposes,
			Given: true, ByName: by, How: view.How})
	}
	if err := s.Accounts.NoteConsents(r.Context(), who(r.Context()), forms...); err != nil {
		view.Typed = r.PostForm
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, "Consents")
			meta.Error = true
			return page.ClassConsents(meta, view, messages)
		})
	}
	s.say(r, page.NotedWords(len(forms)))
	return seeOther(w, r, "/classes/"+view.Class.ClassID.String()+"/consents")
}

// purposesFrom reads which purposes are ticked.
func purposesFrom(r *http.Request, field string) []gym.Purpose {
	r.PostFormValue(field) // reads the form, if nobody has
	var purposes []gym.Purpose
	for _, value := range r.PostForm[field] {
		purposes = append(purposes, gym.Purpose(value))
	}
	return purposes
}

func (s *Server) getConsents(w http.ResponseWriter, r *http.Request) error {
	view, err := s.athleteConsents(r)
	if err != nil {
		return err
	}
	view.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Consents(s.meta(r, "Consents"), view, nil))
}

func (s *Server) athleteConsents(r *http.Request) (page.ConsentsView, error) {
	view := page.ConsentsView{ID: newID().String(), How: "paper", Do: "give"}
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return view, err
	}
	var g gym.Gym
	var staff []store.Staff
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Athlete(athlete, &view.Athlete),
		store.ConsentsOf(athlete, &view.Consents), store.GuardiansOf(athlete, &view.Guardians), store.StaffOf(&staff))
	view.Asked, view.Age, view.Zone = g.NeedsConsent(view.Athlete, g.DayOf(s.Now()).Year()), g.ConsentAge, g.Zone()
	view.Names = namesOf(staff)
	view.Wordings = wordings()
	return view, err
}

// namesOf returns the names of staff by id.
func namesOf(staff []store.Staff) map[uuid.UUID]string {
	names := make(map[uuid.UUID]string, len(staff))
	for _, person := range staff {
		names[person.PersonID] = person.Name
	}
	return names
}

func wordings() []page.Wording {
	var all []page.Wording
	for _, purpose := range gym.Purposes() {
		words := account.WordingOf(purpose)
		all = append(all, page.Wording{Purpose: purpose, Words: words, Version: gym.Consent{Wording: words}.Version()})
	}
	return all
}

// postConsent notes what one guardian agreed to, or took back.
func (s *Server) postConsent(w http.ResponseWriter, r *http.Request) error {
	view, err := s.athleteConsents(r)
	if err != nil {
		return err
	}
	view.ID, view.ByName, view.How, view.Do = idFrom(r, "id").String(), r.PostFormValue("by_name"), r.PostFormValue("how"), r.PostFormValue("do")
	form := account.ConsentForm{ID: parsed(view.ID), Athlete: view.Athlete.AthleteID, Purposes: purposesFrom(r, "purpose"),
		Given: view.Do != "take back", ByName: view.ByName, How: view.How}
	if err := s.Accounts.NoteConsents(r.Context(), who(r.Context()), form); err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Consents(s.metaAgain(r, "Consents"), view, messages)
		})
	}
	s.say(r, page.NotedWords(1))
	return seeOther(w, r, "/athletes/"+view.Athlete.AthleteID.String()+"/consents")
}
