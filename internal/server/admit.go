package server

import (
	"context"
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// Whoever typed the right password is half in: what is left is the second
// factor, and the gym where there are several.
const (
	halfFactor = "factor"
	halfGym    = "gym"
	halfLife   = 10 * time.Minute
)

// admit leads a person whose password was right on to the second factor, to the
// choice of a gym, or in.
func (s *Server) admit(w http.ResponseWriter, r *http.Request, person gym.Person, next string) error {
	ctx := r.Context()
	s.prove(ctx)
	has, err := s.Accounts.HasFactor(ctx, person.PersonID)
	if err != nil {
		return err
	}
	if !has {
		return s.chooseGym(w, r, person, next)
	}
	if err := s.half(ctx, halfFactor, person.PersonID, next); err != nil {
		return err
	}
	return seeOther(w, r, "/sign-in/code")
}

// half begins a sign-in that opens nothing yet, under a fresh token.
func (s *Server) half(ctx context.Context, what string, person uuid.UUID, next string) error {
	if err := s.beginAnew(ctx); err != nil {
		return err
	}
	s.SignIns.Put(ctx, keyHalf, what)
	s.SignIns.Put(ctx, keyAccount, person.String())
	s.SignIns.Put(ctx, keyNext, ownPath(next))
	s.SignIns.SetDeadline(ctx, time.Now().Add(halfLife))
	return nil
}

// halfIn returns who is half in, and refuses everybody else.
func (s *Server) halfIn(ctx context.Context, what string) (gym.Person, error) {
	if who(ctx).Role != "" {
		return gym.Person{}, problem.New(problem.Forbidden, "You are signed in already. Go to the first page.")
	}
	if s.SignIns.GetString(ctx, keyHalf) != what {
		return gym.Person{}, problem.New(problem.SignedOut, "That took too long. Sign in once more.")
	}
	return s.Store.Person(ctx, parsed(s.SignIns.GetString(ctx, keyAccount)))
}

func (s *Server) getCode(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.halfIn(r.Context(), halfFactor); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.FactorCode(s.bare(r, "Your code"), nil))
}

// postCode proves the second factor.
func (s *Server) postCode(w http.ResponseWriter, r *http.Request) error {
	person, err := s.halfIn(r.Context(), halfFactor)
	if err != nil {
		return err
	}
	if err := s.Accounts.ProveFactor(r.Context(), s.door(r), person.PersonID, r.PostFormValue("code")); err != nil {
		s.Log.WarnContext(r.Context(), "a second factor did not match", "person", person.PersonID, "address", s.addressBehind(r))
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "Your code")
			meta.Error = true
			return page.FactorCode(meta, messages)
		})
	}
	return s.chooseGym(w, r, person, s.SignIns.GetString(r.Context(), keyNext))
}

// chooseGym lets a person in who belongs to one gym, and asks one who belongs
// to several.
func (s *Server) chooseGym(w http.ResponseWriter, r *http.Request, person gym.Person, next string) error {
	places, err := s.Accounts.PlacesOf(r.Context(), person)
	if err != nil {
		return err
	}
	switch len(places) {
	case 0:
		return problem.New(problem.Forbidden, "You belong to no gym at the moment. Ask the owner of your gym to let you in again.")
	case 1:
		return s.enterPlace(w, r, person.PersonID, places[0], next)
	}
	if err := s.half(r.Context(), halfGym, person.PersonID, next); err != nil {
		return err
	}
	return seeOther(w, r, "/gyms")
}

// accountOf returns the person whose account is used here, in a gym already or
// about to choose one.
func (s *Server) accountOf(ctx context.Context) (gym.Person, error) {
	if me := who(ctx); me.Role.Staff() {
		return s.Store.Person(ctx, me.PersonID)
	}
	if s.SignIns.GetString(ctx, keyHalf) == halfFactor {
		return gym.Person{}, problem.New(problem.SignedOut, "Your code comes first. Sign in once more.")
	}
	id := parsed(s.SignIns.GetString(ctx, keyAccount))
	switch {
	case id == uuid.Nil && who(ctx).Role != "":
		return gym.Person{}, problem.New(problem.Forbidden, "This page is for people with an account. Yours opens this one gym.")
	case id == uuid.Nil:
		return gym.Person{}, problem.New(problem.SignedOut, "You are signed out. Sign in, then do it once more.")
	}
	return s.Store.Person(ctx, id)
}

func (s *Server) getGyms(w http.ResponseWriter, r *http.Request) error {
	person, err := s.accountOf(r.Context())
	if err != nil {
		return err
	}
	places, err := s.Accounts.PlacesOf(r.Context(), person)
	if err != nil {
		return err
	}
	view := page.GymsView{Name: person.Name}
	for _, p := range places {
		view.Places = append(view.Places, page.Place{Key: p.Key(), Gym: p.GymName, Role: p.Role, Child: p.Child})
	}
	return render(w, r, http.StatusOK, page.Gyms(s.bare(r, "Choose a gym"), view))
}

// postGyms goes into one of the person's gyms, under a fresh token.
func (s *Server) postGyms(w http.ResponseWriter, r *http.Request) error {
	person, err := s.accountOf(r.Context())
	if err != nil {
		return err
	}
	places, err := s.Accounts.PlacesOf(r.Context(), person)
	if err != nil {
		return err
	}
	for _, p := range places {
		if p.Key() == r.PostFormValue("place") {
			return s.enterPlace(w, r, person.PersonID, p, s.SignIns.GetString(r.Context(), keyNext))
		}
	}
	return problem.New(problem.Conflict, "You do not belong to that gym now. Choose another.")
}

// enterPlace signs a person in at one of her places. Staff without a second
// factor can only set one up, unless the gym has postponed it.
func (s *Server) enterPlace(w http.ResponseWriter, r *http.Request, person uuid.UUID, place account.Place, next string) error {
	ctx := r.Context()
	me := place.Who(person)
	if err := s.enter(ctx, me); err != nil {
		return err
	}
	s.SignIns.Put(ctx, keyAccount, person.String())
	s.SignIns.Put(ctx, keyBrowser, browserOf(r))
	token, err := s.Accounts.KnowBrowser(ctx, s.door(r), person)
	if err != nil {
		return err
	}
	s.remember(w, token)
	s.Log.InfoContext(ctx, "signed in", "person", person, "gym", place.GymID, "role", place.Role)
	if err := s.Accounts.NoteSignIn(ctx, place.GymID, person); err != nil {
		return err
	}
	if !me.Role.Staff() {
		return seeOther(w, r, "/")
	}
	if err := s.tellChanges(r, place.GymID, person); err != nil {
		return err
	}
	has, err := s.Accounts.HasFactor(ctx, person)
	if err != nil || has {
		return s.goOn(w, r, next, err)
	}
	var postponed bool
	if err := s.Store.Read(ctx, place.GymID, store.SecondFactorPostponed(&postponed)); err != nil {
		return err
	}
	if postponed {
		return s.goOn(w, r, next, nil)
	}
	s.SignIns.Put(ctx, keyFactor, factorDue)
	s.SignIns.Put(ctx, keyNext, ownPath(next))
	return seeOther(w, r, "/account/second-factor")
}

func (s *Server) goOn(w http.ResponseWriter, r *http.Request, next string, err error) error {
	if err != nil {
		return err
	}
	return seeOther(w, r, ownPath(next))
}
