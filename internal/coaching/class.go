package coaching

import (
	"context"
	"slices"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/store"
)

// classFacts is everything that planning a class rests on.
type classFacts struct {
	class    gym.Class
	facts    []Facts
	occasion Occasion
	bases    []gym.Basis
}

// allows reports whether a plan of the athlete may be kept: where a guardian is
// asked, one must have agreed.
func (c classFacts) allows(athlete uuid.UUID) bool {
	for _, basis := range c.bases {
		if basis.AthleteID == athlete {
			return basis.Allows(gym.ToRecord, c.occasion.Day.Year())
		}
	}
	return true
}

// classRows are the rows that planning a class reads beside the ladder's.
type classRows struct {
	class    gym.Class
	results  []gym.Result
	plans    []gym.Plan
	debriefs []gym.Debrief
	logs     []gym.SetLog
	holds    []gym.Hold
	rules    []gym.Rules
	year     calendar.Year
	bases    []gym.Basis
}

// readClass reads it all in one round trip, the gates of everybody included.
func (c *Coaching) readClass(ctx context.Context, who gym.Who, ask ClassPlan) (classFacts, error) {
	var rows classRows
	since, year := ask.Day.Add(-Lookback), ask.Day.Add(-calendar.LooksBack)
	ladders := deciding.Deciding{Store: c.Store, Now: c.Now, Shelf: &c.shelf}
	ground, err := ladders.Load(ctx, who, store.InClass(ask.Class), store.Class(ask.Class, &rows.class),
		store.ResultsOfClass(ask.Class, ask.Day.Add(-measuring.Lookback), &rows.results), store.RecentPlansOfClass(ask.Class, since, &rows.plans),
		store.DebriefsOfClass(ask.Class, since, &rows.debriefs), store.SetLogsOfClass(ask.Class, since, &rows.logs),
		store.AllHoldsOfClass(ask.Class, &rows.holds), store.RulesInForce(&rows.rules), store.TermsSince(year, &rows.year.Terms),
		store.ClassTimes(&rows.year.Times), store.HolidaysSince(year, &rows.year.Holidays), store.MeetingChanges(year, &rows.year.Changes),
		store.BasesOf(store.InClass(ask.Class), &rows.bases))
	if err != nil {
		return classFacts{}, err
	}
	read := classFacts{class: rows.class, bases: rows.bases}
	rows.year.Zone = ground.Gym.Zone()
	if read.occasion, err = rows.occasion(ground.Gym, ask); err != nil {
		return classFacts{}, err
	}
	if read.facts, err = rows.facts(ground); err != nil {
		return classFacts{}, err
	}
	if len(ask.Only) > 0 {
		read.facts = slices.DeleteFunc(read.facts, func(f Facts) bool { return !slices.Contains(ask.Only, f.Athlete.AthleteID) })
	}
	return read, nil
}

// occasion says what falls on the meeting: its minutes, tests and rules.
func (r *classRows) occasion(g gym.Gym, ask ClassPlan) (Occasion, error) {
	rules, err := RulesOf(r.rules)
	if err != nil {
		return Occasion{}, err
	}
	o := Occasion{Day: ask.Day, Minutes: usualMeeting, AdultAge: g.AdultAge, Attended: true, Rules: rules}
	meeting, ok, err := r.year.On(ask.Class, ask.Day)
	if err != nil {
		return Occasion{}, err
	}
	if ok {
		o.Minutes, o.Tests, o.LighterWeek = meeting.Minutes(), meeting.Tests, meeting.Lighter
	}
	if ask.Minutes > 0 {
		o.Minutes = int(ask.Minutes)
	}
	return o, nil
}

// facts puts the rows together by athlete, in the order people stand in.
func (r *classRows) facts(ground deciding.Ground) ([]Facts, error) {
	facts := make([]Facts, len(ground.Athletes))
	byAthlete := make(map[uuid.UUID]*Facts, len(facts))
	for i, a := range ground.Athletes {
		f := &facts[i]
		f.Athlete = a.Athlete
		if stage, ok := ground.Stage(a); ok {
			f.Stage, f.Odds = &stage, ground.Odds(a, stage)
		}
		byAthlete[a.AthleteID] = f
	}
	for _, result := range r.results {
		if f := byAthlete[result.AthleteID]; f != nil {
			f.Record.Results = append(f.Record.Results, result)
		}
	}
	plans := make(map[uuid.UUID][]gym.Plan, len(facts))
	for _, plan := range r.plans {
		plans[plan.AthleteID] = append(plans[plan.AthleteID], plan)
	}
	err := each(len(facts), func(i int) (err error) {
		facts[i].Record.Plans, err = finding.ReadPlans(plans[facts[i].Athlete.AthleteID])
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, d := range r.debriefs {
		if f := byAthlete[d.AthleteID]; f != nil {
			f.Record.Debriefs = append(f.Record.Debriefs, d)
		}
	}
	for _, log := range r.logs {
		if f := byAthlete[log.AthleteID]; f != nil {
			f.Record.Logs = append(f.Record.Logs, log)
		}
	}
	for _, h := range r.holds {
		if f := byAthlete[h.AthleteID]; f != nil {
			f.Holds = append(f.Holds, h)
		}
	}
	return facts, nil
}
