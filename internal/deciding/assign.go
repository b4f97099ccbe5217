package deciding

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// SetDays is how long a drill or a test stays set: four weeks (assumed).
const SetDays = 28

// Kinds of what a coach sets.
const (
	SetDrill = "drill"
	SetTest  = "test"
	SetStage = "stage"
)

// A Setting is one drill, test or stage for many athletes at once.
type Setting struct {
	Batch    uuid.UUID // made with the form, so that one sent twice is kept once
	Whom     store.Whom
	Athletes []uuid.UUID // of Whom; nil for all
	Kind     string
	Stage    string // SetStage: where they stand. SetDrill: whose drill, "" for everybody's own
	Test     Test   // SetTest; the zero Test is what each one's gate lacks first
	Note     string // the reason, for a stage
}

// A Test names what is to be tested.
type Test struct {
	Protocol string
	Seconds  int // 0: any
	Step     string
	Task     string
}

// Set says what became of a setting: for how many it was kept, and who had
// nothing to set, such as a gate that lacks no test.
type Set struct {
	Kept  int
	Names []string // for whom nothing was kept
}

// Set sets a drill, a test or a stage for everybody chosen, all or none, in one
// transaction with a fixed number of statements.
func (d *Deciding) Set(ctx context.Context, who gym.Who, ask Setting) (Set, error) {
	if !mayDecide(who.Role) {
		return Set{}, problem.New(problem.Forbidden, "Only a coach sets drills, tests and stages.")
	}
	g, err := d.Load(ctx, who, ask.Whom)
	if err != nil {
		return Set{}, err
	}
	if ask.Athletes != nil {
		g.Athletes = slices.DeleteFunc(g.Athletes, func(a Athlete) bool { return !slices.Contains(ask.Athletes, a.AthleteID) })
	}
	if err := problem.Form(g.checkSetting(ask)); err != nil {
		return Set{}, err
	}
	ask.Note = strings.TrimSpace(ask.Note)
	ask.Batch = orNew(ask.Batch)
	if ask.Kind == SetStage {
		return d.setStage(ctx, who, g, ask)
	}
	return d.setWork(ctx, who, g, ask)
}

func (g Ground) checkSetting(ask Setting) map[string]string {
	wrong := map[string]string{}
	_, known := g.Ladder.Stage(ask.Stage)
	switch {
	case ask.Kind == SetStage && !known:
		wrong["stage"] = "Choose the stage on which they stand."
	case ask.Kind == SetStage && strings.TrimSpace(ask.Note) == "":
		wrong["note"] = "Write why. It is kept with each decision."
	case ask.Kind == SetDrill && ask.Stage != "" && !known:
		wrong["drill"] = "Choose a drill from the list."
	case ask.Kind == SetTest && ask.Test != Test{}:
		if _, ok := rate.ProtocolOf(ask.Test.Protocol); !ok {
			wrong["test"] = "Choose a test from the list."
		}
	case ask.Kind != SetStage && ask.Kind != SetDrill && ask.Kind != SetTest:
		wrong["kind"] = "Choose a drill, a test or a stage."
	}
	if len(g.Athletes) == 0 {
		wrong["athlete"] = "Tick at least one name."
	}
	if len([]rune(ask.Note)) > maxReason {
		wrong["note"] = fmt.Sprintf("Write the note in %d letters or fewer.", maxReason)
	}
	return wrong
}

// setStage decides one stage for many. Whoever stands there already keeps the
// place, and no decision is made.
func (d *Deciding) setStage(ctx context.Context, who gym.Who, g Ground, ask Setting) (Set, error) {
	now := d.Now()
	var set Set
	var made []gym.StageDecision
	for _, a := range g.Athletes {
		if a.Place.Stage == ask.Stage {
			set.Names = append(set.Names, a.Name)
			continue
		}
		decision, err := g.decision(a, Decision{ID: idIn(ask.Batch, a.AthleteID), To: ask.Stage, Reason: ask.Note}, now, who)
		if err != nil {
			return Set{}, err
		}
		made = append(made, decision)
	}
	set.Kept = len(made)
	return set, d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error { return keepDecisions(ctx, tx, who, made) })
}

// setWork keeps an assignment for each athlete who has something to do.
func (d *Deciding) setWork(ctx context.Context, who gym.Who, g Ground, ask Setting) (Set, error) {
	now := d.Now()
	var set Set
	var work []gym.Assignment
	for _, a := range g.Athletes {
		one, ok := g.work(a, ask)
		if !ok {
			set.Names = append(set.Names, a.Name)
			continue
		}
		one.AssignmentID, one.BatchID, one.AthleteID, one.Kind, one.Note = idIn(ask.Batch, a.AthleteID), ask.Batch, a.AthleteID, ask.Kind, ask.Note
		one.Day, one.SetAt, one.SetBy = g.Today, now, who.ID()
		work = append(work, one)
	}
	set.Kept = len(work)
	if len(work) == 0 {
		return set, nil
	}
	return set, d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddAssignments(ctx, work); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), fmt.Sprintf("set a %s for %d", ask.Kind, len(work)), "assignment", ask.Batch)
	})
}

// work returns what a setting means for one athlete; ok is false if it is nothing.
func (g Ground) work(a Athlete, ask Setting) (work gym.Assignment, ok bool) {
	switch {
	case ask.Kind == SetDrill && ask.Stage != "":
		return gym.Assignment{Stage: ask.Stage}, true
	case ask.Kind == SetDrill:
		stage, ok := g.Stage(a)
		return gym.Assignment{Stage: stage.Key}, ok
	case ask.Test != Test{}:
		return gym.Assignment{Protocol: ask.Test.Protocol, Seconds: ask.Test.Seconds, Step: ask.Test.Step, Task: ask.Test.Task}, true
	}
	stage, ok := g.Stage(a)
	if !ok {
		return gym.Assignment{}, false
	}
	clause, ok := g.lackedTest(a, stage)
	return gym.Assignment{Stage: stage.Key, Clause: clause.Key, Protocol: protocolOf(clause), Seconds: clause.Seconds,
		Step: fixedStep(clause), Task: clause.Task}, ok
}

// lackedTest returns the first clause of the stage's gate that a lacks and that a
// test can mend; a coach's look is no test.
func (g Ground) lackedTest(a Athlete, stage ladder.Stage) (ladder.Clause, bool) {
	verdict, _ := g.Verdict(a, stage.Key)
	for i, clause := range stage.Gate.Clauses {
		if i < len(verdict.Clauses) && verdict.Clauses[i].State != ladder.Met && clause.Measure != ladder.CoachJudges {
			return clause, true
		}
	}
	return ladder.Clause{}, false
}

func protocolOf(c ladder.Clause) string {
	for _, m := range ladder.Measures() {
		if m.Key == c.Measure {
			return string(m.Protocol)
		}
	}
	return ""
}

// fixedStep returns the step that a clause asks for, "" where it leaves it open.
func fixedStep(c ladder.Clause) string {
	if slices.Contains(ladder.Steps(), c.Step) {
		return c.Step
	}
	return ""
}

// idIn makes the id of one athlete's part of a batch: the same form sent twice
// is kept once.
func idIn(batch, athlete uuid.UUID) uuid.UUID { return uuid.NewSHA1(batch, athlete[:]) }

// TakeOff ends what was set for one athlete. It stays kept.
func (d *Deciding) TakeOff(ctx context.Context, who gym.Who, athlete, id uuid.UUID) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach takes off what was set.")
	}
	now := d.Now()
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var a gym.Athlete
		var set []gym.Assignment
		if err := tx.Read(ctx, store.TheGym(&g), store.Athlete(athlete, &a), store.Assignments(store.Only(athlete), time.Time{}, &set)); err != nil {
			return err
		}
		i := slices.IndexFunc(set, func(a gym.Assignment) bool { return a.AssignmentID == id })
		if i < 0 {
			return problem.New(problem.Conflict, "This is not set any more. Somebody may have taken it off before you.")
		}
		end := set[i]
		end.AssignmentID, end.TakesBack, end.Day, end.SetAt, end.SetBy = newID(), id, g.DayOf(now), now, who.ID()
		return tx.AddAssignments(ctx, []gym.Assignment{end})
	})
}

// A Work is something set for an athlete, with the day on which it was done.
type Work struct {
	gym.Assignment
	Done time.Time // zero: not yet; a drill is never done, it ends
}

// WorkOf returns what is set for an athlete as of today, newest first: of the
// drills, and of tests of one kind, only the newest. A test is done when a result
// of its kind stands from the day on.
func WorkOf(set []gym.Assignment, results []gym.Result, today time.Time) []Work {
	var work []Work
	for _, a := range set { // newest first
		repeated := slices.ContainsFunc(work, func(newer Work) bool { return alike(a, newer.Assignment) })
		if int(dayOf(today)-dayOf(a.Day)) >= SetDays || repeated {
			continue
		}
		one := Work{Assignment: a}
		for _, r := range results {
			if a.Kind == SetTest && answers(a, r) && (one.Done.IsZero() || r.Day.Before(one.Done)) {
				one.Done = r.Day
			}
		}
		work = append(work, one)
	}
	return work
}

// alike reports whether b leaves nothing of a to do: another drill, or the same
// test.
func alike(a, b gym.Assignment) bool {
	return a.Kind == b.Kind && (a.Kind == SetDrill ||
		a.Protocol == b.Protocol && a.Seconds == b.Seconds && a.Step == b.Step && a.Task == b.Task)
}

// answers reports whether a result is of the kind that was asked for.
func answers(a gym.Assignment, r gym.Result) bool {
	e := standing.OfResult(r)
	return !r.Day.Before(a.Day) && string(e.Protocol) == a.Protocol && (a.Task == "" || a.Task == e.Task) && (a.Step == "" || a.Step == e.Step) &&
		(a.Seconds == 0 || e.Seconds == float64(a.Seconds))
}
