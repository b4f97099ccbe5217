package server

import (
	"net/http"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
	"github.com/google/uuid"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// ropes are the pages of the rack, for all staff.
func (s *Server) ropes(r chi.Router) {
	r.Get("/ropes", s.page(s.getRopes))
	r.Get("/ropes/new", s.page(s.getNewRope))
	r.Post("/ropes", s.page(s.postNewRope))
	r.Get("/ropes/{rope}", s.page(s.getRope))
	r.Post("/ropes/{rope}", s.page(s.postRope))
	r.Post("/ropes/{rope}/lend", s.page(s.postLend))
	r.Post("/ropes/{rope}/return", s.page(s.postReturn))
	r.Post("/ropes/{rope}/check", s.page(s.postRopeCheck))
	r.Post("/ropes/{rope}/retire", s.page(s.postRetireRope))
}

// ropeRules are where a coach says who may use what.
func (s *Server) ropeRules(r chi.Router) {
	r.Post("/ropes/steel", s.page(s.postSteel))
	r.Post("/classes/{class}/ropes", s.page(s.postClassRopes))
}

// getRopes shows the rack and which ropes need a look.
func (s *Server) getRopes(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ropesView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Ropes(s.wide(r, "Ropes"), v, nil))
}

func (s *Server) ropesView(r *http.Request) (page.RopesView, error) {
	me := who(r.Context())
	v := page.RopesView{MayDecide: may(me.Role, planAndDecide), Saved: s.saved(r.Context())}
	var classes []gym.Class
	var kinds []gym.ClassRopeKind
	var approvals []gym.SteelApproval
	rack, err := s.Deciding.Rack(r.Context(), me, store.Athletes(&v.Athletes), store.Classes(&classes), store.ClassRopeKinds(&kinds),
		store.SteelApprovals(store.Everybody(), &approvals))
	if err != nil {
		return v, err
	}
	known, err := words()
	if err != nil {
		return v, err
	}
	v.Caution = known.RopeCautions[ladder.Steel]
	for _, rope := range rack.Ropes {
		line := page.RopeLine{Rope: rope, User: athleteIn(v.Athletes, rope.AthleteID), Due: rack.Due(rope), ID: newID().String()}
		line.Check = checkText(rack, rope, line.Due)
		v.Ropes = append(v.Ropes, line)
		if line.Due {
			v.Due = append(v.Due, line)
		}
	}
	for _, class := range classes {
		line := page.ClassRopes{Class: class}
		for _, k := range kinds {
			if k.ClassID == class.ClassID {
				line.Kinds = append(line.Kinds, k.Kind)
			}
		}
		line.Text = page.RopeKindsText(line.Kinds)
		v.Classes = append(v.Classes, line)
	}
	for _, a := range approvals {
		if athlete := athleteIn(v.Athletes, a.AthleteID); athlete != nil {
			text := "may use steel since "
			if !a.Approved {
				text = "may no longer use steel since "
			}
			v.Steel = append(v.Steel, page.SteelLine{Athlete: *athlete, Allowed: a.Approved, Text: text + part.Day(a.Day) + ": “" + a.Reason + "”"})
		}
	}
	return v, nil
}

func athleteIn(athletes []gym.Athlete, id uuid.UUID) *gym.Athlete {
	for i := range athletes {
		if athletes[i].AthleteID == id {
			return &athletes[i]
		}
	}
	return nil
}

// checkText says when a rope was looked at, or what is due.
func checkText(rack deciding.Rack, rope gym.Rope, due bool) string {
	check, ok := rack.Check(rope.RopeID)
	switch {
	case ok && !check.Sound:
		return "Not sound, " + part.Day(check.Day)
	case due && !ok:
		return "Never looked at"
	case due:
		return "Weekly look due, last " + part.Day(check.Day)
	case ok:
		return "Sound, " + part.Day(check.Day)
	}
	return "No weekly look needed"
}

// postSteel keeps a coach's word on somebody and steel.
func (s *Server) postSteel(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ropesView(r)
	if err != nil {
		return err
	}
	v.Approval = page.SteelForm{Athlete: r.PostFormValue("athlete"), Reason: r.PostFormValue("reason")}
	err = s.Deciding.ApproveSteel(r.Context(), who(r.Context()), parsed(v.Approval.Athlete), r.PostFormValue("do") == "approve", v.Approval.Reason)
	if problem.KindOf(err) == problem.NotFound {
		err = problem.Form(map[string]string{"athlete": "Choose who is meant."})
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, "Ropes")
			meta.Error = true
			return page.Ropes(meta, v, messages)
		})
	}
	s.say(r, "Kept.")
	return seeOther(w, r, "/ropes")
}

// postClassRopes keeps which kinds of rope a class uses.
func (s *Server) postClassRopes(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "class")
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return problem.Wrap(err, problem.Invalid, "The form could not be read. Try once more.")
	}
	if err := s.Deciding.SetClassKinds(r.Context(), who(r.Context()), id, r.PostForm["kind"]); err != nil {
		return err
	}
	s.say(r, "Kept.")
	return seeOther(w, r, "/ropes")
}
