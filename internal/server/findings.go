package server

import (
	"strconv"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/deciding"
	"ropewalk.example/internal/finding"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// athleteRows are the rows that the page of an athlete reads beside the ladder's.
type athleteRows struct {
	classes  []gym.Class
	recorded []store.Recorded // the newest, replaced ones too
	standing []gym.Result     // those of a year that count
	plans    []gym.Plan       // newest first, one a day
	debriefs []gym.Debrief
	logs     []gym.SetLog
	holds    []gym.Hold
	rules    []gym.Rules
	retests  []store.Retest
}

func (a *athleteRows) readings(id uuid.UUID, now time.Time) []store.Reading {
	since := now.Add(-coaching.Lookback)
	return []store.Reading{store.ClassesOf(id, &a.classes), store.RecordedOf(id, store.Page{Most: shownResults + 1}, &a.recorded),
		store.ResultsOf(id, now.Add(-measuring.Lookback), &a.standing), store.RecentPlansOf(id, since, &a.plans), store.DebriefsOf(id, since, &a.debriefs),
		store.SetLogsOf(id, since, &a.logs), store.HoldsOf(id, &a.holds), store.RulesInForce(&a.rules),
		store.RetestsAround(id, now.Add(-measuring.Lookback/2), finding.PairDays, &a.retests)}
}

// athleteFindings is what the science says of one athlete.
type athleteFindings struct {
	rows   *athleteRows
	rules  coaching.Rules
	record finding.Record
	levels level.Levels
	today  time.Time
	gym    gym.Gym
	ground deciding.Ground
	who    deciding.Athlete
	words  ladder.Words
}

// find gets everything ready that the findings follow from.
func (a *athleteRows) find(ground deciding.Ground, athlete deciding.Athlete, now time.Time) (*athleteFindings, error) {
	f := &athleteFindings{rows: a, today: ground.Today, gym: ground.Gym, ground: ground, who: athlete}
	var err error
	if f.rules, err = coaching.RulesOf(a.rules); err != nil {
		return nil, err
	}
	if f.words, err = words(); err != nil {
		return nil, err
	}
	plans, err := finding.ReadPlans(a.plans)
	if err != nil {
		return nil, err
	}
	f.record = finding.Record{Results: a.standing, Plans: plans, Debriefs: a.debriefs, Logs: a.logs}
	f.levels = level.Of(a.standing, f.today)
	return f, nil
}

// show puts the findings into the view; bar is the base rate that was asked for.
func (f *athleteFindings) show(v *page.AthleteView, bar string) {
	v.Levels = f.levels
	v.Chart = rateChart(f.rows.standing, v.Athlete.Name)
	v.Change = finding.ChangeOf(f.rows.standing, f.levels.Base, pairsOf(f.rows.retests), f.today)
	v.Lasting = finding.LastingOf(f.rows.standing, f.levels, f.today)
	v.Runs = finding.RunsOf(f.rows.standing, rate.CleanRun, f.today)
	v.Catches = finding.CatchesOf(f.record, f.levels.Base, f.today)
	v.Doubles = finding.DoublesOf(f.rows.standing, f.levels, f.rules.SweepSeconds, f.today)
	v.Load = finding.LoadOf(f.record, f.today)
	v.Care = coaching.CareOf(f.rows.debriefs, f.rows.holds)
	f.showAims(v, bar)
	f.showOdds(v)
	f.showLeft(v)
}

// showAims says when bars are likely: those of the gate, and a base rate.
func (f *athleteFindings) showAims(v *page.AthleteView, bar string) {
	now := f.levels.Base.RPM
	if v.Change.HasTrend {
		now = max(now, v.Change.Trend.Level)
	}
	next := finding.NextTen(now)
	if asked, ok := number(bar); ok && asked > 0 && asked <= rate.HighestRPM {
		next = float64(asked)
	}
	v.Bar = strconv.Itoa(int(next))
	v.RateAim = finding.RateAim(v.Change, next, f.today)
	if stage, ok := f.ground.Stage(f.who); ok {
		v.Aims = finding.GateAims(stage.Gate, f.who.Known, f.rows.standing, f.levels.Base, f.today)
	}
}

// showOdds gives the odds of the gate's clauses and of usual lengths.
func (f *athleteFindings) showOdds(v *page.AthleteView) {
	if stage, ok := f.ground.Stage(f.who); ok {
		for _, odds := range f.ground.Odds(f.who, stage) {
			v.Gate = append(v.Gate, page.GateOdds{Clause: f.clause(stage, odds.Clause), Known: odds.Known, Chance: odds.Chance, Attempts: odds.Attempts})
			switch odds.Measure {
			case "clean_run":
				v.RunGoal = max(v.RunGoal, odds.Target)
			case "doubles_in_a_row":
				v.RowGoal = max(v.RowGoal, odds.Target)
			}
		}
	}
	tally := v.Runs.Tally
	if tally.Trials() == 0 {
		tally = v.Catches.Steady.Tally // no run yet: tests and sets say how often the rope catches
	}
	v.RunOdds = finding.OddsFor(tally, v.RunGoal, finding.RunLengths())
	v.RowOdds = finding.OddsFor(v.Doubles.Rows.Tally, v.RowGoal, finding.RowLengths())
}

func (f *athleteFindings) clause(stage ladder.Stage, key string) string {
	for _, clause := range stage.Gate.Clauses {
		if clause.Key == key {
			return f.words.Clause(clause)
		}
	}
	return key
}

// showLeft says how many jumps the ceilings leave today.
func (f *athleteFindings) showLeft(v *page.AthleteView) {
	left := coaching.LeftOf(coaching.Facts{Athlete: f.who.Athlete, Record: f.record, Holds: f.rows.holds},
		coaching.Occasion{Day: f.today, AdultAge: f.gym.AdultAge, Attended: true, Rules: f.rules})
	v.Left = page.JumpsLeft{Session: left.ContactsLeft, Week: left.WeekContactsLeft, Doubles: left.DoublesLeft}
}

func pairsOf(retests []store.Retest) finding.Pairs {
	var pairs finding.Pairs
	for _, r := range retests {
		pairs.First = append(pairs.First, 60*float64(r.FirstRotations)/r.Seconds)
		pairs.Second = append(pairs.Second, 60*float64(r.SecondRotations)/r.Seconds)
	}
	return pairs
}
