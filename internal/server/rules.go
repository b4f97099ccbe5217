package server

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getRules shows every number behind the plans.
func (s *Server) getRules(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.rulesView(r)
	if err != nil {
		return err
	}
	v.Saved = s.saved(r.Context())
	return render(w, r, http.StatusOK, page.Rules(s.wide(r, "Rules of this gym"), v, nil))
}

// rulesView reads the rules in force and how they came about.
func (s *Server) rulesView(r *http.Request) (page.RulesView, coaching.Rules, error) {
	var g gym.Gym
	var kept []gym.Rules
	var staff []store.Staff
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.AllRules(&kept), store.StaffOf(&staff))
	if err != nil {
		return page.RulesView{}, coaching.Rules{}, err
	}
	rules, err := coaching.RulesOf(kept)
	if err != nil {
		return page.RulesView{}, coaching.Rules{}, err
	}
	v := page.RulesView{ID: newID().String()}
	names := map[uuid.UUID]string{}
	for _, person := range staff {
		names[person.PersonID] = person.Name
	}
	for _, change := range kept {
		v.History = append(v.History, page.RulesLine{Day: part.Day(g.DayOf(change.SetAt)), Who: names[change.SetBy], Reason: change.Reason})
	}
	for _, c := range planner.Constants(rules.Plans) {
		if !c.Changeable {
			v.Fixed = append(v.Fixed, c)
		}
	}
	showRules(&v, rules)
	return v, rules, nil
}

// showRules fills in the fields.
func showRules(v *page.RulesView, rules coaching.Rules) {
	standard := coaching.StandardRules()
	usual := map[string]coaching.Number{}
	for _, n := range standard.Numbers() {
		usual[n.Key] = n
	}
	v.Building, v.Established, v.Other = nil, nil, nil
	v.Ceilings = make([]page.CeilingRow, len(rules.Ceilings))
	for i := range v.Ceilings {
		v.Ceilings[i].Ceiling = rules.Ceilings[i]
	}
	for _, n := range rules.Numbers() {
		f := page.RuleField{Key: n.Key, Value: shown(n.Key, n.Value()), Bounds: shown(n.Key, n.Low) + "–" + shown(n.Key, n.High), Source: n.Source}
		if u, ok := usual[n.Key]; ok {
			f.Standard = shown(n.Key, u.Value())
		}
		group, rest, _ := strings.Cut(n.Key, ".")
		switch group {
		case "building":
			v.Building = append(v.Building, f)
		case "established":
			v.Established = append(v.Established, f)
		case "ceiling":
			number, _, _ := strings.Cut(rest, ".")
			if i, err := strconv.Atoi(number); err == nil {
				v.Ceilings[i].Fields = append(v.Ceilings[i].Fields, f)
			}
		default:
			v.Other = append(v.Other, f)
		}
	}
}

// shown writes a number of the rules as people type it: shares in percent.
func shown(key string, value float64) string {
	if strings.HasSuffix(key, "_share") {
		value *= 100
	}
	return strconv.FormatFloat(value, 'g', 6, 64)
}

// typedRules reads the fields; a number that stays as shown stays to the last
// digit.
func typedRules(r *http.Request, rules *coaching.Rules) (values map[string]float64, messages map[string]string) {
	values, messages = map[string]float64{}, map[string]string{}
	for _, n := range rules.Numbers() {
		if _, sent := r.PostForm[n.Key]; !sent {
			continue
		}
		text := strings.Replace(trimmed(r.PostFormValue(n.Key)), ",", ".", 1)
		if text == shown(n.Key, n.Value()) {
			continue
		}
		value, err := strconv.ParseFloat(text, 64)
		if err != nil {
			messages[n.Key] = "Type a number, like 40."
			continue
		}
		if strings.HasSuffix(n.Key, "_share") {
			value /= 100
		}
		values[n.Key] = value
	}
	return values, messages
}

// postRules puts changed numbers into force.
func (s *Server) postRules(w http.ResponseWriter, r *http.Request) error {
	v, rules, err := s.rulesView(r)
	if err != nil {
		return err
	}
	v.ID, v.Reason = idFrom(r, "id").String(), cut(trimmed(r.PostFormValue("reason")), 200)
	changed, messages := coaching.StandardRules(), map[string]string{}
	if r.PostFormValue("do") != "standard" {
		var values map[string]float64
		values, messages = typedRules(r, &rules)
		var wrong map[string]string
		changed, wrong = rules.Change(values)
		for key, message := range wrong {
			messages[key] = message
		}
		keepTyped(r, &v)
	}
	if err = problem.Form(messages); err == nil {
		err = s.Coaching.SetRules(r.Context(), who(r.Context()), parsed(v.ID), changed, v.Reason)
	}
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, "Rules of this gym")
			meta.Error = true
			return page.Rules(meta, v, messages)
		})
	}
	s.say(r, "Saved. Plans made from now on follow these numbers.")
	return seeOther(w, r, "/rules")
}

// keepTyped shows what was typed, right or not.
func keepTyped(r *http.Request, v *page.RulesView) {
	keep := func(fields []page.RuleField) {
		for i := range fields {
			if _, sent := r.PostForm[fields[i].Key]; sent {
				fields[i].Value = trimmed(r.PostFormValue(fields[i].Key))
			}
		}
	}
	keep(v.Building)
	keep(v.Established)
	keep(v.Other)
	for i := range v.Ceilings {
		keep(v.Ceilings[i].Fields)
	}
}
