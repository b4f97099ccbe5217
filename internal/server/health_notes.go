package server

import (
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// healthNotes are the pages about what hurts, which few may see. Each look is
// written into the log.
func (s *Server) healthNotes(r chi.Router) {
	r.Get("/athletes/{athlete}/health", s.page(s.getHealth))
	r.Get("/athletes/{athlete}/health/questions", s.page(s.getQuestions))
	r.Post("/athletes/{athlete}/health/questions", s.page(s.postQuestions))
	r.Post("/athletes/{athlete}/health/talk", s.page(s.postTalk))
	r.Post("/athletes/{athlete}/health/told", s.page(s.postTold))
}

func (s *Server) getHealth(w http.ResponseWriter, r *http.Request) error {
	return s.showHealth(w, r, nil)
}

func (s *Server) showHealth(w http.ResponseWriter, r *http.Request, wrong error) error {
	ctx := r.Context()
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	h, err := s.Privacy.Look(ctx, who(ctx), athlete)
	if err != nil {
		return err
	}
	var g gym.Gym
	var staff []store.Staff
	if err := s.Store.Read(ctx, who(ctx).GymID, store.TheGym(&g), store.StaffOf(&staff)); err != nil {
		return err
	}
	view := page.HealthView{Athlete: h.Athlete, Answers: h.Answers, Talks: h.Talks, Debriefs: h.Debriefs, Holds: h.Holds, Incidents: h.Incidents,
		Told: h.Told, Guardians: h.Guardians, Names: namesOf(staff), Zone: g.Zone(), Minor: h.Athlete.Under(g.AdultAge, g.DayOf(s.Now()).Year()),
		Held: coaching.CareOf(h.Debriefs, h.Holds).State == progress.Held, TalkID: newID().String(), Saved: s.saved(ctx)}
	if wrong == nil {
		return render(w, r, http.StatusOK, page.Health(s.meta(r, "Health notes"), view, nil))
	}
	return again(w, r, wrong, func(messages map[string]string) templ.Component {
		return page.Health(s.metaAgain(r, "Health notes"), view, messages)
	})
}

func (s *Server) getQuestions(w http.ResponseWriter, r *http.Request) error {
	form, err := s.questionsForm(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Questions(s.meta(r, "Questions on health"), form, nil))
}

func (s *Server) questionsForm(r *http.Request) (page.QuestionsForm, error) {
	form := page.QuestionsForm{ID: newID().String()}
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return form, err
	}
	form.Action = "/athletes/" + athlete.String() + "/health/questions"
	return form, s.Store.Read(r.Context(), who(r.Context()).GymID, store.Athlete(athlete, &form.Athlete))
}

// postQuestions keeps what an athlete or a guardian answered when a coach asked.
func (s *Server) postQuestions(w http.ResponseWriter, r *http.Request) error {
	form, err := s.questionsForm(r)
	if err != nil {
		return err
	}
	return s.keepAnswers(w, r, form, "/athletes/"+form.Athlete.AthleteID.String()+"/health")
}

// postTalk keeps that a coach talked about the answers.
func (s *Server) postTalk(w http.ResponseWriter, r *http.Request) error {
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	talk := gym.HealthTalk{TalkID: idFrom(r, "id"), AthleteID: athlete, Note: r.PostFormValue("talk")}
	if err := s.Privacy.Talk(r.Context(), who(r.Context()), talk); err != nil {
		return s.showHealth(w, r, err)
	}
	s.say(r, "The talk is noted.")
	return seeOther(w, r, "/athletes/"+athlete.String()+"/health")
}

// postTold keeps that a coach told a guardian of a hold or an incident.
func (s *Server) postTold(w http.ResponseWriter, r *http.Request) error {
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	about := parsed(r.PostFormValue("about_id"))
	told := gym.Told{ToldID: idFrom(r, "id"), AthleteID: athlete, About: r.PostFormValue("about"), AboutID: about, How: "spoken"}
	if err := s.Privacy.Tell(r.Context(), who(r.Context()), told); err != nil {
		return err
	}
	s.say(r, "Noted: a guardian knows.")
	return seeOther(w, r, "/athletes/"+athlete.String()+"/health")
}
