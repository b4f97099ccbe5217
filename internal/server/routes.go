package server

import (
	"net/http"
	"runtime/debug"

	"github.com/go-chi/chi/v5"

	"ropewalk.example/internal/problem"
)

// Routes returns the whole site. Each line reads: method, path, handler; each
// group says who may enter.
func (s *Server) Routes() http.Handler {
	s.SignIns.ErrorFunc = s.answerError
	r := chi.NewRouter()
	r.Use(s.observe, s.recoverer, s.guard, s.inLanguage)
	r.Get("/healthz", Healthz)
	r.Get("/readyz", s.Readyz)
	r.Get("/time", s.page(s.getTime))
	r.Get("/static/*", static())
	r.Head("/static/*", static())
	r.NotFound(s.page(func(http.ResponseWriter, *http.Request) error {
		return problem.New(problem.NotFound, "There is nothing at this address. Check it, or start from the first page.")
	}))

	r.Group(func(r chi.Router) { // uploads, which need more room
		r.Use(cutOff(maxUpload), onlyForms(), s.ownForms, s.SignIns.LoadAndSave, s.hear, s.identify, s.needs(manageClasses))
		r.Post("/classes/{class}/import", s.page(s.postImport))
		r.Post("/classes/{class}/import/confirm", s.page(s.postImportConfirm))
	})

	r.Group(func(r chi.Router) { // a whole gym, brought into an empty install
		r.Use(cutOff(maxExport), onlyForms(), s.ownForms, s.SignIns.LoadAndSave, s.hear, s.identify)
		r.Post("/setup/gym", s.page(s.postBringIn))
	})

	r.Group(func(r chi.Router) { // programs, by token
		r.Use(bounded(maxForm))
		s.api(r)
		s.feeds(r)
	})

	r.Group(func(r chi.Router) {
		r.Use(bounded(maxForm), onlyForms(), s.inTurn, s.ownForms, s.SignIns.LoadAndSave, s.hear, s.identify)
		s.everyone(r)
		s.byLink(r)
		s.doors(r)
		r.Group(func(r chi.Router) {
			r.Use(s.needs(ownAccount))
			s.account(r)
		})
		r.Group(func(r chi.Router) {
			r.Use(s.needs(manageGym))
			s.people(r)
			s.privacy(r)
			s.terms(r)
			s.allLinks(r)
			s.audit(r)
			s.data(r)
		})
		r.Group(func(r chi.Router) {
			r.Use(s.needs(seeHealth))
			s.healthNotes(r)
		})
		s.phone(r)
		s.cardDoor(r)
		r.Group(func(r chi.Router) {
			r.Use(s.needs(enterResults))
			s.results(r)
			s.hours(r)
			s.calendars(r)
			s.sheets(r)
			s.boards(r)
			s.afterwards(r)
			s.prints(r)
			s.stages(r)
		})
		r.Group(func(r chi.Router) {
			r.Use(s.needs(manageClasses))
			s.consents(r)
			s.mending(r)
			r.Get("/classes/new", s.page(s.getNewClass))
			r.Post("/classes", s.page(s.postClass))
			r.Get("/classes/{class}/import", s.page(s.getImport))
			r.Get("/roster-example.csv", s.page(s.getRosterExample))
			r.Get("/classes/{class}/cards", s.page(s.getCards))
			r.Post("/classes/{class}/cards", s.page(s.postCards))
			s.phones(r)
		})
		r.Group(func(r chi.Router) {
			r.Use(s.needs(planAndDecide))
			s.deciding(r)
			s.reports(r)
			s.hourPlans(r)
			s.meetings(r)
			s.calendarLinks(r)
			s.screens(r)
			s.incidents(r)
			r.Get("/classes/{class}/plans", s.page(s.getPlans))
			r.Post("/classes/{class}/plans", s.page(s.postPlans))
			s.planning(r)
		})
		r.Group(func(r chi.Router) {
			r.Use(s.needs(childPage))
			s.child(r)
			s.ownCalendar(r, "/child")
			s.family(r, "/child")
		})
		r.Group(func(r chi.Router) {
			r.Use(s.needs(ownPage))
			s.me(r)
			s.myHour(r)
			s.ownCalendar(r, "/me")
			s.myStage(r)
			s.family(r, "/me")
		})
	})
	return r
}

// everyone are the pages for whoever comes, signed in or not.
func (s *Server) everyone(r chi.Router) {
	r.Get("/", s.page(s.getFirst))
	r.Get("/sign-in", s.page(s.getSignIn))
	r.Post("/sign-in", s.page(s.postSignIn))
	r.Post("/sign-out", s.page(s.postSignOut))
	r.Get("/join", s.page(s.getJoin))
	r.Post("/join", s.page(s.postJoin))
	r.Get("/setup", s.page(s.getSetup))
	r.Post("/setup", s.page(s.postSetup))
	r.Get("/setup/gym", s.page(s.getBringIn))
	r.Post("/theme", s.page(s.postTheme))
	r.Post("/language", s.page(s.postLanguage))
	r.Get("/help", s.page(s.getHelp))
	r.Get("/trust", s.page(s.getTrust))
	r.Get("/trust/root.crt", s.page(s.getRoot))
}

// results are the pages of whoever may enter results: all staff.
func (s *Server) results(r chi.Router) {
	r.Get("/today", s.page(s.getToday))
	r.Get("/classes", s.page(s.getClasses))
	r.Get("/classes/{class}", s.page(s.kept(s.getClass)))
	r.Get("/classes/{class}/odd", s.page(s.getOdd))
	r.Get("/athletes", s.page(s.kept(s.getAthletes)))
	r.Get("/athletes/{athlete}", s.page(s.kept(s.getAthlete)))
	r.Get("/athletes/{athlete}/results", s.page(s.getAthleteResults))
	r.Get("/athletes/{athlete}/debrief", s.page(s.getDebrief))
	r.Post("/athletes/{athlete}/debrief", s.page(s.postDebrief))
	r.Get("/athletes/{athlete}/tests/new", s.page(s.getNewTest))
	r.Post("/athletes/{athlete}/tests", s.page(s.postNewTest))
	r.Get("/results/{result}/correct", s.page(s.getCorrect))
	r.Post("/results/{result}/correct", s.page(s.postCorrect))
}

// recoverer answers a panic like any fault of ours, and lets the server live.
func (s *Server) recoverer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			fault := recover()
			if fault == nil {
				return
			}
			if fault == http.ErrAbortHandler {
				panic(fault)
			}
			s.Log.ErrorContext(r.Context(), "panic", "route", routeOf(r.Context()), "fault", fault, "stack", string(debug.Stack()))
			http.Error(w, "Something went wrong on our side. Try again in a minute. Reference "+referenceOf(r.Context())+".", http.StatusInternalServerError)
		}()
		next.ServeHTTP(w, r)
	})
}
