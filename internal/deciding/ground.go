package deciding

import (
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// A Ground is the ladder in use and some athletes on it, with all that their
// gates rest on.
type Ground struct {
	Gym      gym.Gym
	Today    time.Time // on the gym's calendar, midnight UTC
	LadderID uuid.UUID
	Ladder   ladder.Ladder // without stages if the gym uses none
	Athletes []Athlete
}

// An Athlete is one person on the ground.
type Athlete struct {
	gym.Athlete
	Known     ladder.Athlete
	Place     standing.Place
	Results   []gym.Result    // standing, newest first, as gates need them; from [Deciding.LoadOne] only
	Judged    []gym.Judgement // newest first, those taken back too
	Evidence  []ladder.Evidence
	Verdicts  []ladder.Verdict // of every stage's gate today, in the ladder's order; none from [Deciding.Places]
	Decisions []gym.StageDecision
	Rope      *gym.Rope // the one lent, nil where nobody wrote it down
}

// Load reads the ground of whom, and whatever extra asks for, in one round trip
// however many athletes there are, and evaluates every gate.
func (d *Deciding) Load(ctx context.Context, who gym.Who, whom store.Whom, extra ...store.Reading) (Ground, error) {
	return d.load(ctx, who, whom, &rows{shelf: d.shelf()}, extra)
}

func (d *Deciding) load(ctx context.Context, who gym.Who, whom store.Whom, read *rows, extra []store.Reading) (Ground, error) {
	now := d.Now()
	if err := d.Store.Read(ctx, who.GymID, append(read.readings(whom, now.Add(-Lookback)), extra...)...); err != nil {
		return Ground{}, err
	}
	return read.ground(now)
}

// Places is Load without results, judgements and verdicts: only who stands where.
func (d *Deciding) Places(ctx context.Context, who gym.Who, whom store.Whom, extra ...store.Reading) (Ground, error) {
	read := rows{shelf: d.shelf()}
	if err := d.Store.Read(ctx, who.GymID, append(read.places(whom), extra...)...); err != nil {
		return Ground{}, err
	}
	return read.bare(d.Now())
}

// reader is what a store and a transaction share.
type reader func(readings ...store.Reading) error

// everything loads the whole gym with results of any age, for a ladder that is
// not in use yet.
func everything(read reader, now time.Time) (Ground, error) {
	all := rows{shelf: new(standing.Shelf)}
	if err := read(all.readings(store.Everybody(), time.Time{})...); err != nil {
		return Ground{}, err
	}
	return all.ground(now)
}

// LoadOne is Load for one athlete; one whom the gym does not have is NotFound.
func (d *Deciding) LoadOne(ctx context.Context, who gym.Who, athlete uuid.UUID, extra ...store.Reading) (Ground, Athlete, error) {
	g, err := d.load(ctx, who, store.Only(athlete), &rows{shelf: d.shelf(), keep: true}, extra)
	if err != nil {
		return Ground{}, Athlete{}, err
	}
	if len(g.Athletes) == 0 {
		return Ground{}, Athlete{}, problem.New(problem.NotFound, "There is no such athlete in this gym.")
	}
	return g, g.Athletes[0], nil
}

// rows are what one query set brings.
type rows struct {
	shelf      *standing.Shelf
	gym        gym.Gym
	ladders    []gym.Ladder // the one in use, if there is one
	stages     []gym.Stage
	people     []gym.Athlete
	keep       bool // the results themselves, not only the evidence
	results    []gym.Result
	evidence   map[uuid.UUID][]ladder.Evidence
	judgements []gym.Judgement
	decisions  []gym.StageDecision
	ropes      []gym.Rope
}

func (r *rows) readings(whom store.Whom, since time.Time) []store.Reading {
	return append(r.places(whom), store.EachEvidence(whom, since, r.begin), store.Judgements(whom, &r.judgements))
}

// begin makes room for results; count is 0 where nobody knows how many come.
func (r *rows) begin(count int) func(gym.Result) {
	r.evidence, r.results = map[uuid.UUID][]ladder.Evidence{}, nil
	if r.keep {
		r.results = make([]gym.Result, 0, count)
	}
	return r.take
}

// take notes one result.
func (r *rows) take(result gym.Result) {
	r.evidence[result.AthleteID] = append(r.evidence[result.AthleteID], standing.OfResult(result))
	if r.keep {
		r.results = append(r.results, result)
	}
}

func (r *rows) places(whom store.Whom) []store.Reading {
	return []store.Reading{store.TheGym(&r.gym), store.LadderInUse(&r.ladders), store.Stages(&r.stages),
		store.AthletesAmong(whom, &r.people), store.Decisions(whom, &r.decisions), store.RopesInUse(whom, &r.ropes)}
}

// ground evaluates every gate of the ladder in use for everybody.
func (r *rows) ground(now time.Time) (Ground, error) {
	g, err := r.bare(now)
	if err != nil {
		return Ground{}, err
	}
	for i, verdicts := range g.Ladder.EvaluateAll(casesOf(g.Athletes), dayOf(g.Today)) {
		g.Athletes[i].Verdicts = verdicts
	}
	return g, nil
}

// bare puts the rows together without a verdict.
func (r *rows) bare(now time.Time) (Ground, error) {
	g := Ground{Gym: r.gym, Today: r.gym.DayOf(now)}
	var err error
	if g.Ladder, err = ladderOf(r.shelf, r.ladders, r.stages); err != nil {
		return Ground{}, err
	}
	if len(r.ladders) > 0 {
		g.LadderID = r.ladders[0].LadderID
	}
	g.Athletes = r.athletes(g.Gym, g.Today)
	return g, nil
}

// ladderOf returns the ladder in use, one without stages if there is none.
func ladderOf(shelf *standing.Shelf, inUse []gym.Ladder, stages []gym.Stage) (ladder.Ladder, error) {
	if len(inUse) == 0 {
		return ladder.Ladder{}, nil
	}
	return shelf.Ladder(inUse[0], stages)
}

// athletes puts the rows together by athlete, in the order of people.
func (r *rows) athletes(g gym.Gym, today time.Time) []Athlete {
	athletes := make([]Athlete, len(r.people))
	byID := make(map[uuid.UUID]*Athlete, len(r.people))
	for i, person := range r.people {
		athletes[i].Athlete = person
		byID[person.AthleteID] = &athletes[i]
	}
	if r.keep && len(athletes) == 1 {
		slices.SortFunc(r.results, newerFirst)
		athletes[0].Results = r.results
	}
	// Rows come sorted by athlete: a run of them belongs to one.
	for run := range runs(r.decisions, func(decision gym.StageDecision) uuid.UUID { return decision.AthleteID }) {
		if a := byID[run[0].AthleteID]; a != nil {
			a.Decisions = run
			a.Place = standing.PlaceOf(run)
		}
	}
	for i, rope := range r.ropes {
		if a := byID[rope.AthleteID]; a != nil && a.Rope == nil {
			a.Rope = &r.ropes[i]
		}
	}
	for run := range runs(r.judgements, func(j gym.Judgement) uuid.UUID { return j.AthleteID }) {
		if a := byID[run[0].AthleteID]; a != nil {
			a.Judged = run
		}
	}
	for i := range athletes {
		a := &athletes[i]
		a.Evidence = withJudged(r.evidence[a.AthleteID], a.Judged)
		a.Known = standing.Athlete(a.Athlete, g.AdultAge, today, a.ropeKind())
	}
	return athletes
}

func withJudged(evidence []ladder.Evidence, judged []gym.Judgement) []ladder.Evidence {
	for _, j := range judged {
		evidence = append(evidence, standing.OfJudgement(j))
	}
	return evidence
}

func newerFirst(a, b gym.Result) int {
	return cmp.Or(b.Day.Compare(a.Day), b.TakenAt.Compare(a.TakenAt), slices.Compare(b.ResultID[:], a.ResultID[:]))
}

// ropeKind is the kind in use now: of the rope that was lent, else of the newest
// result that says.
func (a Athlete) ropeKind() string {
	if a.Rope != nil {
		return a.Rope.Kind
	}
	var newest ladder.Evidence
	for _, e := range a.Evidence {
		if e.Rope != "" && (newest.Rope == "" || cmp.Or(cmp.Compare(e.Day, newest.Day), e.At.Compare(newest.At)) > 0) {
			newest = e
		}
	}
	return string(newest.Rope)
}

func casesOf(athletes []Athlete) []ladder.Case {
	cases := make([]ladder.Case, len(athletes))
	for i, a := range athletes {
		cases[i] = ladder.Case{ID: a.AthleteID.String(), Athlete: a.Known, Evidence: a.Evidence}
	}
	return cases
}

// Stage returns the stage that a stands on, and whether the ladder has it.
func (g Ground) Stage(a Athlete) (ladder.Stage, bool) { return g.Ladder.Stage(a.Place.Stage) }

// Verdict returns the verdict on the gate of the stage with key.
func (g Ground) Verdict(a Athlete, key string) (ladder.Verdict, bool) {
	stage, ok := g.Ladder.Stage(key)
	if !ok || stage.Number > len(a.Verdicts) {
		return ladder.Verdict{}, false
	}
	return a.Verdicts[stage.Number-1], true
}

// Class returns who stands where. New are the athletes whom nobody has placed
// yet; they are in no stage.
func (g Ground) Class() (class ladder.Class, unplaced []Athlete) {
	var standings []ladder.Standing
	for _, a := range g.Athletes {
		if a.Place.Stage == "" {
			unplaced = append(unplaced, a)
			continue
		}
		verdict, _ := g.Verdict(a, a.Place.Stage)
		standings = append(standings, ladder.Standing{Athlete: a.AthleteID.String(), Stage: a.Place.Stage, Since: dayOf(a.Place.Since), Verdict: verdict})
	}
	return g.Ladder.Class(standings, dayOf(g.Today), ladder.StuckDays), unplaced
}
