package server

import (
	"fmt"
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/privacy"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// child are a guardian's pages about one athlete.
func (s *Server) child(r chi.Router) {
	r.Get("/child", s.page(s.getChild))
	r.Post("/child/consent", s.page(s.postChildConsent))
	r.Get("/child/questions", s.page(s.getChildQuestions))
	r.Post("/child/questions", s.page(s.postChildQuestions))
	r.Post("/child/data", s.page(s.postChildData))
	r.Post("/child/forget", s.page(s.postChildForget))
	r.Post("/child/account", s.page(s.postChildAccount))
}

// getChild shows a guardian how the child is doing, and what is to be learned
// today: pain that holds the work, and incidents.
func (s *Server) getChild(w http.ResponseWriter, r *http.Request) error {
	return s.showChild(w, r, nil)
}

func (s *Server) showChild(w http.ResponseWriter, r *http.Request, wrong error) error {
	ctx := r.Context()
	me := who(ctx)
	news, err := s.Privacy.NewsFor(ctx, me, me.AthleteID)
	if err != nil {
		return err
	}
	view := page.ChildView{ID: newID().String(), Guardian: me.Name, Holds: news.Holds, Incidents: news.Incidents, Wordings: wordings(), Days: privacy.UndoDays,
		Joined: parsed(s.SignIns.GetString(ctx, keyAccount)) != uuid.Nil}
	m, err := s.readMine(r, store.ConsentsOf(me.AthleteID, &view.Consents))
	if err != nil {
		return err
	}
	today := s.today(m.gym)
	view.Athlete, view.Zone, view.Asked = m.athlete, m.gym.Zone(), m.gym.NeedsConsent(m.athlete, today.Year())
	view.Record = m.record(today)
	view.Record.Chart.Title = "Rates of " + m.athlete.Name
	for _, stage := range m.stages {
		if stage.Number == m.stage() {
			view.Stage = stage.Title
		}
	}
	kept, plan, found, err := m.next(today)
	if err != nil {
		return err
	}
	if found && !m.held() {
		view.PlanDay, view.Plan = kept.Day, page.PlanSentence(plan)
	}
	view.Saved = s.saved(ctx)
	if wrong == nil {
		return render(w, r, http.StatusOK, page.Child(s.meta(r, "Your child"), view, nil))
	}
	return again(w, r, wrong, func(messages map[string]string) templ.Component {
		return page.Child(s.metaAgain(r, "Your child"), view, messages)
	})
}

// guardianship returns the guardian who asks, as the gym knows her.
func (s *Server) guardianship(r *http.Request) (gym.Guardianship, error) {
	me := who(r.Context())
	var guardian gym.Guardianship
	err := s.Store.Read(r.Context(), me.GymID, store.Guardian(me.PersonID, &guardian))
	return guardian, err
}

// postChildConsent keeps what a guardian says on the own phone.
func (s *Server) postChildConsent(w http.ResponseWriter, r *http.Request) error {
	guardian, err := s.guardianship(r)
	if err != nil {
		return err
	}
	purposes := purposesFrom(r, "purpose")
	if len(purposes) == 0 {
		return s.showChild(w, r, problem.Form(map[string]string{"purpose": "Tick what you mean."}))
	}
	form := account.ConsentForm{ID: idFrom(r, "id"), Athlete: guardian.AthleteID, Purposes: purposes, Given: r.PostFormValue("do") == "give",
		ByName: guardian.Name, Guardian: guardian.GuardianID, How: "phone"}
	if err := s.Accounts.NoteConsents(r.Context(), who(r.Context()), form); err != nil {
		return s.showChild(w, r, err)
	}
	s.say(r, "What you said is kept, with today's date and the words above.")
	return seeOther(w, r, "/child")
}

func (s *Server) childQuestions(r *http.Request) (page.QuestionsForm, error) {
	form := page.QuestionsForm{ID: newID().String(), Action: "/child/questions"}
	me := who(r.Context())
	return form, s.Store.Read(r.Context(), me.GymID, store.Athlete(me.AthleteID, &form.Athlete))
}

func (s *Server) getChildQuestions(w http.ResponseWriter, r *http.Request) error {
	form, err := s.childQuestions(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Questions(s.meta(r, "Questions on health"), form, nil))
}

// postChildQuestions keeps what a guardian answered for the child.
func (s *Server) postChildQuestions(w http.ResponseWriter, r *http.Request) error {
	form, err := s.childQuestions(r)
	if err != nil {
		return err
	}
	return s.keepAnswers(w, r, form, "/child")
}

// keepAnswers keeps answers on health, whoever gives them.
func (s *Server) keepAnswers(w http.ResponseWriter, r *http.Request, form page.QuestionsForm, next string) error {
	form.ID, form.Yes, form.Note = idFrom(r, "id").String(), r.PostForm["yes"], r.PostFormValue("note")
	answer := gym.HealthAnswer{AnswerID: parsed(form.ID), AthleteID: form.Athlete.AthleteID, Yes: form.Yes, Note: form.Note}
	err := s.Privacy.Answer(r.Context(), who(r.Context()), answer)
	if problem.KindOf(err) == problem.Forbidden { // a consent is missing
		err = problem.New(problem.Evidence, "%s", problem.MessageOf(err))
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.Questions(s.metaAgain(r, "Questions on health"), form, messages)
		})
	}
	s.say(r, page.AnsweredWords(form.Yes))
	return seeOther(w, r, next)
}

// postChildData gives a guardian all that is kept of the child.
func (s *Server) postChildData(w http.ResponseWriter, r *http.Request) error {
	return s.sendData(w, r, who(r.Context()).AthleteID)
}

// sendData sends all that is kept of an athlete, and writes that into the log.
func (s *Server) sendData(w http.ResponseWriter, r *http.Request, athlete uuid.UUID) error {
	ctx := r.Context()
	var one gym.Athlete
	if err := s.Store.Read(ctx, who(ctx).GymID, store.Athlete(athlete, &one)); err != nil {
		return err
	}
	if err := s.Privacy.Took(ctx, who(ctx), athlete); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="athlete-data.zip"`)
	if err := s.Reporting.ExportAthlete(ctx, who(ctx).GymID, athlete, w); err != nil {
		// The file has begun: cut it off, so that nobody takes it for whole.
		s.Log.ErrorContext(ctx, "an athlete's data could not be sent whole", "error", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

// postChildForget asks that the child be forgotten. The owner sees it and can
// undo it for 30 days.
func (s *Server) postChildForget(w http.ResponseWriter, r *http.Request) error {
	me := who(r.Context())
	ask := privacy.Asking{ID: idFrom(r, "id"), Athlete: me.AthleteID, For: "guardian", Sure: r.PostFormValue("sure") == yes}
	if err := s.Privacy.Ask(r.Context(), me, ask); err != nil {
		return s.showChild(w, r, err)
	}
	if err := s.SignIns.Destroy(r.Context()); err != nil {
		return fmt.Errorf("ending a guardian's sign-in: %w", err)
	}
	return render(w, r, http.StatusOK, page.ChildForgotten(s.bare(r, "It is asked for"), privacy.UndoDays))
}

// postChildAccount joins a guardian to the account that she has as a coach of
// another gym, so that she can go from one to the other.
func (s *Server) postChildAccount(w http.ResponseWriter, r *http.Request) error {
	err := s.Accounts.JoinAccounts(r.Context(), s.door(r), who(r.Context()), r.PostFormValue("name"), r.PostFormValue("password"))
	if err != nil {
		if problem.FieldsOf(err) == nil && problem.KindOf(err) == problem.Invalid {
			err = problem.Form(map[string]string{"password": problem.MessageOf(err)})
		}
		return s.showChild(w, r, err)
	}
	s.say(r, "Joined. When you sign in with your account, you can choose this page too.")
	return seeOther(w, r, "/child")
}
