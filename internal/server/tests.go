package server

import (
	"fmt"
	"net/http"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// sheet is what the sheet of a class's test is made from.
type sheet struct {
	gym     gym.Gym
	view    page.ClassTest
	history []gym.Result

	decisions []gym.StageDecision
}

func (s *Server) readSheet(r *http.Request) (sheet, error) {
	id, err := idIn(r, "class")
	if err != nil {
		return sheet{}, err
	}
	var sh sheet
	var athletes []gym.Athlete
	var stages []gym.Stage
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&sh.gym), store.Class(id, &sh.view.Class),
		store.AthletesOf(id, &athletes), store.Stages(&stages), store.Decisions(store.InClass(id), &sh.decisions), store.ResultsOfClass(id, s.Now().Add(-measuring.Lookback), &sh.history))
	if err != nil {
		return sheet{}, err
	}
	byAthlete := groupResults(sh.history)
	sh.view.Setup = setupFor(sh.history, r.FormValue("test"))
	protocol := sh.view.Setup.Protocol()
	sh.view.Kinds = page.TestKinds("/classes/"+id.String()+"/tests", protocol.Key)
	sh.view.Tasks = taskOptions(stages, protocol.Key)
	setTask(&sh.view.Setup, sh.view.Tasks)
	for _, athlete := range athletes {
		sh.view.Rows = append(sh.view.Rows, page.TestRow{ID: newID().String(), Athlete: athlete, Last: lastOf(byAthlete[athlete.AthleteID])})
	}
	return sh, nil
}

func lastOf(results []gym.Result) string {
	for _, r := range results {
		if known, err := level.RateOf(r); err == nil && r.Protocol == rate.Base {
			return part.Whole(known.RPM) + " rpm"
		}
	}
	return ""
}

func (s *Server) getClassTest(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.readSheet(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.RecordClassTest(s.wide(r, "Record a test"), sh.view, nil))
}

// postClassTest keeps every row that can be kept; a row that cannot stays as
// typed with a sentence beside it.
func (s *Server) postClassTest(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.readSheet(r)
	if err != nil {
		return err
	}
	sh.view.Setup = setupFrom(r)
	var results []gym.Result
	var rows []int
	for i := range sh.view.Rows {
		row := &sh.view.Rows[i]
		typed, result := rowFrom(r, row, sh.view.Setup)
		if !typed || row.Error != "" {
			continue
		}
		fillIn(&result, sh.view.Setup, s.Now(), sh.gym)
		result.AthleteID = row.Athlete.AthleteID
		result.SeenByCoach = sh.view.Setup.CountedBy == "coach" && who(r.Context()).Role != gym.Assistant
		results, rows = append(results, result), append(rows, i)
	}
	answers, err := s.Measuring.RecordAll(r.Context(), who(r.Context()), results, sh.history)
	if err != nil && problem.KindOf(err) != problem.Unavailable {
		return err
	}
	if err != nil { // what was typed stays on the page
		meta := s.wide(r, "Record a test")
		meta.Error = true
		return render(w, r, statusOf(problem.KindOf(err)), page.RecordClassTest(meta, sh.view, page.Messages{"": problem.MessageOf(err)}))
	}
	for i, answer := range answers {
		showAnswer(&sh.view.Rows[rows[i]], answer)
	}
	sh.hintRopes()
	return s.showSheet(w, r, sh.view)
}

// hintRopes says of whom the test was on another rope than the stage was begun on.
func (sh *sheet) hintRopes() {
	begun := begunOn(groupResults(sh.history), sh.decisions)
	for i := range sh.view.Rows {
		row := &sh.view.Rows[i]
		began := begun[row.Athlete.AthleteID]
		if row.Saved && row.Odd == "" && began != "" && sh.view.Setup.RopeKind != "" && began != sh.view.Setup.RopeKind {
			row.Odd = page.RopeHint(began)
		}
	}
}

// begunOn returns the kind of rope on which each one's stage was begun.
func begunOn(results map[uuid.UUID][]gym.Result, decisions []gym.StageDecision) map[uuid.UUID]string {
	byAthlete := map[uuid.UUID][]gym.StageDecision{}
	for _, d := range decisions {
		byAthlete[d.AthleteID] = append(byAthlete[d.AthleteID], d)
	}
	begun := map[uuid.UUID]string{}
	for id, made := range byAthlete {
		begun[id] = standing.SkillRope(standing.PlaceOf(made), results[id])
	}
	return begun
}

func (s *Server) showSheet(w http.ResponseWriter, r *http.Request, v page.ClassTest) error {
	messages := page.Messages{}
	for _, row := range v.Rows {
		if row.Saved {
			v.Done++
		}
		if row.Error != "" {
			field := row.Field
			if field == "" {
				field = page.FirstColumn(v.Setup.Protocol())
			}
			messages[field+"-"+row.Athlete.AthleteID.String()] = row.Athlete.Name + ": " + row.Error
		}
	}
	meta, status := s.wide(r, "Record a test"), http.StatusOK
	if len(messages) > 0 {
		meta.Error, status = true, http.StatusUnprocessableEntity
	}
	return render(w, r, status, page.RecordClassTest(meta, v, messages))
}

// rowFrom reads one row of the sheet; typed is false for an empty one. What
// cannot be read becomes the row's message.
func rowFrom(r *http.Request, row *page.TestRow, setup page.TestSetup) (typed bool, result gym.Result) {
	key := "-" + row.Athlete.AthleteID.String()
	row.Typed = typedFrom(r, key)
	if id, err := uuid.Parse(r.PostFormValue("id" + key)); err == nil {
		row.ID = id.String() // sent twice, kept once
	}
	if row.Typed.Empty() {
		return false, result
	}
	result.ResultID = parsed(row.ID)
	showMessages(row, countInto(&result, setup, row.Typed))
	return true, result
}

// showMessages puts the first message of a row beside its field.
func showMessages(row *page.TestRow, messages map[string]string) {
	for _, field := range []string{"rotations", "bouts", "flight", "successes", "catches", "lost", "restart"} {
		if row.Error == "" && messages[field] != "" {
			row.Error, row.Field = messages[field], field
		}
	}
	for _, field := range []string{"seconds", "attempts", "rest", "task", "step", "rope", "surface", "counted_by", "protocol"} {
		if row.Error == "" {
			row.Error = messages[field]
		}
	}
}

func showAnswer(row *page.TestRow, answer measuring.Answer) {
	if answer.Problem != nil {
		showMessages(row, problem.FieldsOf(answer.Problem))
		if row.Error == "" {
			row.Error = problem.MessageOf(answer.Problem)
		}
		return
	}
	row.Saved = true
	if len(answer.Odd) > 0 {
		row.Odd = oddWords(answer.Odd[0])
	}
}

func oddWords(q rate.Question) string {
	switch q.Code {
	case measuring.Recount:
		return "Check: the closest two counts are more than 3 apart. Count again."
	case rate.AboveBest:
		return fmt.Sprintf("Check: %.0f rpm? The best known is about %.0f.", q.RPM, q.Against)
	default:
		return fmt.Sprintf("Check: %.0f rpm? Lately about %.0f.", q.RPM, q.Against)
	}
}
