package server

import (
	"encoding/json"
	"net/http"
	"time"

	"github.com/a-h/templ"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/receiving"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// setupFor starts from the newest result of the test asked for, "base" or "base
// 60"; where there is none, or no test is asked for, from the newest base test.
func setupFor(history []gym.Result, asked string) page.TestSetup {
	setup := page.TestSetup{Test: asked, Step: "bounce", CountedBy: "partner", Attempts: "5", Rest: "30"}
	protocol := setup.Protocol()
	base, like := usual(history, rate.Base), usual(history, protocol.Key)
	window := 0.0
	if len(protocol.Windows) > 0 {
		window = protocol.Windows[0]
	}
	if like == nil {
		like = base
	} else if like.Seconds != nil && protocol.Allows(*like.Seconds) {
		window = *like.Seconds
	}
	if like != nil {
		setup.Step, setup.RopeKind, setup.Surface, setup.CountedBy, setup.Task = like.Step, like.RopeKind, like.Surface, like.CountedBy, like.Task
	}
	if asked == "" || asked == protocol.Key {
		setup.Test = page.TestKey(protocol.Key, window)
	}
	if step := page.FixedStep(protocol); step != "" {
		setup.Step = step
	} else if setup.Step == "double" {
		setup.Step = "bounce"
	}
	return setup
}

// usual returns the newest of the results of a protocol that are like most of
// those of their day, nil without any: one athlete's own test is not the class's.
func usual(history []gym.Result, protocol string) *gym.Result {
	var day time.Time
	for _, r := range history {
		if r.Protocol == protocol && r.Day.After(day) {
			day = r.Day
		}
	}
	type kind struct{ seconds, step, rope string }
	kindOf := func(r *gym.Result) kind { return kind{decimal(r.Seconds), r.Step, r.RopeKind} }
	often := map[kind]int{}
	var best *gym.Result
	for i := range history {
		if r := &history[i]; r.Protocol == protocol && r.Day.Equal(day) {
			often[kindOf(r)]++
		}
	}
	for i := range history {
		r := &history[i]
		if r.Protocol != protocol || !r.Day.Equal(day) {
			continue
		}
		if best == nil || often[kindOf(r)] > often[kindOf(best)] || often[kindOf(r)] == often[kindOf(best)] && r.TakenAt.After(best.TakenAt) {
			best = r
		}
	}
	return best
}

// taskOptions lists what may be tried in a test of the given protocol, as the
// gates of the ladder in use name it.
func taskOptions(stages []gym.Stage, protocol string) []part.Option {
	var options []part.Option
	for _, kept := range stages {
		var stage ladder.Stage
		if json.Unmarshal(kept.Body, &stage) != nil {
			continue
		}
		for _, clause := range stage.Gate.Clauses {
			for _, m := range ladder.Measures() {
				if m.Key == clause.Measure && string(m.Protocol) == protocol && clause.Task != "" {
					options = append(options, part.Option{Value: clause.Task, Text: clause.TaskText})
				}
			}
		}
	}
	return options
}

// setTask chooses the first task where the one set up is not on the list.
func setTask(setup *page.TestSetup, tasks []part.Option) {
	for _, task := range tasks {
		if task.Value == setup.Task {
			return
		}
	}
	setup.Task = ""
	if len(tasks) > 0 {
		setup.Task = tasks[0].Value
	}
}

// stageTask returns the task that the gate of a stage asks for, "" if none.
func stageTask(stages []gym.Stage, stage, protocol string) string {
	for _, kept := range stages {
		if kept.Key != stage {
			continue
		}
		if tasks := taskOptions([]gym.Stage{kept}, protocol); len(tasks) > 0 {
			return tasks[0].Value
		}
	}
	return ""
}

// getNewTest asks a coach for one athlete's test.
func (s *Server) getNewTest(w http.ResponseWriter, r *http.Request) error {
	form, _, err := s.testForm(r)
	if err != nil {
		return err
	}
	form.Saved, form.SavedOf = s.heard(r.Context())
	return render(w, r, http.StatusOK, page.RecordTest(recordMeta(s.meta(r, "Record a test"), form), form, nil))
}

// testForm is the form for the test in the address, filled in like the last one.
func (s *Server) testForm(r *http.Request) (page.TestForm, gym.Gym, error) {
	id, err := idIn(r, "athlete")
	if err != nil {
		return page.TestForm{}, gym.Gym{}, err
	}
	var g gym.Gym
	var history []gym.Result
	var decisions []gym.StageDecision
	var stages []gym.Stage
	form := page.TestForm{ID: newID().String(), Coach: true, Action: "/athletes/" + id.String() + "/tests"}
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Athlete(id, &form.Athlete),
		store.ResultsOf(id, s.Now().Add(-measuring.Lookback), &history), store.DecisionsOf(id, &decisions), store.Stages(&stages))
	if err != nil {
		return form, g, err
	}
	form.Setup = setupFor(history, r.FormValue("test"))
	protocol := form.Setup.Protocol()
	form.Kinds = page.TestKinds("/athletes/"+id.String()+"/tests/new", protocol.Key)
	form.Tasks = taskOptions(stages, protocol.Key)
	number := 0
	if len(decisions) > 0 {
		if task := stageTask(stages, decisions[0].StageTo, protocol.Key); task != "" {
			form.Setup.Task = task
		}
		number = stageNumber(stages, decisions[0].StageTo)
	}
	setTask(&form.Setup, form.Tasks)
	if began := standing.SkillRope(standing.PlaceOf(decisions), history); began != "" {
		form.Setup.RopeHint = page.RopeHint(began)
	}
	form.Day = s.today(g).Format(time.DateOnly)
	form.Caution = page.TestCaution(protocol, number, form.Athlete.Under(g.AdultAge, s.today(g).Year()))
	return form, g, nil
}

func stageNumber(stages []gym.Stage, key string) int {
	for _, stage := range stages {
		if stage.Key == key {
			return stage.Number
		}
	}
	return 0
}

func (s *Server) postNewTest(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	form := page.TestForm{Coach: true}
	typeInto(&form, r)
	counting := measuring.Counting{Athlete: id, Protocol: form.Setup.Protocol().Key, Since: s.dayTyped(form.Day)}
	answer, err := s.Measuring.Count(r.Context(), who(r.Context()), counting, func(g gym.Gym, athlete gym.Athlete) (gym.Result, error) {
		form.Athlete = athlete
		result, err := s.resultFrom(r, &form, g)
		result.ResultID, result.AthleteID = parsed(form.ID), id
		return result, err
	})
	if err != nil {
		return s.testAgain(w, r, form.Athlete, err)
	}
	s.sayOf(r, savedWords(answer), parsed(form.ID))
	if r.PostFormValue("do") == "another" {
		return seeOther(w, r, "/athletes/"+form.Athlete.AthleteID.String()+"/tests/new?test="+form.Setup.Protocol().Key)
	}
	return seeOther(w, r, "/athletes/"+form.Athlete.AthleteID.String())
}

// dayTyped is the day in a form, in any time zone not later than it, or else
// today's.
func (s *Server) dayTyped(typed string) time.Time {
	day, err := time.Parse(time.DateOnly, typed)
	if err != nil {
		day = s.Now()
	}
	return day.AddDate(0, 0, -1)
}

// typeInto puts what was sent into the form.
func typeInto(form *page.TestForm, r *http.Request) {
	form.ID, form.Setup, form.Day, form.Note = idFrom(r, "id").String(), setupFrom(r), r.PostFormValue("day"), cut(r.PostFormValue("note"), 200)
	form.Typed = typedFrom(r, "")
}

// testAgain shows the form once more, with all that it offers; where the
// database is away, at least with what was typed.
func (s *Server) testAgain(w http.ResponseWriter, r *http.Request, athlete gym.Athlete, wrong error) error {
	return again(w, r, wrong, func(messages map[string]string) templ.Component {
		meta := s.meta(r, "Record a test")
		meta.Error = true
		form, _, err := s.testForm(r)
		if err != nil {
			form.Athlete = athlete
		}
		typeInto(&form, r)
		return page.RecordTest(recordMeta(meta, form), form, messages)
	})
}

func savedWords(answer measuring.Answer) string {
	if len(answer.Odd) > 0 {
		return "Saved. " + oddWords(answer.Odd[0])
	}
	return "Saved."
}

// resultFrom reads the form of one test.
func (s *Server) resultFrom(r *http.Request, form *page.TestForm, g gym.Gym) (gym.Result, error) {
	form.Typed = typedFrom(r, "")
	var result gym.Result
	messages := countInto(&result, form.Setup, form.Typed)
	now := s.Now()
	fillIn(&result, form.Setup, now, g)
	if form.Coach && form.Day != "" && form.Day != s.today(g).Format(time.DateOnly) {
		day, err := time.ParseInLocation(time.DateOnly, form.Day, g.Zone())
		if err != nil || day.After(now) {
			messages["day"] = "Choose a day that is not in the future."
		} else {
			result.TakenAt, result.Day = day.Add(12*time.Hour), g.DayOf(day.Add(12*time.Hour))
		}
	}
	if tapped := r.PostFormValue("taps"); tapped != "" && len(messages) == 0 {
		if err := tapsInto(&result, r); err != nil {
			return result, err
		}
	}
	result.Note = form.Note
	result.SeenByCoach = form.Coach && form.Setup.CountedBy == "coach" && who(r.Context()).Role != gym.Assistant
	return result, problem.Form(messages)
}

// tapsInto adds what was tapped on the coach's pad.
func tapsInto(result *gym.Result, r *http.Request) error {
	body := receiving.ResultBody{Seconds: result.Seconds}
	body.PerTap, _ = number(r.PostFormValue("per_tap")) // 0 for what is no number, which is refused
	for field, into := range map[string]*[]float64{"taps": &body.Taps, "catch_at": &body.CatchAt} {
		if err := json.Unmarshal([]byte(r.PostFormValue(field)), into); err != nil || len(*into) > mostTaps {
			return problem.Form(map[string]string{"rotations": "The taps did not arrive whole. Type the count instead."})
		}
	}
	result.Timing = string(rate.ByApp)
	return receiving.AddTaps(result, body)
}

// mostTaps bounds the taps of one test: ten a second for five minutes.
const mostTaps = 3000

// recordMeta brings in the pad where a test can be counted on it.
func recordMeta(meta part.Meta, form page.TestForm) part.Meta {
	if form.Tappable() {
		meta.Scripts = append(meta.Scripts, "js/tap-test.js")
	}
	return meta
}
