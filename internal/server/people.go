package server

import (
	"context"
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// people are the owner's pages about who works in the gym.
func (s *Server) people(r chi.Router) {
	r.Get("/people", s.page(s.getPeople))
	r.With(s.sure).Post("/people/invitations", s.page(s.postInvitation))
	r.Post("/people/invitations/{invitation}/take-back", s.page(s.postInvitationBack))
	r.With(s.sure).Post("/people/second-factor", s.page(s.postAskFactor))
	r.With(s.sure).Post("/people/{person}/role", s.page(s.postRole))
	r.With(s.sure).Post("/people/{person}/end", s.page(s.postEndWork))
	r.With(s.sure).Post("/people/{person}/way-back", s.page(s.postWayBack))
	r.With(s.sure).Post("/people/{person}/second-factor/off", s.page(s.postFactorOff))
}

func (s *Server) getPeople(w http.ResponseWriter, r *http.Request) error {
	view, err := s.peopleView(r)
	if err != nil {
		return err
	}
	view.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.People(s.meta(r, "People"), view, nil))
}

func (s *Server) peopleView(r *http.Request) (page.PeopleView, error) {
	me := who(r.Context())
	view := page.PeopleView{Me: me.PersonID, InvitationID: newID().String(), Role: string(gym.Coach), Address: s.addressOf(r), Now: s.realNow()}
	var g gym.Gym
	err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&g), store.StaffList(&view.Staff), store.Invitations(&view.Invitations),
		store.SecondFactorPostponed(&view.Postponed))
	view.Zone, view.Today = g.Zone(), s.Now()
	return view, err
}

// peopleAgain shows the page once more with what is wrong.
func (s *Server) peopleAgain(w http.ResponseWriter, r *http.Request, err error, change func(*page.PeopleView)) error {
	view, viewErr := s.peopleView(r)
	if viewErr != nil {
		return viewErr
	}
	change(&view)
	return again(w, r, err, func(messages map[string]string) templ.Component {
		return page.People(s.metaAgain(r, "People"), view, messages)
	})
}

// postInvitation makes an invitation and shows its code, this once.
func (s *Server) postInvitation(w http.ResponseWriter, r *http.Request) error {
	name, role := r.PostFormValue("name"), r.PostFormValue("role")
	code, err := s.Accounts.Invite(r.Context(), who(r.Context()), idFrom(r, "id"), name, gym.Role(role))
	if err != nil {
		return s.peopleAgain(w, r, err, func(v *page.PeopleView) { v.Name, v.Role = name, role })
	}
	return render(w, r, http.StatusOK, page.HandOver(s.meta(r, "Invitation"), page.HandOverView{
		Name: trimmed(name), Code: code, Address: s.addressOf(r) + "/invited", Invitation: true}))
}

func (s *Server) postInvitationBack(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "invitation")
	if err != nil {
		return err
	}
	if err := s.Accounts.TakeBackInvitation(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "The invitation is taken back. Its code opens nothing now.")
	return seeOther(w, r, "/people")
}

func (s *Server) postAskFactor(w http.ResponseWriter, r *http.Request) error {
	postponed := r.PostFormValue("postponed") == yes
	if err := s.Accounts.PostponeFactors(r.Context(), who(r.Context()), postponed); err != nil {
		return err
	}
	said := "Staff are asked for a second factor when they sign in next."
	if postponed {
		said = "Staff are not asked for a second factor for now."
	}
	s.say(r, said)
	return seeOther(w, r, "/people")
}

func (s *Server) postRole(w http.ResponseWriter, r *http.Request) error {
	return s.changePerson(w, r, "The role is changed, at once.", func(ctx context.Context, me gym.Who, person uuid.UUID) error {
		return s.Accounts.SetRole(ctx, me, person, gym.Role(r.PostFormValue("role")))
	})
}

func (s *Server) postEndWork(w http.ResponseWriter, r *http.Request) error {
	return s.changePerson(w, r, "This person is signed out and cannot come in any more.", s.Accounts.EndWork)
}

func (s *Server) postFactorOff(w http.ResponseWriter, r *http.Request) error {
	return s.changePerson(w, r, "The second factor is off. A new one is asked for at the next sign-in.", s.Accounts.FactorOff)
}

// changePerson does something to a person of the gym and says so.
func (s *Server) changePerson(w http.ResponseWriter, r *http.Request, said string, do func(ctx context.Context, me gym.Who, person uuid.UUID) error) error {
	person, err := idIn(r, "person")
	if err != nil {
		return err
	}
	if err := do(r.Context(), who(r.Context()), person); err != nil {
		return s.peopleAgain(w, r, err, func(*page.PeopleView) {})
	}
	s.say(r, said)
	return seeOther(w, r, "/people")
}

// postWayBack makes a one-time code for somebody who is locked out and shows
// it, this once.
func (s *Server) postWayBack(w http.ResponseWriter, r *http.Request) error {
	person, err := idIn(r, "person")
	if err != nil {
		return err
	}
	code, err := s.Accounts.GiveWayBack(r.Context(), who(r.Context()), person)
	if err != nil {
		return s.peopleAgain(w, r, err, func(*page.PeopleView) {})
	}
	p, err := s.Store.Person(r.Context(), person)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.HandOver(s.meta(r, "One-time code"), page.HandOverView{
		Name: p.Name, SignInName: p.SignInName, Code: code, Address: s.addressOf(r) + "/recover"}))
}
