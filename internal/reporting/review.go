package reporting

import (
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/review"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// lookback is how far back gates look at results, as on the ladder's own pages.
const lookback = 2 * 52 * 7 * 24 * time.Hour

// A View is a term as some athletes had it.
type View struct {
	Gym      gym.Gym
	Ground   review.Ground
	Athletes []review.Athlete // in the order of whom
	Facts    []review.Facts   // of each, what the review rests on
	Comments map[uuid.UUID]gym.Comment
}

// Group sums up the athletes of the view.
func (v View) Group() review.Group {
	sum := v.Ground.Sum()
	for _, a := range v.Athletes {
		sum.Add(a)
	}
	return sum.Group()
}

// One returns the only athlete of the view; none is NotFound.
func (v View) One() (review.Athlete, error) {
	if len(v.Athletes) == 0 {
		return review.Athlete{}, problem.New(problem.NotFound, "There is no such athlete in this gym.")
	}
	return v.Athletes[0], nil
}

// Review reads what was kept of a term and reviews whom, together with whatever
// extra asks for, in one round trip however many athletes there are. The zero
// Until of during is today.
func (r *Reporting) Review(ctx context.Context, gymID uuid.UUID, during store.During, whom store.Whom, extra ...store.Reading) (View, error) {
	var rows rows
	readings := append(rows.ground(during), rows.facts(during, whom, r.Now())...)
	if err := r.Store.Read(ctx, gymID, append(readings, extra...)...); err != nil {
		return View{}, err
	}
	ground, err := rows.groundAt(during.Until, r.Now())
	if err != nil {
		return View{}, err
	}
	return rows.view(ground), nil
}

// Part reviews some of whom, those of a page in the order of their ids. last is
// the athlete after whom the next part begins, uuid.Nil where this is the end.
func (r *Reporting) Part(ctx context.Context, gymID uuid.UUID, during store.During, whom store.Whom, p store.Page) (view View, last uuid.UUID, err error) {
	most := p.Most
	p.Most++ // one more tells whether there are more
	var rows rows
	var people []gym.Athlete
	if err := r.Store.Read(ctx, gymID, append(rows.ground(during), store.AthletesPart(whom, p, &people))...); err != nil {
		return view, last, err
	}
	ground, err := rows.groundAt(during.Until, r.Now())
	if err != nil {
		return view, last, err
	}
	if len(people) > most {
		people, last = people[:most], people[most-1].AthleteID
	}
	if len(people) > 0 {
		if err := r.Store.Read(ctx, gymID, rows.facts(during, store.Those(idsOf(people)), r.Now())...); err != nil {
			return view, last, err
		}
	}
	return rows.view(ground), last, nil
}

// Group sums whom up, a crowd at a time, and returns the gym and the ground
// without the athletes.
func (r *Reporting) Group(ctx context.Context, gymID uuid.UUID, during store.During, whom store.Whom) (view View, group review.Group, err error) {
	var sum *review.Summing
	began := func(v View, _ int) error {
		view, sum = v, v.Ground.Sum()
		return nil
	}
	each := func(a review.Athlete, _ review.Facts) error {
		sum.Add(a)
		return nil
	}
	if err := r.Each(ctx, gymID, during, whom, began, each); err != nil {
		return view, group, err
	}
	return view, sum.Group(), nil
}

func idsOf(people []gym.Athlete) []uuid.UUID {
	ids := make([]uuid.UUID, len(people))
	for i, a := range people {
		ids[i] = a.AthleteID
	}
	return ids
}

// rows are what the queries of a review bring.
type rows struct {
	gym     gym.Gym
	term    gym.Term
	ladders []gym.Ladder
	stages  []gym.Stage
	keys    []gym.Stage
	repeats []gym.Repeat
	rules   []gym.Rules

	people     []gym.Athlete
	results    []gym.Result
	decisions  []gym.StageDecision
	meetings   []gym.Meeting
	debriefs   []gym.Debrief
	catches    []gym.CatchNote
	gates      []gym.Result
	judgements []gym.Judgement
	comments   []gym.Comment
}

// ground are the queries that all athletes of a term share.
func (r *rows) ground(during store.During) []store.Reading {
	return []store.Reading{store.TheGym(&r.gym), store.Term(during.Term, &r.term), store.LadderInUse(&r.ladders), store.Stages(&r.stages),
		store.StageKeys(&r.keys), store.Repeats(during, review.RepeatDays, &r.repeats), store.RulesInForce(&r.rules)}
}

// facts are the queries for some athletes.
func (r *rows) facts(during store.During, whom store.Whom, now time.Time) []store.Reading {
	since := now.Add(-lookback)
	if !during.Until.IsZero() {
		since = during.Until.Add(-lookback)
	}
	return []store.Reading{store.AthletesAmong(whom, &r.people), store.Results(whom, during, &r.results), store.Decisions(whom, &r.decisions),
		store.Meetings(whom, during, &r.meetings), store.Debriefs(whom, during, &r.debriefs), store.CatchNotes(whom, since, &r.catches),
		store.Evidence(whom, since, &r.gates), store.Judgements(whom, &r.judgements), store.Comments(during.Term, whom, &r.comments)}
}

// groundAt puts together what all athletes share, as of a day; the zero day is
// today on the gym's calendar.
func (r *rows) groundAt(day, now time.Time) (review.Ground, error) {
	if day.IsZero() {
		day = r.gym.DayOf(now)
	}
	g := review.Ground{Span: review.SpanOf(r.term, day), AdultAge: r.gym.AdultAge, Titles: map[string]string{}, Scatters: review.ScattersOf(r.repeats)}
	rules, err := coaching.RulesOf(r.rules)
	if err != nil {
		return g, err
	}
	g.Sweep = rules.SweepSeconds
	for _, stage := range r.keys {
		g.Titles[stage.Key] = stage.Title
	}
	if len(r.ladders) == 0 {
		return g, nil
	}
	if g.Ladder, err = standing.Ladder(r.ladders[0], r.stages); err != nil {
		return g, err
	}
	g.Words, err = ladder.WordsIn(g.Ladder.Lang)
	return g, err
}

// view reviews everybody whose facts were read.
func (r *rows) view(g review.Ground) View {
	v := View{Gym: r.gym, Ground: g, Comments: make(map[uuid.UUID]gym.Comment, len(r.comments))}
	for _, c := range r.comments {
		v.Comments[c.AthleteID] = c
	}
	results := byAthlete(r.results, func(x gym.Result) uuid.UUID { return x.AthleteID })
	decisions := byAthlete(r.decisions, func(x gym.StageDecision) uuid.UUID { return x.AthleteID })
	meetings := byAthlete(r.meetings, func(x gym.Meeting) uuid.UUID { return x.AthleteID })
	debriefs := byAthlete(r.debriefs, func(x gym.Debrief) uuid.UUID { return x.AthleteID })
	catches := byAthlete(r.catches, func(x gym.CatchNote) uuid.UUID { return x.AthleteID })
	gates := byAthlete(r.gates, func(x gym.Result) uuid.UUID { return x.AthleteID })
	judgements := byAthlete(r.judgements, func(x gym.Judgement) uuid.UUID { return x.AthleteID })
	for _, person := range r.people {
		id := person.AthleteID
		facts := review.Facts{Athlete: person, Results: results[id], Decisions: decisions[id], Meetings: meetings[id], Debriefs: debriefs[id],
			Catches: catches[id], Gates: gates[id], Judgements: judgements[id], Comment: v.Comments[id]}
		v.Athletes = append(v.Athletes, g.Of(facts))
		v.Facts = append(v.Facts, facts)
	}
	return v
}

// byAthlete parts rows that come sorted by athlete.
func byAthlete[T any](rows []T, of func(T) uuid.UUID) map[uuid.UUID][]T {
	parts := map[uuid.UUID][]T{}
	for start := 0; start < len(rows); {
		end := start + 1
		for end < len(rows) && of(rows[end]) == of(rows[start]) {
			end++
		}
		parts[of(rows[start])] = rows[start:end:end]
		start = end
	}
	return parts
}

// crowd is how many athletes are reviewed at a time where there may be
// thousands.
const crowd = 100

// Each reviews whom a crowd at a time and hands over one after the other, so
// that a gym of any size needs little memory. It calls began first, with the
// ground and how many athletes will come.
func (r *Reporting) Each(ctx context.Context, gymID uuid.UUID, during store.During, whom store.Whom,
	began func(v View, athletes int) error, each func(review.Athlete, review.Facts) error) error {
	var shared rows
	var people []gym.Athlete
	if err := r.Store.Read(ctx, gymID, append(shared.ground(during), store.AthletesAmong(whom, &people))...); err != nil {
		return err
	}
	ground, err := shared.groundAt(during.Until, r.Now())
	if err != nil {
		return err
	}
	if err := began(View{Gym: shared.gym, Ground: ground}, len(people)); err != nil {
		return err
	}
	for some := range slices.Chunk(people, crowd) {
		part := rows{gym: shared.gym}
		if err := r.Store.Read(ctx, gymID, part.facts(during, store.Those(idsOf(some)), r.Now())...); err != nil {
			return err
		}
		view := part.view(ground)
		for i, a := range view.Athletes {
			if err := each(a, view.Facts[i]); err != nil {
				return err
			}
		}
	}
	return nil
}
