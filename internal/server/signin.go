package server

import (
	"net/http"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getFirst sends everybody to where their work begins.
func (s *Server) getFirst(w http.ResponseWriter, r *http.Request) error {
	switch me := who(r.Context()); {
	case me.Role == gym.Jumper:
		return seeOther(w, r, "/me")
	case me.Role == gym.Guardian:
		return seeOther(w, r, "/child")
	case me.Role.Staff():
		return seeOther(w, r, "/today")
	}
	empty, err := s.Store.Empty(r.Context())
	if err != nil {
		return err
	}
	if empty {
		return seeOther(w, r, "/setup")
	}
	return seeOther(w, r, "/sign-in")
}

func (s *Server) getSignIn(w http.ResponseWriter, r *http.Request) error {
	form := page.SignInForm{Next: r.URL.Query().Get("next"), Demo: s.Demo}
	return render(w, r, http.StatusOK, page.SignIn(s.bare(r, "Sign in"), form, nil))
}

// postSignIn looks at name and password; what comes after them, admit asks.
func (s *Server) postSignIn(w http.ResponseWriter, r *http.Request) error {
	form := page.SignInForm{Name: r.PostFormValue("name"), Next: r.PostFormValue("next"), Demo: s.Demo}
	person, _, err := s.Accounts.SignIn(r.Context(), s.door(r), form.Name, r.PostFormValue("password"))
	s.Metrics.SignIn(err == nil)
	if err != nil {
		s.Log.WarnContext(r.Context(), "a sign-in was refused", "address", s.addressBehind(r), "problem", problem.MessageOf(err))
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "Sign in")
			meta.Error = true
			return page.SignIn(meta, form, messages)
		})
	}
	return s.admit(w, r, person, form.Next)
}

// postSignOut ends this sign-in and forgets what the browser kept of it.
func (s *Server) postSignOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.SignIns.Destroy(r.Context()); err != nil {
		return err
	}
	forget := `"cache"`
	if r.PostFormValue("clear") != "" { // nothing waits on this phone
		forget = `"cache", "storage"`
	}
	w.Header().Set("Clear-Site-Data", forget)
	return seeOther(w, r, "/sign-in")
}

// getJoin asks an athlete for the class code and then for name and PIN.
func (s *Server) getJoin(w http.ResponseWriter, r *http.Request) error {
	code := r.URL.Query().Get("code")
	if trimmed(code) == "" {
		return render(w, r, http.StatusOK, page.JoinClass(s.bare(r, "Go in"), page.JoinForm{}, nil))
	}
	gymID, classID, err := s.Accounts.EnterClass(r.Context(), s.door(r), code)
	if problem.KindOf(err) == problem.Invalid {
		meta := s.bare(r, "Go in")
		meta.Error = true
		return render(w, r, http.StatusUnprocessableEntity,
			page.JoinClass(meta, page.JoinForm{Code: code}, page.Messages{"code": problem.MessageOf(err)}))
	}
	if err != nil {
		return err
	}
	form, err := s.joinForm(r, code, gymID, classID)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.JoinName(s.bare(r, "Who are you?"), form, nil))
}

// missingAtTheDoor returns what an athlete has not chosen or typed.
func missingAtTheDoor(r *http.Request) error {
	missing := map[string]string{}
	if trimmed(r.PostFormValue("athlete")) == "" {
		missing["athlete"] = "Choose your name."
	}
	if trimmed(r.PostFormValue("pin")) == "" {
		missing["pin"] = "Type your PIN. It has 4 digits and is on your card."
	}
	return problem.Form(missing)
}

// postJoin signs an athlete in.
func (s *Server) postJoin(w http.ResponseWriter, r *http.Request) error {
	code := r.PostFormValue("code")
	gymID, classID, err := s.Accounts.EnterClass(r.Context(), s.door(r), code)
	if err != nil {
		return err
	}
	if missing := missingAtTheDoor(r); missing != nil {
		form, err := s.joinForm(r, code, gymID, classID)
		if err != nil {
			return err
		}
		form.Athlete = r.PostFormValue("athlete")
		return again(w, r, missing, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "Who are you?")
			meta.Error = true
			return page.JoinName(meta, form, messages)
		})
	}
	athlete, err := s.Accounts.SignInAthlete(r.Context(), s.door(r), gymID, classID, parsed(r.PostFormValue("athlete")), r.PostFormValue("pin"))
	s.Metrics.SignIn(err == nil)
	if err != nil {
		s.Log.WarnContext(r.Context(), "an athlete's sign-in was refused", "gym", gymID, "address", s.addressBehind(r), "problem", problem.MessageOf(err))
		form, formErr := s.joinForm(r, code, gymID, classID)
		if formErr != nil {
			return formErr
		}
		form.Athlete = r.PostFormValue("athlete")
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.bare(r, "Who are you?")
			meta.Error = true
			return page.JoinName(meta, form, page.Messages{"pin": messages[""]})
		})
	}
	shared := r.PostFormValue("shared") != ""
	me, err := s.Accounts.LetIn(r.Context(), gymID, athlete, browserOf(r), shared)
	if err != nil {
		return err
	}
	if err := s.enter(r.Context(), me); err != nil {
		return err
	}
	if shared {
		s.SignIns.SetDeadline(r.Context(), s.realNow().Add(sharedSignIn))
	} else {
		s.rememberPhone(w, me)
	}
	s.SignIns.Put(r.Context(), keyClass, classID.String())
	return seeOther(w, r, "/me")
}

func (s *Server) joinForm(r *http.Request, code string, gymID, classID uuid.UUID) (page.JoinForm, error) {
	var class gym.Class
	var athletes []gym.Athlete
	if err := s.Store.Read(r.Context(), gymID, store.Class(classID, &class), store.AthletesOf(classID, &athletes)); err != nil {
		return page.JoinForm{}, err
	}
	form := page.JoinForm{Code: account.FoldCode(code), ClassName: class.Name, Athletes: []part.Option{{Value: "", Text: "Choose your name"}}}
	for _, athlete := range athletes {
		form.Athletes = append(form.Athletes, part.Option{Value: athlete.AthleteID.String(), Text: athlete.Name})
	}
	return form, nil
}

// bare is the meta of a page outside every gym.
func (s *Server) bare(r *http.Request, title string) part.Meta {
	meta := s.meta(r, title)
	meta.Nav, meta.Demo, meta.GymName, meta.Who = nil, len(s.Demo) > 0, "", ""
	return meta
}
