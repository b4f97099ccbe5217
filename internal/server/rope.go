package server

import (
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

func (s *Server) getNewRope(w http.ResponseWriter, r *http.Request) error {
	return render(w, r, http.StatusOK, page.NewRope(s.meta(r, "Add a rope"), page.RopeForm{ID: newID().String(), Kind: "beaded"}, nil))
}

func (s *Server) postNewRope(w http.ResponseWriter, r *http.Request) error {
	form, rope, messages := ropeFrom(r)
	form.ID = idFrom(r, "id").String()
	rope.RopeID = parsed(form.ID)
	err := problem.Form(messages)
	if err == nil {
		err = s.Deciding.AddRope(r.Context(), who(r.Context()), rope)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			return page.NewRope(s.metaAgain(r, "Add a rope"), form, messages)
		})
	}
	s.say(r, "Rope "+rope.Label+" hangs in the rack.")
	return seeOther(w, r, "/ropes")
}

// ropeFrom reads the form of a rope.
func ropeFrom(r *http.Request) (page.RopeForm, gym.Rope, map[string]string) {
	form := page.RopeForm{Label: trimmed(r.PostFormValue("label")), Kind: r.PostFormValue("kind"), Length: trimmed(r.PostFormValue("length")),
		Handle: r.PostFormValue("handle"), Note: r.PostFormValue("note")}
	rope := gym.Rope{Label: form.Label, Kind: form.Kind, Handle: form.Handle, Note: form.Note}
	messages := map[string]string{}
	if form.Length != "" {
		metres, err := strconv.ParseFloat(strings.Replace(form.Length, ",", ".", 1), 64)
		if err != nil {
			messages["length"] = "The length must be a number of metres, like 2.6."
		}
		rope.LengthM = metres
	}
	return form, rope, messages
}

// getRope shows one rope.
func (s *Server) getRope(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ropeView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Rope(s.meta(r, "Rope "+v.Rope.Label), v, nil))
}

func (s *Server) ropeView(r *http.Request) (page.RopeView, error) {
	id, err := idIn(r, "rope")
	if err != nil {
		return page.RopeView{}, err
	}
	me := who(r.Context())
	v := page.RopeView{MayDecide: may(me.Role, planAndDecide), CheckID: newID().String(), Loan: page.LoanForm{ID: newID().String()},
		Saved: s.saved(r.Context())}
	var loans []gym.RopeLoan
	var checks []gym.RopeCheck
	var people []gym.Person
	rack, err := s.Deciding.Rack(r.Context(), me, store.Rope(id, &v.Rope), store.Athletes(&v.Athletes), store.RopeLoansOf(id, &loans),
		store.RopeChecksOf(id, &checks), store.PeopleEver(&people))
	if err != nil {
		return v, err
	}
	known, err := words()
	if err != nil {
		return v, err
	}
	v.User = athleteIn(v.Athletes, v.Rope.AthleteID)
	v.Due = rack.Due(v.Rope)
	v.Check = checkText(rack, v.Rope, v.Due)
	length := ""
	if v.Rope.LengthM > 0 {
		length = strconv.FormatFloat(v.Rope.LengthM, 'f', -1, 64)
	}
	v.Form = page.RopeForm{Label: v.Rope.Label, Kind: v.Rope.Kind, Length: length, Handle: v.Rope.Handle, Note: v.Rope.Note}
	for _, c := range checks {
		text := "sound"
		if !c.Sound {
			text = "not sound"
		}
		v.Checks = append(v.Checks, strings.TrimSuffix(part.Day(c.Day)+": "+text+", "+nameOf(people, c.CheckedBy)+". "+c.Note, " "))
	}
	for _, l := range loans {
		v.Loans = append(v.Loans, loanLine(l, v.Athletes, people, known))
	}
	return v, nil
}

func loanLine(l gym.RopeLoan, athletes []gym.Athlete, people []gym.Person, known ladder.Words) page.LoanLine {
	name := "somebody"
	if a := athleteIn(athletes, l.AthleteID); a != nil {
		name = a.Name
	}
	if !l.Lent {
		return page.LoanLine{Day: part.Day(l.Day), Text: "Back from " + name + "."}
	}
	line := page.LoanLine{Day: part.Day(l.Day), Text: "Lent to " + name + " by " + nameOf(people, l.LentBy) + "."}
	var decision ladder.Decision
	if json.Unmarshal(l.Decision, &decision) != nil {
		return line
	}
	for _, reason := range decision.Reasons {
		line.Rules = append(line.Rules, known.Reason(reason))
	}
	if decision.OverriddenBy != "" {
		line.Rules = append(line.Rules, decision.OverriddenBy+" took it over: “"+decision.Why+"”")
	}
	return line
}

func (s *Server) postRope(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ropeView(r)
	if err != nil {
		return err
	}
	form, rope, messages := ropeFrom(r)
	v.Form, rope.RopeID = form, v.Rope.RopeID
	if err = problem.Form(messages); err == nil {
		err = s.Deciding.ChangeRope(r.Context(), who(r.Context()), rope)
	}
	if err != nil {
		return s.ropeAgain(w, r, v, err)
	}
	s.say(r, "Changed.")
	return seeOther(w, r, "/ropes/"+v.Rope.RopeID.String())
}

func (s *Server) ropeAgain(w http.ResponseWriter, r *http.Request, v page.RopeView, err error) error {
	return again(w, r, err, func(messages map[string]string) templ.Component {
		return page.Rope(s.metaAgain(r, "Rope "+v.Rope.Label), v, messages)
	})
}

// postLend gives the rope to an athlete; what the rules refuse is said on the
// page, with the way for a coach to take it over.
func (s *Server) postLend(w http.ResponseWriter, r *http.Request) error {
	v, err := s.ropeView(r)
	if err != nil {
		return err
	}
	v.Loan = page.LoanForm{ID: idFrom(r, "id").String(), Athlete: r.PostFormValue("athlete"), Why: r.PostFormValue("why")}
	athlete := athleteIn(v.Athletes, parsed(v.Loan.Athlete))
	if athlete == nil {
		return s.ropeAgain(w, r, v, problem.Form(map[string]string{"athlete": "Choose who gets the rope."}))
	}
	decision, err := s.Deciding.Lend(r.Context(), who(r.Context()), deciding.Loan{ID: parsed(v.Loan.ID), Rope: v.Rope.RopeID, Athlete: athlete.AthleteID, Why: v.Loan.Why})
	known, wordsErr := words()
	if wordsErr != nil {
		return wordsErr
	}
	var said []string
	for _, reason := range decision.Reasons {
		said = append(said, known.Reason(reason))
	}
	if err != nil {
		v.Reasons, v.Override = said, decision.Overridable()
		return s.ropeAgain(w, r, v, err)
	}
	s.say(r, strings.Join(append([]string{"Lent to " + athlete.Name + "."}, said...), " "))
	return seeOther(w, r, "/ropes/"+v.Rope.RopeID.String())
}

func (s *Server) postReturn(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "rope")
	if err != nil {
		return err
	}
	if err := s.Deciding.Return(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "Back in the rack.")
	return seeOther(w, r, "/ropes/"+id.String())
}

func (s *Server) postRopeCheck(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "rope")
	if err != nil {
		return err
	}
	sound := r.PostFormValue("sound") == "yes"
	if err := s.Deciding.CheckRope(r.Context(), who(r.Context()), idFrom(r, "id"), id, sound, cut(r.PostFormValue("note"), 200)); err != nil {
		return err
	}
	said := "Logged. The rope may be used."
	if !sound {
		said = "Logged. Nobody gets this rope before somebody finds it sound."
	}
	s.say(r, said)
	if back := r.PostFormValue("back"); back == "/ropes" {
		return seeOther(w, r, back)
	}
	return seeOther(w, r, "/ropes/"+id.String())
}

func (s *Server) postRetireRope(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "rope")
	if err != nil {
		return err
	}
	if err := s.Deciding.RetireRope(r.Context(), who(r.Context()), id); err != nil {
		return err
	}
	s.say(r, "Retired. Its results stay.")
	return seeOther(w, r, "/ropes")
}
