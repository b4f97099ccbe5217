package server

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

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
					text += " Before that: " + last + "."
				}
				lines = append(lines, page.OddLine{Athlete: row.Athlete, Result: result, Text: text})
			}
		}
	}
	return render(w, r, http.StatusOK, page.Odd(s.meta(r, "Check odd results"), sh.view.Class, lines, s.saved(r.Context())))
}

// correction is a result with the form to change it.
type correction struct {
	gym  gym.Gym
	old  gym.Result
	form page.TestForm
}

func (s *Server) readCorrection(r *http.Request) (correction, error) {
	id, err := idIn(r, "result")
	if err != nil {
		return correction{}, err
	}
	me := who(r.Context())
	var c correction
	var stages []gym.Stage
	if err := s.Store.Read(r.Context(), me.GymID, store.TheGym(&c.gym), store.Result(id, &c.old),
		store.AthleteOfResult(id, &c.form.Athlete), store.Stages(&stages)); err != nil {
		return correction{}, err
	}
	c.form.ID, c.form.Action = newID().String(), "/results/"+id.String()+"/correct"
	c.form.Heading, c.form.Coach, c.form.Fixes = "Change a result", true, true
	c.form.Setup, c.form.Typed = typedBack(c.old)
	c.form.Tasks = taskOptions(stages, c.old.Protocol)
	c.form.Day, c.form.Note = c.old.Day.Format(time.DateOnly), c.old.Note
	return c, nil
}

// typedBack writes a result as somebody would type it.
func typedBack(r gym.Result) (page.TestSetup, page.Typed) {
	window := 0.0
	if r.Seconds != nil {
		window = *r.Seconds
	}
	setup := page.TestSetup{Test: page.TestKey(r.Protocol, window), Step: r.Step, RopeKind: r.RopeKind, Surface: r.Surface, CountedBy: r.CountedBy,
		Task: r.Task, Attempts: whole(r.Attempts), Rest: decimal(r.RestSeconds), OneFoot: r.OneFoot}
	typed := page.Typed{Rotations: whole(r.Rotations), Lost: decimal(r.LostSeconds), Restart: decimal(r.LongestRestartSeconds),
		Flight: decimal(r.FlightSeconds), Successes: whole(r.Successes), Ended: page.EndedCaught}
	if r.Catches > 0 {
		typed.Catches = strconv.Itoa(r.Catches)
	}
	if r.StoppedClean {
		typed.Ended = page.EndedClean
	}
	if r.OneFoot && r.Rotations != nil {
		typed.Rotations = strconv.Itoa(*r.Rotations / 2)
	}
	for i, n := range r.Counts {
		if i == 0 {
			typed.Rotations = strconv.Itoa(int(n))
			continue
		}
		typed.More = append(typed.More, strconv.Itoa(int(n)))
	}
	bouts := make([]string, len(r.Bouts))
	for i, n := range r.Bouts {
		bouts[i] = strconv.Itoa(int(n))
	}
	typed.Bouts = strings.Join(bouts, " ")
	return setup, typed
}

func whole(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

func decimal(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', -1, 64)
}

// getCorrect shows a result as it was typed, to change it or take it out.
func (s *Server) getCorrect(w http.ResponseWriter, r *http.Request) error {
	c, err := s.readCorrection(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.CorrectTest(s.meta(r, "Change a result"), c.form, c.old.KeptOdd, nil))
}

// postCorrect changes, keeps or takes out a result. The old one stays in the
// history. The list of odd results sends the rotations alone, a result's own
// page the whole form.
func (s *Server) postCorrect(w http.ResponseWriter, r *http.Request) error {
	c, err := s.readCorrection(r)
	if err != nil {
		return err
	}
	back := "/athletes/" + c.old.AthleteID.String()
	if class, err := uuid.Parse(r.PostFormValue("odd_of")); err == nil {
		back = "/classes/" + class.String() + "/odd"
	}
	fixed := c.old
	fixed.ResultID, fixed.Corrects = idFrom(r, "id"), c.old.ResultID
	said := "Changed. The old count stays in the history."
	switch {
	case r.PostFormValue("do") == "keep":
		if err := s.Measuring.Keep(r.Context(), who(r.Context()), fixed); err != nil {
			return err
		}
		s.say(r, "Kept as it is.")
		return seeOther(w, r, back)
	case r.PostFormValue("do") == "void":
		fixed.Void, said = true, "Taken out. It stays in the history."
	default:
		whole := r.PostFormValue("test") != ""
		fixed, err = s.fixedFrom(r, &c, whole)
		if err != nil {
			return s.correctAgain(w, r, err, c, whole)
		}
	}
	answer, err := s.Measuring.Correct(r.Context(), who(r.Context()), fixed)
	if err != nil {
		return s.correctAgain(w, r, err, c, r.PostFormValue("test") != "")
	}
	if len(answer.Odd) > 0 && !fixed.Void {
		said = oddWords(answer.Odd[0])
	}
	s.say(r, said)
	return seeOther(w, r, back)
}

// fixedFrom reads what a result is changed to: all of it, or the count alone.
func (s *Server) fixedFrom(r *http.Request, c *correction, whole bool) (gym.Result, error) {
	fixed := c.old
	if !whole {
		c.form.Typed.Rotations, c.form.Typed.More = trimmed(r.PostFormValue("rotations")), nil
		c.form.Setup.OneFoot = false
		fixed.Counts, fixed.OneFoot, fixed.RPMFromTaps, fixed.StandardErrorRPM = nil, false, nil, nil
		fixed.ResultID, fixed.Corrects = idFrom(r, "id"), c.old.ResultID
		return fixed, problem.Form(countInto(&fixed, c.form.Setup, c.form.Typed))
	}
	c.form.ID, c.form.Setup, c.form.Day, c.form.Note = idFrom(r, "id").String(), setupFrom(r), r.PostFormValue("day"), cut(r.PostFormValue("note"), 200)
	read, err := s.resultFrom(r, &c.form, c.gym)
	if err != nil {
		return fixed, err
	}
	read.ResultID, read.Corrects, read.AthleteID, read.SessionID = parsed(c.form.ID), c.old.ResultID, c.old.AthleteID, c.old.SessionID
	read.RopeID, read.Timing, read.Unattended, read.DeviceAt = c.old.RopeID, c.old.Timing, c.old.Unattended, c.old.DeviceAt
	read.SeenByCoach = read.SeenByCoach || c.old.SeenByCoach && read.CountedBy == c.old.CountedBy
	if read.Day.Equal(c.old.Day) {
		read.TakenAt = c.old.TakenAt
	}
	if sameCount(read, c.old) {
		read.Taps, read.RotationsPerTap, read.RPMFromTaps, read.StandardErrorRPM = c.old.Taps, c.old.RotationsPerTap, c.old.RPMFromTaps, c.old.StandardErrorRPM
	}
	return read, nil
}

// sameCount reports whether what was counted stays, so that its taps still hold.
func sameCount(a, b gym.Result) bool {
	return a.Protocol == b.Protocol && whole(a.Rotations) == whole(b.Rotations) && decimal(a.Seconds) == decimal(b.Seconds) && !a.OneFoot && a.Counts == nil
}

// correctAgain shows the form of a change once more, or, where only the count
// was sent, says what is wrong with it.
func (s *Server) correctAgain(w http.ResponseWriter, r *http.Request, err error, c correction, whole bool) error {
	if fields := problem.FieldsOf(err); fields != nil && !whole {
		return problem.New(problem.Invalid, "%s Go back and type the right count.", fields["rotations"])
	}
	return again(w, r, err, func(messages map[string]string) templ.Component {
		return page.CorrectTest(s.metaAgain(r, "Change a result"), c.form, c.old.KeptOdd, messages)
	})
}
