package server

import (
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/account"
	"ropewalk.example/web/page"
)

// doors are the ways in besides the sign-in page: the second factor, the choice
// of a gym, an invitation, a one-time code.
func (s *Server) doors(r chi.Router) {
	r.Get("/sign-in/code", s.page(s.getCode))
	r.Post("/sign-in/code", s.page(s.postCode))
	r.Get("/gyms", s.page(s.getGyms))
	r.Post("/gyms", s.page(s.postGyms))
	r.Get("/invited", s.page(s.getInvited))
	r.Post("/invited", s.page(s.postInvited))
	r.Post("/invited/accept", s.page(s.postAccept))
	r.Get("/recover", s.page(s.getRecover))
	r.Post("/recover", s.page(s.postRecover))
}

// codeScript puts a code that stands behind # in the address into the form: what
// stands there is sent to no server and kept in no log.
const codeScript = "js/code.js"

func (s *Server) getInvited(w http.ResponseWriter, r *http.Request) error {
	meta := s.bare(r, "You are invited")
	meta.Scripts = append(meta.Scripts, codeScript)
	return render(w, r, http.StatusOK, page.InvitedCode(meta, "", nil))
}

// postInvited shows what a code opens. It changes nothing.
func (s *Server) postInvited(w http.ResponseWriter, r *http.Request) error {
	code := r.PostFormValue("code")
	invited, err := s.Accounts.WhatInvitation(r.Context(), s.door(r), code)
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "You are invited")
			meta.Error = true
			return page.InvitedCode(meta, code, messages)
		})
	}
	return render(w, r, http.StatusOK, page.Accept(s.bare(r, "You are invited"), page.AcceptForm{Code: account.FoldCode(code),
		GymName: invited.Gym.Name, Role: invited.Invitation.Role, Name: invited.Invitation.Name}, nil))
}

// postAccept makes the account, or takes the one that the person has, and leads
// in.
func (s *Server) postAccept(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	form := page.AcceptForm{Code: r.PostFormValue("code"), Name: r.PostFormValue("name"), SignInName: r.PostFormValue("sign_in"), Mine: r.PostFormValue("mine") == yes}
	me, err := s.Accounts.AcceptInvitation(ctx, s.door(r), account.Accept{Code: form.Code, Name: form.Name, SignInName: form.SignInName,
		Password: r.PostFormValue("password"), Mine: form.Mine})
	if err != nil {
		if invited, whatErr := s.Accounts.WhatInvitation(ctx, s.door(r), form.Code); whatErr == nil {
			form.GymName, form.Role = invited.Gym.Name, invited.Invitation.Role
		}
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "You are invited")
			meta.Error = true
			if form.GymName == "" {
				return page.InvitedCode(meta, form.Code, messages)
			}
			return page.Accept(meta, form, messages)
		})
	}
	person, err := s.Store.Person(ctx, me.PersonID)
	if err != nil {
		return err
	}
	return s.admit(w, r, person, "/")
}

func (s *Server) getRecover(w http.ResponseWriter, r *http.Request) error {
	meta := s.bare(r, "A new password")
	meta.Scripts = append(meta.Scripts, codeScript)
	return render(w, r, http.StatusOK, page.Recover(meta, page.RecoverForm{}, nil))
}

// postRecover gives a new password for an owner's one-time code. It signs
// nobody in.
func (s *Server) postRecover(w http.ResponseWriter, r *http.Request) error {
	form := page.RecoverForm{SignInName: r.PostFormValue("name"), Code: r.PostFormValue("code")}
	err := s.Accounts.ReturnByCode(r.Context(), s.door(r), account.ComeBack{SignInName: form.SignInName, Code: form.Code, Password: r.PostFormValue("password")})
	if err != nil {
		s.Log.WarnContext(r.Context(), "a one-time code did not open an account", "address", s.addressBehind(r))
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "A new password")
			meta.Error = true
			return page.Recover(meta, form, messages)
		})
	}
	return render(w, r, http.StatusOK, page.Recovered(s.bare(r, "A new password")))
}
