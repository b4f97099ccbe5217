package leading

import (
	"context"
	"encoding/json"
	"fmt"
	"math"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// How says how a session went for one athlete against the plan.
type How string

// The ways a session goes.
const (
	AsPlanned How = "planned"
	Shortened How = "shortened"
	SatOut    How = "sat_out"
)

// A Line is what a coach logs of one athlete.
type Line struct {
	Athlete uuid.UUID
	How     How
	Sets    *int // done; as planned: the plan's
	Catches *int // nil: nobody counted
	Note    string
}

// A Log is a class hour as the coach leaves it.
type Log struct {
	Session uuid.UUID
	Note    string
	Lines   []Line
}

// Told are those of a session's athletes who said themselves how it went, or of
// whom it is known already, by id.
func Told(session gym.Session, debriefs []gym.Debrief) map[uuid.UUID]gym.Debrief {
	told := map[uuid.UUID]gym.Debrief{}
	for _, d := range debriefs {
		if d.SessionID == session.SessionID || d.SessionID == uuid.Nil && d.Day.Equal(session.Day) && d.SetsDone != nil {
			told[d.AthleteID] = d
		}
	}
	return told
}

// Log keeps how a class hour went and closes its session, all or nothing: a
// debrief for each athlete of a line who has a plan and has not told already.
// Bursts count as clean but for the catches; where nobody counted catches they
// are not known, and the next plan learns nothing from them. Logged again, it
// adds what is still missing.
func (lead *Leading) Log(ctx context.Context, who gym.Who, l Log) (added int, err error) {
	if err := l.check(); err != nil {
		return 0, err
	}
	now := lead.Now()
	err = lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		added = 0
		var session gym.Session
		if err := tx.Read(ctx, store.Session(l.Session, &session)); err != nil {
			return err
		}
		var plans []gym.Plan
		var debriefs []gym.Debrief
		if err := tx.Read(ctx, store.PlansOfClass(session.ClassID, session.Day, &plans),
			store.DebriefsOfClass(session.ClassID, session.Day, &debriefs)); err != nil {
			return err
		}
		told, byAthlete := Told(session, debriefs), map[uuid.UUID]gym.Plan{}
		for _, plan := range plans {
			byAthlete[plan.AthleteID] = plan
		}
		for _, line := range l.Lines {
			plan, planned := byAthlete[line.Athlete]
			if _, already := told[line.Athlete]; already || !planned && line.Note == "" {
				continue
			}
			d, err := debriefOf(line, plan, session)
			if err != nil {
				return err
			}
			d.DebriefID = uuid.NewSHA1(session.SessionID, line.Athlete[:]) // logged twice, kept once
			d.RecordedAt, d.RecordedBy = now, who.ID()
			fresh, err := tx.AddDebrief(ctx, d)
			if err != nil {
				return err
			}
			if fresh {
				added++
			}
		}
		if err := tx.CloseSession(ctx, session.SessionID, l.Note, now); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), "logged a class hour", "session", session.SessionID)
	})
	return added, err
}

const (
	mostSets    = 99
	mostCatches = 999
	longestNote = 2000
)

func (l Log) check() error {
	wrong := map[string]string{}
	if len(l.Note) > longestNote {
		wrong["note"] = "The note is too long. Shorten it to 2,000 characters."
	}
	for _, line := range l.Lines {
		key := line.Athlete.String()
		switch {
		case line.How != AsPlanned && line.How != Shortened && line.How != SatOut:
			wrong["how-"+key] = "Choose how it went."
		case line.Sets != nil && (*line.Sets < 0 || *line.Sets > mostSets):
			wrong["sets-"+key] = "Sets must be a whole number from 0 to 99."
		case line.How == Shortened && line.Sets == nil:
			wrong["sets-"+key] = "Say how many sets were done."
		}
		if line.Catches != nil && (*line.Catches < 0 || *line.Catches > mostCatches) {
			wrong["catches-"+key] = "Catches must be a whole number from 0 to 999."
		}
	}
	return problem.Form(wrong)
}

// debriefOf turns a line into what the planner learns from.
func debriefOf(line Line, kept gym.Plan, session gym.Session) (gym.Debrief, error) {
	d := gym.Debrief{AthleteID: line.Athlete, PlanID: kept.PlanID, SessionID: session.SessionID, Day: session.Day, Note: line.Note, Catches: line.Catches}
	if kept.PlanID == uuid.Nil {
		return d, nil
	}
	var plan planner.Plan
	if err := json.Unmarshal(kept.Output, &plan); err != nil {
		return d, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
	}
	sets := plan.Sets
	switch line.How {
	case SatOut:
		sets = 0
	case Shortened:
		sets = min(*line.Sets, plan.Sets)
	}
	contacts := 0
	if plan.Sets > 0 {
		contacts = int(math.Round(float64(plan.Contacts) * float64(sets) / float64(plan.Sets)))
	}
	d.SetsDone, d.Contacts = &sets, &contacts
	if plan.Split.Burst > 0 && sets > 0 && line.Catches != nil {
		bursts := sets * plan.Cycles
		clean := max(0, bursts-*line.Catches)
		d.Bursts, d.CleanBursts = &bursts, &clean
	}
	return d, nil
}

// LogRows reads what a log form shows beside the scene.
func (lead *Leading) LogRows(ctx context.Context, who gym.Who, s Scene) (told map[uuid.UUID]gym.Debrief, caught map[uuid.UUID]int, err error) {
	var debriefs []gym.Debrief
	var logs []gym.SetLog
	err = lead.Store.Read(ctx, who.GymID, store.DebriefsOfClass(s.Class.ClassID, s.Session.Day, &debriefs),
		store.SetLogsOfClass(s.Class.ClassID, s.Session.Day, &logs))
	if err != nil {
		return nil, nil, err
	}
	caught = map[uuid.UUID]int{}
	for _, l := range logs {
		if plan, planned := s.Kept[l.AthleteID]; planned && plan.PlanID == l.PlanID {
			caught[l.AthleteID] += l.CatchesSteady + l.CatchesBurst
		}
	}
	return Told(s.Session, debriefs), caught, nil
}
