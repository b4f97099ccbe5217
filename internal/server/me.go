package server

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/level"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/planner"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
	"ropewalk.example/web/part"
)

// mine is everything that an athlete's own pages show.
type mine struct {
	gym       gym.Gym
	athlete   gym.Athlete
	sent      []gym.Plan
	plans     []gym.Plan // newest day first, sent or not
	results   []gym.Result
	debriefs  []gym.Debrief
	holds     []gym.Hold
	decisions []gym.StageDecision
	stages    []gym.Stage
}

// readMine reads it in one round trip, together with more.
func (s *Server) readMine(r *http.Request, more ...store.Reading) (mine, error) {
	me := who(r.Context())
	var m mine
	now := s.Now()
	since := now.Add(-measuring.Lookback)
	readings := append(more, store.TheGym(&m.gym), store.Athlete(me.AthleteID, &m.athlete),
		store.SentPlans(me.AthleteID, gym.DayIn(now, time.UTC).AddDate(0, 0, -1), &m.sent), store.RecentPlansOf(me.AthleteID, now.Add(-coaching.Lookback), &m.plans),
		store.ResultsOf(me.AthleteID, since, &m.results), store.DebriefsOf(me.AthleteID, since, &m.debriefs),
		store.HoldsOf(me.AthleteID, &m.holds), store.DecisionsOf(me.AthleteID, &m.decisions), store.Stages(&m.stages))
	return m, s.Store.Read(r.Context(), me.GymID, readings...)
}

func (m mine) held() bool { return coaching.CareOf(m.debriefs, m.holds).State == progress.Held }

// next returns the plan that was sent for today or the day after next to come.
func (m mine) next(today time.Time) (kept gym.Plan, plan planner.Plan, found bool, err error) {
	for _, kept := range m.sent {
		if kept.Day.Before(today) {
			continue
		}
		if err := json.Unmarshal(kept.Output, &plan); err != nil {
			return kept, plan, false, fmt.Errorf("reading plan %s: %w", kept.PlanID, err)
		}
		return kept, plan, true, nil
	}
	return gym.Plan{}, planner.Plan{}, false, nil
}

// minor reports whether the athlete jumps with an adult present.
func (m mine) minor(today time.Time) bool { return m.athlete.Under(m.gym.AdultAge, today.Year()) }

// stage returns the number of the athlete's stage, 0 where nobody has decided.
func (m mine) stage() int {
	if len(m.decisions) == 0 {
		return 0
	}
	for _, stage := range m.stages {
		if stage.Key == m.decisions[0].StageTo {
			return stage.Number
		}
	}
	return 0
}

// tests lists what may be counted on a phone at the athlete's stage.
func (m mine) tests() []page.Choice {
	var choices []page.Choice
	for _, p := range rate.Protocols() {
		if p.FromStage > m.stage() {
			continue
		}
		switch p.Measured {
		case rate.Rotations:
			for _, seconds := range p.Windows {
				choices = append(choices, page.Choice{Value: page.TestKey(p.Key, seconds), Text: fmt.Sprintf("%s, %s", p.Name, part.Seconds(seconds)),
					Adult: p.AllOut || p.Key == rate.Burst})
			}
		case rate.Run:
			choices = append(choices, page.Choice{Value: p.Key + " 0", Text: p.Name})
		}
	}
	return choices
}

// setup starts from the athlete's newest test that the phone offers.
func (m mine) setup() page.PhoneSetup {
	setup := page.PhoneSetup{Test: page.TestKey(rate.Base, 60), Step: "bounce", CountedBy: "partner"}
	for _, r := range m.results {
		if r.Protocol == rate.Base && r.Seconds != nil {
			return page.PhoneSetup{Test: page.TestKey(r.Protocol, *r.Seconds), Step: r.Step, RopeKind: r.RopeKind, Surface: r.Surface, CountedBy: r.CountedBy}
		}
	}
	return setup
}

// record is what the athlete's results come to.
func (m mine) record(today time.Time) page.MyRecord {
	record := page.MyRecord{Levels: level.Of(m.results, today), Chart: rateChart(m.results, "mine")}
	record.Chart.Title = "My rates"
	for i, r := range m.results {
		record.Results = append(record.Results, resultLine(r))
		if r.Protocol == rate.CleanRun && r.Rotations != nil && (record.BestRun == nil || *r.Rotations > *record.BestRun.Rotations) {
			record.BestRun = &m.results[i]
		}
	}
	return record
}

// mostCorrectable is how many of the newest results an athlete may correct.
const mostCorrectable = 10

// correctable lists the results that the athlete may correct: the newest that no
// coach saw.
func (m mine) correctable() []page.CorrectableResult {
	var list []page.CorrectableResult
	for _, r := range m.results {
		if !r.SeenByCoach && r.Rotations != nil && len(list) < mostCorrectable {
			list = append(list, page.CorrectableResult{Result: r, Text: page.TestName(r)})
		}
	}
	return list
}

// getMe shows an athlete today's plan, or the next one that was sent.
func (s *Server) getMe(w http.ResponseWriter, r *http.Request) error {
	m, err := s.readMine(r)
	if err != nil {
		return err
	}
	today := s.today(m.gym)
	v := page.MeView{Phone: phoneOf(r), Athlete: m.athlete, Day: part.Day(s.Now().In(m.gym.Zone())), Held: m.held(), Saved: s.saved(r.Context())}
	if v.Kept, v.Plan, v.Has, err = m.next(today); err != nil {
		return err
	}
	if !v.Has && !level.Of(m.results, today).Planning().Known() {
		v.Test = planner.TestBase
	}
	return render(w, r, http.StatusOK, page.Me(s.phoneMeta(r, "Today"), v))
}

// getMyRates shows an athlete the own results and levels.
func (s *Server) getMyRates(w http.ResponseWriter, r *http.Request) error {
	m, err := s.readMine(r)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, page.MyRates(s.phoneMeta(r, "My rates"), page.MyRatesView{Phone: phoneOf(r), Athlete: m.athlete, MyRecord: m.record(s.today(m.gym))}))
}
