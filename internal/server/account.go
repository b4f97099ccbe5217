package server

import (
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// account are the pages of somebody's own account.
func (s *Server) account(r chi.Router) {
	r.Get("/account", s.page(s.getAccount))
	r.Post("/account/password", s.page(s.postPassword))
	r.Post("/account/sign-ins/end", s.page(s.postEndSignIn))
	r.Get("/account/second-factor", s.page(s.getFactor))
	r.With(s.sure).Post("/account/second-factor", s.page(s.postFactor))
	r.Post("/account/second-factor/remove", s.page(s.postFactorRemove))
	r.Post("/account/second-factor/codes", s.page(s.postFactorCodes))
	r.Post("/account/second-factor/postpone", s.page(s.postFactorPostpone))
}

// How long changes to how somebody comes in are shown on the own page, and told at
// each sign-in.
const (
	changesShown = 30 * 24 * time.Hour
	changesTold  = 7 * 24 * time.Hour
)

// tellChanges says at a sign-in what was changed lately about how the person comes
// in.
func (s *Server) tellChanges(r *http.Request, gymID, person uuid.UUID) error {
	changes, err := s.Accounts.WayInChanges(r.Context(), gymID, person, s.Now().Add(-changesTold))
	if err != nil || len(changes) == 0 {
		return err
	}
	s.say(r, page.ChangeTold(changes[0]))
	return nil
}

func (s *Server) getAccount(w http.ResponseWriter, r *http.Request) error {
	view, err := s.accountView(r)
	if err != nil {
		return err
	}
	view.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Account(s.meta(r, "Your account"), view, nil))
}

func (s *Server) accountView(r *http.Request) (page.AccountView, error) {
	ctx := r.Context()
	person, err := s.accountOf(ctx)
	if err != nil {
		return page.AccountView{}, err
	}
	view := page.AccountView{Name: person.Name, SignInName: person.SignInName, Due: s.due(ctx), Now: s.realNow()}
	var g gym.Gym
	if err := s.Store.Read(ctx, who(ctx).GymID, store.TheGym(&g)); err != nil {
		return view, err
	}
	view.Zone = g.Zone()
	if view.Factor, err = s.Accounts.HasFactor(ctx, person.PersonID); err != nil {
		return view, err
	}
	if view.CodesLeft, err = s.Store.RecoveryCodesLeft(ctx, person.PersonID); err != nil {
		return view, err
	}
	if view.SignIns, err = s.Store.SignInsOf(ctx, person.PersonID, s.SignIns.Token(ctx)); err != nil {
		return view, err
	}
	if view.Changes, err = s.Accounts.WayInChanges(ctx, who(ctx).GymID, person.PersonID, s.Now().Add(-changesShown)); err != nil {
		return view, err
	}
	places, err := s.Accounts.PlacesOf(ctx, person)
	view.Gyms = len(places)
	return view, err
}

// accountAgain shows the page once more with what is wrong.
func (s *Server) accountAgain(w http.ResponseWriter, r *http.Request, err error) error {
	view, viewErr := s.accountView(r)
	if viewErr != nil {
		return viewErr
	}
	return again(w, r, err, func(messages map[string]string) templ.Component {
		return page.Account(s.metaAgain(r, "Your account"), view, messages)
	})
}

// postPassword changes the own password, renews this sign-in and ends the others.
func (s *Server) postPassword(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	form := account.NewPassword{Old: r.PostFormValue("password"), New: r.PostFormValue("new_password")}
	me := who(ctx)
	if err := s.Accounts.ChangePassword(ctx, s.door(r), me.PersonID, form, s.SignIns.Token(ctx)); err != nil {
		return s.accountAgain(w, r, err)
	}
	if err := s.SignIns.RenewToken(ctx); err != nil {
		return err
	}
	token, err := s.Accounts.KnowBrowser(ctx, s.door(r), me.PersonID)
	if err != nil {
		return err
	}
	s.remember(w, token)
	s.say(r, "Your password is changed. You are signed out everywhere else.")
	return seeOther(w, r, "/account")
}

// postEndSignIn ends one sign-in of one's own, or all but this one.
func (s *Server) postEndSignIn(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	me := who(ctx)
	if id := r.PostFormValue("sign_in"); id != "" {
		if err := s.Store.EndSignIn(ctx, me.PersonID, id); err != nil {
			return err
		}
		s.say(r, "That sign-in has ended.")
		return seeOther(w, r, "/account")
	}
	if err := s.Store.EndOtherSignIns(ctx, me.PersonID, s.SignIns.Token(ctx)); err != nil {
		return err
	}
	s.say(r, "You are signed out everywhere else.")
	return seeOther(w, r, "/account")
}

func (s *Server) getFactor(w http.ResponseWriter, r *http.Request) error {
	return s.showFactor(w, r, nil)
}

// showFactor shows the secret to take, or the state of the factor there is.
func (s *Server) showFactor(w http.ResponseWriter, r *http.Request, problemWith error) error {
	ctx := r.Context()
	me := who(ctx)
	view := page.FactorView{Due: s.due(ctx), Owner: may(me.Role, manageGym), Saved: s.saved(ctx)}
	var err error
	if view.Has, err = s.Accounts.HasFactor(ctx, me.PersonID); err != nil {
		return err
	}
	if view.Has {
		if view.CodesLeft, err = s.Store.RecoveryCodesLeft(ctx, me.PersonID); err != nil {
			return err
		}
	} else {
		offer, err := s.Accounts.OfferFactor(ctx, me.PersonID, s.SignIns.GetString(ctx, keyGymName))
		if err != nil {
			return err
		}
		view.Secret = offer.Secret
		if view.Code, err = part.QR(offer.URI); err != nil {
			return err
		}
	}
	meta := s.meta(r, "Second factor")
	if problemWith == nil {
		return render(w, r, http.StatusOK, page.Factor(meta, view, nil))
	}
	return again(w, r, problemWith, func(messages map[string]string) templ.Component {
		meta.Error = true
		return page.Factor(meta, view, messages)
	})
}

// postFactor makes the second factor count and shows the codes for a lost phone.
func (s *Server) postFactor(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	me := who(ctx)
	codes, err := s.Accounts.ConfirmFactor(ctx, s.door(r), me, me.PersonID, r.PostFormValue("code"))
	if err != nil {
		return s.showFactor(w, r, err)
	}
	next := ownPath(s.SignIns.PopString(ctx, keyNext))
	s.SignIns.Remove(ctx, keyFactor)
	if err := s.SignIns.RenewToken(ctx); err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.RecoveryCodes(s.meta(r, "Codes for a lost phone"), codes, next))
}

func (s *Server) postFactorRemove(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	me := who(ctx)
	if err := s.Accounts.RemoveFactor(ctx, s.door(r), me, me.PersonID, r.PostFormValue("password")); err != nil {
		return s.showFactor(w, r, err)
	}
	s.say(r, "Your second factor is off. Set up a new one now.")
	return seeOther(w, r, "/account/second-factor")
}

func (s *Server) postFactorCodes(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	me := who(ctx)
	codes, err := s.Accounts.NewRecoveryCodes(ctx, s.door(r), me, me.PersonID, r.PostFormValue("password"))
	if err != nil {
		return s.showFactor(w, r, err)
	}
	return render(w, r, http.StatusOK, page.RecoveryCodes(s.meta(r, "Codes for a lost phone"), codes, "/account"))
}

// postFactorPostpone lets the whole gym wait with second factors.
func (s *Server) postFactorPostpone(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	me := who(ctx)
	if !may(me.Role, manageGym) {
		return problem.New(problem.Forbidden, "Only the owner of the gym may let it wait.")
	}
	if err := s.Accounts.PostponeFactors(ctx, me, true); err != nil {
		return err
	}
	next := ownPath(s.SignIns.PopString(ctx, keyNext))
	s.SignIns.Remove(ctx, keyFactor)
	return seeOther(w, r, next)
}
