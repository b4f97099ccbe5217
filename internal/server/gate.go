package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// getGate shows the evidence for an athlete's next stage.
func (s *Server) getGate(w http.ResponseWriter, r *http.Request) error {
	v, err := s.gateView(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.Gate(s.wide(r, v.Athlete.Name), v, nil))
}

// postGate keeps a coach's decision.
func (s *Server) postGate(w http.ResponseWriter, r *http.Request) error {
	v, err := s.gateView(r)
	if err != nil {
		return err
	}
	v.Form.ID, v.Form.From, v.Form.To, v.Form.Reason, v.Form.Open = idFrom(r, "id").String(), r.PostFormValue("from"), r.PostFormValue("to"), r.PostFormValue("reason"), true
	made, err := s.Deciding.Decide(r.Context(), who(r.Context()), deciding.Decision{ID: parsed(v.Form.ID), Athlete: v.Athlete.AthleteID,
		From: v.Form.From, To: v.Form.To, Reason: v.Form.Reason})
	if err != nil {
		return again(w, r, err, func(messages map[string]string) templ.Component {
			meta := s.wide(r, v.Athlete.Name)
			meta.Error = true
			return page.Gate(meta, v, messages)
		})
	}
	s.say(r, "Kept: "+v.Athlete.Name+" "+page.DecisionSentence(made, v.Ladder)+". You can take it back below.")
	return seeOther(w, r, "/athletes/"+v.Athlete.AthleteID.String()+"/gate")
}

// postTakeBack undoes the newest decision on somebody.
func (s *Server) postTakeBack(w http.ResponseWriter, r *http.Request) error {
	id, err := idIn(r, "decision")
	if err != nil {
		return err
	}
	undone, err := s.Deciding.TakeBack(r.Context(), who(r.Context()), id)
	if err != nil {
		return err
	}
	s.say(r, "Taken back. Both stay in the history.")
	return seeOther(w, r, "/athletes/"+undone.AthleteID.String()+"/gate")
}

// postLook keeps what a coach saw of a task, or takes the last look back.
func (s *Server) postLook(w http.ResponseWriter, r *http.Request) error {
	athlete, err := idIn(r, "athlete")
	if err != nil {
		return err
	}
	me, said := who(r.Context()), "Kept."
	var there gym.Athlete
	if err := s.Store.Read(r.Context(), me.GymID, store.Athlete(athlete, &there)); err != nil {
		return err
	}
	if back := parsed(r.PostFormValue("back")); back != uuid.Nil {
		err, said = s.Deciding.TakeBackLook(r.Context(), me, athlete, back), "Taken back."
	} else {
		err = s.Deciding.Judge(r.Context(), me, deciding.Look{ID: idFrom(r, "id"), Athlete: athlete, Stage: r.PostFormValue("stage"),
			Task: r.PostFormValue("task"), Good: r.PostFormValue("do") == "good"})
	}
	if err != nil {
		return err
	}
	s.say(r, said)
	return seeOther(w, r, "/athletes/"+athlete.String()+"/gate")
}

// gateView reads everything about an athlete's gate in one round trip.
func (s *Server) gateView(r *http.Request) (page.GateView, error) {
	id, err := idIn(r, "athlete")
	if err != nil {
		return page.GateView{}, err
	}
	me := who(r.Context())
	var people []gym.Person
	var notes []gym.CatchNote
	var set []gym.Assignment
	var decisions []gym.StageDecision
	ground, a, err := s.Deciding.LoadOne(r.Context(), me, id, store.PeopleEver(&people), store.DecisionsOf(id, &decisions),
		store.CatchNotes(store.Only(id), s.Now().AddDate(0, 0, -deciding.DiaryDays), &notes),
		store.Assignments(store.Only(id), s.Now().AddDate(0, 0, -deciding.SetDays), &set))
	if err != nil {
		return page.GateView{}, err
	}
	known, err := words()
	if err != nil {
		return page.GateView{}, err
	}
	v := page.GateView{Athlete: a.Athlete, Ladder: ground.Ladder, MayDecide: may(me.Role, planAndDecide), Saved: s.saved(r.Context())}
	v.Form = page.DecisionForm{ID: newID().String(), LookID: newID().String(), From: a.Place.Stage, To: a.Place.Stage}
	v.Work = workLines(deciding.WorkOf(set, a.Results, ground.Today), ground.Ladder, ground.Today, known)
	v.Cue, v.CueReason = known.Suggestion(deciding.Suggest(notes, ground.Today))
	v.History = decisionLines(decisions, a.Place, ground, people, known)
	stage, placed := ground.Stage(a)
	if !placed {
		return v, nil
	}
	v.Stage, v.Days = stage, int(ground.Today.Sub(a.Place.Since).Hours()/24)
	_, v.Next = beside(ground.Ladder, stage.Key)
	verdict, _ := ground.Verdict(a, stage.Key)
	v.State = verdict.State
	v.Clauses = clauseLines(ground, a, stage, known, people)
	return v, nil
}

// clauseLines puts each clause of a gate beside what speaks for it.
func clauseLines(g deciding.Ground, a deciding.Athlete, stage ladder.Stage, known ladder.Words, people []gym.Person) []page.ClauseLine {
	verdict, _ := g.Verdict(a, stage.Key)
	odds := map[string]deciding.Odds{}
	for _, o := range g.Odds(a, stage) {
		odds[o.Clause] = o
	}
	var lines []page.ClauseLine
	for i, row := range verdict.Clauses {
		if i >= len(stage.Gate.Clauses) { // the last row: a coach has seen one
			lines = append(lines, page.ClauseLine{State: row.State, Asks: known.Seen(), Missing: known.Missing(ladder.Clause{}, row)})
			continue
		}
		clause := stage.Gate.Clauses[i]
		clause.Threshold.Value, clause.Threshold.Under = clause.Threshold.For(a.Known.Age), nil // the bar for this athlete
		line := page.ClauseLine{State: row.State, Asks: known.Clause(clause), Weeks: known.Weeks(clause),
			Missing: known.Missing(clause, row), Evidence: evidenceLines(a, row.Results, people)}
		if line.Missing == line.Asks {
			line.Missing = "None yet."
		}
		if clause.Measure == ladder.CoachJudges {
			line.Task, line.Look = clause.Task, newestLook(a, clause.Task)
		} else {
			line.Test, line.Tried = testURL(a.AthleteID, clause), page.TriedWords(clause, row.Missing)
		}
		if o, ok := odds[clause.Key]; ok {
			line.Chance, line.Basis = oddsWords(o)
		}
		lines = append(lines, line)
	}
	return lines
}

// testURL leads to where a result for the clause is recorded.
func testURL(athlete uuid.UUID, clause ladder.Clause) templ.SafeURL {
	for _, m := range ladder.Measures() {
		if m.Key != clause.Measure {
			continue
		}
		test := string(m.Protocol)
		if clause.Seconds > 0 {
			test = page.TestKey(test, float64(clause.Seconds))
		}
		return templ.SafeURL("/athletes/" + athlete.String() + "/tests/new?test=" + strings.ReplaceAll(test, " ", "+"))
	}
	return ""
}

// newestLook returns the id of the newest look at a task that nobody took back.
func newestLook(a deciding.Athlete, task string) string {
	for _, j := range a.Judged {
		gone := slices.ContainsFunc(a.Judged, func(later gym.Judgement) bool { return later.TakesBack == j.JudgementID })
		if j.Task == task && j.TakesBack == uuid.Nil && !gone {
			return j.JudgementID.String()
		}
	}
	return ""
}

// evidenceLines writes the results and looks with the given ids.
func evidenceLines(a deciding.Athlete, ids []string, people []gym.Person) []page.EvidenceLine {
	var lines []page.EvidenceLine
	for _, id := range ids {
		for _, r := range a.Results {
			if r.ResultID.String() == id {
				lines = append(lines, page.EvidenceLine{Day: part.Day(r.Day), What: page.ResultSentence(r, wholeRPM(r)), How: page.ResultHow(r)})
			}
		}
		for _, j := range a.Judged {
			if j.JudgementID.String() == id {
				lines = append(lines, page.EvidenceLine{Day: part.Day(j.Day), What: "Seen by " + nameOf(people, j.JudgedBy) + ": good."})
			}
		}
	}
	return lines
}

// wholeRPM returns the whole-test rate of a timed result, 0 for any other.
func wholeRPM(r gym.Result) float64 {
	if r.Protocol == rate.CleanRun || r.Protocol == rate.DoublesRun {
		return 0
	}
	return standing.OfResult(r).RPM
}

func nameOf(people []gym.Person, id uuid.UUID) string {
	for _, p := range people {
		if p.PersonID == id {
			return p.Name
		}
	}
	return "a coach"
}

// oddsWords says a chance and what it rests on.
func oddsWords(odds deciding.Odds) (chance, basis string) {
	switch {
	case !odds.Known:
		return "not known.", "It takes some counted reps or tries of this kind first."
	case odds.Basis.Tries > 0:
		basis = fmt.Sprintf("From %s in 12 weeks.", part.Count(odds.Basis.Tries, "try", "tries"))
	default:
		basis = fmt.Sprintf("From %s and %s in 12 weeks.", part.Count(odds.Basis.Reps, "clean rep", "clean reps"), part.Count(odds.Basis.Catches, "catch", "catches"))
	}
	return page.Chance(odds.Chance), basis
}

// decisionLines writes the history, newest first. Only the newest decision that
// holds can be taken back.
func decisionLines(decisions []gym.StageDecision, place standing.Place, g deciding.Ground, people []gym.Person, known ladder.Words) []page.DecisionLine {
	gone := map[uuid.UUID]bool{}
	for _, d := range decisions {
		gone[d.TakesBack] = d.TakesBack != uuid.Nil
	}
	var lines []page.DecisionLine
	for _, d := range decisions {
		line := page.DecisionLine{Day: d.DecidedOn.Format("Mon 2 Jan 2006"), What: page.DecisionWords(d, g.Ladder), Reason: d.Reason, Gone: gone[d.DecisionID],
			By: nameOf(people, d.DecidedBy) + ", " + part.Clock(d.DecidedAt.In(g.Gym.Zone())), Evidence: keptEvidence(d, g.Ladder, known)}
		if d.DecisionID == place.Decision {
			line.TakeBack = d.DecisionID.String()
		}
		lines = append(lines, line)
	}
	return lines
}

// keptEvidence says how the gate stood when a decision was made.
func keptEvidence(d gym.StageDecision, l ladder.Ladder, known ladder.Words) []string {
	var rows []ladder.ClauseVerdict
	stage, ok := l.Stage(d.StageFrom)
	if !ok || json.Unmarshal(d.Evidence, &rows) != nil {
		return nil
	}
	var said []string
	for _, row := range rows {
		said = append(said, known.States[row.State]+": "+clauseSentence(stage.Gate, row.Clause, known))
	}
	return said
}

// workLines writes what is set for an athlete; what was done a week ago is left
// out.
func workLines(work []deciding.Work, l ladder.Ladder, today time.Time, known ladder.Words) []page.WorkLine {
	var lines []page.WorkLine
	for _, w := range work {
		line := page.WorkLine{ID: w.AssignmentID.String(), What: page.WorkWords(w.Assignment, l, known), Note: w.Note, Day: "Set " + part.Day(w.Day) + "."}
		if !w.Done.IsZero() {
			if today.Sub(w.Done) > 7*24*time.Hour {
				continue
			}
			line.Done = "Done " + part.Day(w.Done)
		}
		lines = append(lines, line)
	}
	return lines
}
