package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// sheet is what the sheet of a class's test is made from.
type sheet struct {
	gym     gym.Gym
	view    page.ClassTest
	history []gym.Result
}

func (s *Server) readSheet(r *http.Request) (sheet, error) {
	id, err := idIn(r, "class")
	if err != nil {
		return sheet{}, err
	}
	var sh sheet
	var athletes []gym.Athlete
	err = s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&sh.gym), store.Class(id, &sh.view.Class),
		store.AthletesOf(id, &athletes), store.ResultsOfClass(id, s.Now().Add(-measuring.Lookback), &sh.history))
	if err != nil {
		return sheet{}, err
	}
	byAthlete := groupResults(sh.history)
	sh.view.Setup = setupLike(sh.history)
	for _, athlete := range athletes {
		sh.view.Rows = append(sh.view.Rows, page.TestRow{ID: newID().String(), Athlete: athlete, Last: lastOf(byAthlete[athlete.AthleteID])})
	}
	return sh, nil
}

// setupLike starts from the newest test, since a class repeats itself.
func setupLike(history []gym.Result) page.TestSetup {
	setup := page.TestSetup{Test: page.TestKey(rate.Base, 60), Step: "bounce", CountedBy: "partner"}
	var newest time.Time
	for _, r := range history {
		if r.Protocol == rate.Base && r.Seconds != nil && r.TakenAt.After(newest) {
			newest = r.TakenAt
			setup = page.TestSetup{Test: page.TestKey(r.Protocol, *r.Seconds), Step: r.Step, RopeKind: r.RopeKind, Surface: r.Surface, CountedBy: r.CountedBy}
		}
	}
	return setup
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
		typed, result := rowFrom(r, row)
		if !typed {
			continue
		}
		if row.Error != "" {
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
	return s.showSheet(w, r, sh.view)
}

func (s *Server) showSheet(w http.ResponseWriter, r *http.Request, v page.ClassTest) error {
	messages := page.Messages{}
	for _, row := range v.Rows {
		if row.Saved {
			v.Typed++
		}
		if row.Error != "" {
			messages["rotations-"+row.Athlete.AthleteID.String()] = row.Athlete.Name + ": " + row.Error
		}
	}
	meta, status := s.wide(r, "Record a test"), http.StatusOK
	if len(messages) > 0 {
		meta.Error, status = true, http.StatusUnprocessableEntity
	}
	return render(w, r, status, page.RecordClassTest(meta, v, messages))
}

// rowFrom reads one row of the sheet; typed is false for an empty one. Text
// that is no whole number becomes the row's message.
func rowFrom(r *http.Request, row *page.TestRow) (typed bool, result gym.Result) {
	key := row.Athlete.AthleteID.String()
	row.Rotations, row.Catches, row.Lost = trimmed(r.PostFormValue("rotations-"+key)), trimmed(r.PostFormValue("catches-"+key)), trimmed(r.PostFormValue("lost-"+key))
	if id, err := uuid.Parse(r.PostFormValue("id-" + key)); err == nil {
		row.ID = id.String() // sent twice, kept once
	}
	if row.Rotations == "" && row.Catches == "" && row.Lost == "" {
		return false, result
	}
	result.ResultID = parsed(row.ID)
	messages := countsFrom(&result, row.Rotations, row.Catches, row.Lost)
	for _, field := range []string{"rotations", "catches", "lost"} {
		if row.Error == "" {
			row.Error = messages[field]
		}
	}
	return true, result
}

// countsFrom reads what was counted into result, and returns a message per
// field that is no number.
func countsFrom(result *gym.Result, rotations, catches, lost string) map[string]string {
	messages := map[string]string{}
	if n, ok := number(rotations); ok && n >= 0 && n <= measuring.MostRotations {
		result.Rotations = &n
	} else {
		messages["rotations"] = fmt.Sprintf("Rotations must be a whole number from 0 to %d, like 87.", measuring.MostRotations)
		if rotations != "" {
			messages["rotations"] += fmt.Sprintf(" You typed “%s”.", cut(rotations, 12))
		}
	}
	if catches != "" {
		n, ok := number(catches)
		if !ok || n < 0 || n > 99 {
			messages["catches"] = "Catches must be a whole number from 0 to 99."
		}
		result.Catches = n
	}
	if lost != "" {
		seconds, err := strconv.ParseFloat(strings.Replace(lost, ",", ".", 1), 64)
		if err != nil || !(seconds >= 0 && seconds < 1000) {
			messages["lost"] = "The seconds lost must be a number, like 2.5."
		} else {
			result.LostSeconds = &seconds
		}
	}
	return messages
}

func cut(text string, runes int) string {
	for i := range text {
		if runes == 0 {
			return text[:i] + "…"
		}
		runes--
	}
	return text
}

func showAnswer(row *page.TestRow, answer measuring.Answer) {
	if answer.Problem != nil {
		row.Error = problem.MessageOf(answer.Problem)
		for _, message := range problem.FieldsOf(answer.Problem) {
			row.Error = message
		}
		return
	}
	row.Saved = true
	if len(answer.Odd) > 0 {
		row.Odd = oddWords(answer.Odd[0])
	}
}

func oddWords(q rate.Question) string {
	if q.Code == rate.AboveBest {
		return fmt.Sprintf("Check: %.0f rpm? The best known is about %.0f.", q.RPM, q.Against)
	}
	return fmt.Sprintf("Check: %.0f rpm? Lately about %.0f.", q.RPM, q.Against)
}

func setupFrom(r *http.Request) page.TestSetup {
	return page.TestSetup{Test: r.PostFormValue("test"), Step: r.PostFormValue("step"), RopeKind: r.PostFormValue("rope"),
		Surface: r.PostFormValue("surface"), CountedBy: r.PostFormValue("counted_by")}
}

// fillIn gives a result what its setup says and when it was taken: now.
func fillIn(result *gym.Result, setup page.TestSetup, now time.Time, g gym.Gym) {
	protocol, window, _ := strings.Cut(setup.Test, " ")
	result.Protocol = protocol
	if seconds, err := strconv.ParseFloat(window, 64); err == nil {
		result.Seconds = &seconds
	}
	result.Step, result.RopeKind, result.Surface, result.CountedBy = setup.Step, setup.RopeKind, setup.Surface, setup.CountedBy
	result.Timing = string(rate.ByHand)
	result.TakenAt, result.Day = now, g.DayOf(now)
}

// getOdd lists the kept results of a class that need a look.
func (s *Server) getOdd(w http.ResponseWriter, r *http.Request) error {
	sh, err := s.readSheet(r)
	if err != nil {
		return err
	}
	byAthlete := groupResults(sh.history)
	var lines []page.OddLine
	for _, row := range sh.view.Rows {
		results := byAthlete[row.Athlete.AthleteID]
		for i, result := range results {
			if result.KeptOdd && result.Rotations != nil && result.Seconds != nil {
				text := fmt.Sprintf("%d in %g s is %.0f rpm.", *result.Rotations, *result.Seconds, 60*float64(*result.Rotations) / *result.Seconds)
				if last := lastOf(results[i+1:]); last != "" {
					text += " The time before: " + last + "."
				}
				lines = append(lines, page.OddLine{Athlete: row.Athlete, Result: result, Text: text})
			}
		}
	}
	return render(w, r, http.StatusOK, page.Odd(s.meta(r, "Check odd results"), sh.view.Class, lines))
}

// postCorrect changes, keeps or takes out a result. The old one stays in the
// history.
func (s *Server) postCorrect(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "result")
	if err != nil {
		return err
	}
	me := who(r.Context())
	var old gym.Result
	if err := s.Store.Read(r.Context(), me.GymID, store.Result(id, &old)); err != nil {
		return err
	}
	fixed := old
	fixed.ResultID, fixed.Corrects = newID(), old.ResultID
	said := "Changed. The old count stays in the history."
	switch r.PostFormValue("do") {
	case "void":
		fixed.Void, said = true, "Taken out. It stays in the history."
	case "keep":
		fixed.KeptOdd, said = false, "Kept as it is."
		if err := s.Measuring.Keep(r.Context(), me, fixed); err != nil {
			return err
		}
		s.say(r, said)
		return seeOther(w, r, "/athletes/"+old.AthleteID.String())
	default:
		if messages := countsFrom(&fixed, trimmed(r.PostFormValue("rotations")), "", ""); messages["rotations"] != "" {
			return problem.New(problem.Invalid, "%s Go back and type the right count.", messages["rotations"])
		}
		fixed.RPMFromTaps, fixed.StandardErrorRPM = nil, nil
	}
	answer, err := s.Measuring.Correct(r.Context(), me, fixed)
	if err != nil {
		if fields := problem.FieldsOf(err); fields != nil {
			return problem.New(problem.Invalid, "%s Go back and type the right count.", fields["rotations"])
		}
		return err
	}
	if len(answer.Odd) > 0 {
		said = oddWords(answer.Odd[0])
	}
	s.say(r, said)
	return seeOther(w, r, "/athletes/"+old.AthleteID.String())
}
