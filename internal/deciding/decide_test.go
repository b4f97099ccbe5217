package deciding

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// steadyMinute meets the gate of the steady minute on two days.
func (h *hall) steadyMinute(athlete uuid.UUID) {
	h.t.Helper()
	h.record(athlete, 8, base(100, 1))
	h.record(athlete, 1, base(104, 2))
}

func TestAMetGateNeedsNoReason(t *testing.T) {
	h := newHall(t)
	h.place("steady-minute", h.ben)
	h.steadyMinute(h.ben)
	made, err := h.Decide(t.Context(), h.coach, Decision{Athlete: h.ben, From: "steady-minute", To: "alternate-step"})
	if err != nil {
		t.Fatal(err)
	}
	if made.Verdict != standing.Up || made.StageFrom != "steady-minute" {
		t.Errorf("%+v", made)
	}
	var rows []ladder.ClauseVerdict
	if err := json.Unmarshal(made.Evidence, &rows); err != nil || len(rows) != 1 || rows[0].State != ladder.Met || len(rows[0].Results) != 2 {
		t.Errorf("the evidence as it stood: %s (%v)", made.Evidence, err)
	}
	if _, a := h.load(h.ben); a.Place.Stage != "alternate-step" || !a.Place.Since.Equal(today) {
		t.Errorf("stands on %+v", a.Place)
	}
}

func TestDecisionsThatAreRefused(t *testing.T) {
	h := newHall(t)
	h.place("steady-minute", h.ben)
	h.steadyMinute(h.ben)
	h.place("first-jumps", h.ana)
	for _, test := range []struct {
		name string
		who  gym.Who
		ask  Decision
		want problem.Kind
	}{
		{"up without the gate and without a reason", h.coach, Decision{Athlete: h.ana, From: "first-jumps", To: "ten-then-thirty"}, problem.Invalid},
		{"two up through a met gate without a reason", h.coach, Decision{Athlete: h.ben, From: "steady-minute", To: "changes-of-pace"}, problem.Invalid},
		{"stay without a reason", h.coach, Decision{Athlete: h.ben, From: "steady-minute", To: "steady-minute", Reason: "  "}, problem.Invalid},
		{"a stage that the ladder does not have", h.coach, Decision{Athlete: h.ben, From: "steady-minute", To: "flying", Reason: "why"}, problem.Invalid},
		{"a reason of a page", h.coach, Decision{Athlete: h.ben, From: "steady-minute", To: "first-jumps", Reason: string(make([]byte, 600))}, problem.Invalid},
		{"by a helper", h.helper, Decision{Athlete: h.ben, From: "steady-minute", To: "alternate-step"}, problem.Forbidden},
		{"on nobody", h.coach, Decision{Athlete: uuid.New(), To: "first-jumps", Reason: "why"}, problem.NotFound},
		{"after somebody else decided", h.coach, Decision{Athlete: h.ben, From: "first-jumps", To: "alternate-step", Reason: "why"}, problem.Conflict},
	} {
		t.Run(test.name, func(t *testing.T) {
			if _, err := h.Decide(t.Context(), test.who, test.ask); problem.KindOf(err) != test.want {
				t.Errorf("%v is of kind %d, want %d", err, problem.KindOf(err), test.want)
			}
		})
	}
	if _, a := h.load(h.ben); a.Place.Stage != "steady-minute" || len(a.Decisions) != 1 {
		t.Errorf("a refused decision left something behind: %+v", a.Place)
	}
}

func TestADecisionSentTwiceIsKeptOnce(t *testing.T) {
	h := newHall(t)
	h.place("steady-minute", h.ben)
	ask := Decision{ID: uuid.New(), Athlete: h.ben, From: "steady-minute", To: "first-jumps", Reason: "Back after a long rest."}
	for range 2 {
		if _, err := h.Decide(t.Context(), h.coach, ask); err != nil {
			t.Fatal(err)
		}
	}
	if _, a := h.load(h.ben); len(a.Decisions) != 2 || a.Place.Stage != "first-jumps" {
		t.Errorf("%d decisions, stands on %s", len(a.Decisions), a.Place.Stage)
	}
}

func TestTakingADecisionBack(t *testing.T) {
	h := newHall(t)
	h.place("steady-minute", h.ben)
	_, before := h.load(h.ben)
	h.now = noon.AddDate(0, 0, 7)
	up, err := h.Decide(t.Context(), h.coach, Decision{Athlete: h.ben, From: "steady-minute", To: "alternate-step", Reason: "Seen on Tuesday."})
	if err != nil {
		t.Fatal(err)
	}
	h.now = h.now.Add(time.Minute)
	if _, err := h.TakeBack(t.Context(), h.coach, before.Place.Decision); problem.KindOf(err) != problem.Conflict {
		t.Errorf("an older decision taken back: %v, want a Conflict", err)
	}
	if _, err := h.TakeBack(t.Context(), h.helper, up.DecisionID); problem.KindOf(err) != problem.Forbidden {
		t.Errorf("by a helper: %v, want Forbidden", err)
	}
	if _, err := h.TakeBack(t.Context(), h.coach, up.DecisionID); err != nil {
		t.Fatal(err)
	}
	if _, err := h.TakeBack(t.Context(), h.coach, up.DecisionID); problem.KindOf(err) != problem.Conflict {
		t.Errorf("taken back twice: %v, want a Conflict", err)
	}
	_, after := h.load(h.ben)
	if after.Place != before.Place {
		t.Errorf("stands on %+v, before it was %+v", after.Place, before.Place)
	}
	var newest []gym.StageDecision
	if err := h.Store.Read(t.Context(), h.gym, store.PlacesOfClass(h.class, &newest)); err != nil {
		t.Fatal(err)
	}
	if len(newest) != 1 || newest[0].StageTo != "steady-minute" {
		t.Errorf("the list of the class says %+v", newest)
	}
}

func TestACoachsLookMeetsAGate(t *testing.T) {
	h := newHall(t)
	h.place("first-jumps", h.ana)
	seen := Look{ID: uuid.New(), Athlete: h.ana, Stage: "first-jumps", Task: "single-jumps", Good: true}
	for range 2 {
		if err := h.Judge(t.Context(), h.coach, seen); err != nil {
			t.Fatal(err)
		}
	}
	g, a := h.load(h.ana)
	if v, _ := g.Verdict(a, "first-jumps"); v.State != ladder.Met || len(a.Judged) != 1 {
		t.Errorf("%+v after %d looks", v, len(a.Judged))
	}
	// A "not yet" that stands instead of it takes it back; both are kept.
	h.now = h.now.Add(time.Minute)
	notYet := Look{ID: uuid.New(), Athlete: h.ana, Stage: "first-jumps", Task: "single-jumps", Instead: seen.ID}
	for range 2 {
		if err := h.Judge(t.Context(), h.coach, notYet); err != nil {
			t.Fatal(err)
		}
	}
	g, a = h.load(h.ana)
	if v, _ := g.Verdict(a, "first-jumps"); v.State != ladder.NotYet || len(a.Judged) != 3 {
		t.Errorf("%+v after %d looks", v, len(a.Judged))
	}
	if err := h.TakeBackLook(t.Context(), h.coach, h.ana, notYet.ID); err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"of another athlete":         h.TakeBackLook(t.Context(), h.coach, h.ben, seen.ID),
		"a point that is not judged": h.Judge(t.Context(), h.coach, Look{Athlete: h.ana, Stage: "first-jumps", Task: "breathing", Good: true}),
		"a stage that is not there":  h.Judge(t.Context(), h.coach, Look{Athlete: h.ana, Stage: "flying", Task: "eyes", Good: true}),
		"by a helper":                h.Judge(t.Context(), h.helper, seen),
	} {
		if kind := problem.KindOf(err); kind != problem.NotFound && kind != problem.Conflict && kind != problem.Forbidden {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestTheDiarySuggestsOneCue(t *testing.T) {
	h := newHall(t)
	own := gym.Who{GymID: h.gym, AthleteID: h.ana, Role: gym.Jumper, Name: "Ana"}
	note := func(c gym.CatchNote) uuid.UUID {
		t.Helper()
		c.CatchNoteID, c.AthleteID = uuid.New(), h.ana
		if err := h.NoteCatch(t.Context(), own, c); err != nil {
			t.Fatal(err)
		}
		return c.CatchNoteID
	}
	last := uuid.Nil
	for range 3 {
		last = note(gym.CatchNote{Spot: "toes", Timing: "early"})
	}
	notes := func() []gym.CatchNote {
		var list []gym.CatchNote
		if err := h.Store.Read(t.Context(), h.gym, store.CatchNotes(store.Only(h.ana), today, &list)); err != nil {
			t.Fatal(err)
		}
		return list
	}
	if s := Suggest(notes(), today); s.Cue != "jump_then_turn" || s.Matched != 3 {
		t.Errorf("three early turns suggest %+v", s)
	}
	if err := h.TakeBackCatch(t.Context(), own, h.ana, last); err != nil {
		t.Fatal(err)
	}
	if s := Suggest(notes(), today); s.Cue != "" || s.Needed != 1 {
		t.Errorf("two notes suggest %+v", s)
	}
	if err := h.TakeBackCatch(t.Context(), own, h.ana, last); problem.KindOf(err) != problem.NotFound {
		t.Errorf("taken back twice: %v", err)
	}
	for name, c := range map[string]gym.CatchNote{"nothing noticed": {}, "no such spot": {Spot: "elbow"}, "no such time": {Timing: "noon"},
		"no such place of hands": {Hands: "pockets"}, "no such height": {Height: "moon"}} {
		c.AthleteID = h.ana
		if err := h.NoteCatch(t.Context(), own, c); problem.KindOf(err) != problem.Invalid {
			t.Errorf("%s: %v, want Invalid", name, err)
		}
	}
}

// The odds of the next attempt rest on the athlete's own reps.
func TestOddsOfTheNextAttempt(t *testing.T) {
	h := newHall(t)
	h.place("ten-then-thirty", h.ana)
	odds := func() Odds {
		g, a := h.load(h.ana)
		stage, _ := g.Stage(a)
		all := g.Odds(a, stage)
		if len(all) == 0 {
			t.Fatal("no odds")
		}
		return all[0]
	}
	if o := odds(); o.Known || o.Target != 10 {
		t.Errorf("without any rep: %+v", o)
	}
	h.record(h.ana, 20, run(6))
	few := odds()
	h.record(h.ana, 9, base(200, 2))
	many := odds()
	if !few.Known || !many.Known || many.Chance <= few.Chance || many.Chance >= 1 || many.Basis != (Basis{Reps: 206, Catches: 3}) {
		t.Errorf("6 clean reps: %+v; 206: %+v", few, many)
	}
	h.record(h.ana, 100, run(1))
	if o := odds(); o.Basis != many.Basis {
		t.Errorf("a run before the last 12 weeks speaks: %+v", o.Basis)
	}
}

func TestOddsOfTriesRestOnTries(t *testing.T) {
	h := newHall(t)
	h.place("one-double-stop", h.ben)
	h.record(h.ben, 8, gym.Result{Protocol: "doubles", Rotations: ptr(1), Step: "double"})
	first := func() Odds {
		g, a := h.load(h.ben)
		stage, _ := g.Stage(a)
		return g.Odds(a, stage)[0]
	}
	if o := first(); !o.Known || o.Basis.Tries != 0 || o.Tries != 5 {
		t.Errorf("a row alone: %+v", o)
	}
	h.record(h.ben, 1, gym.Result{Protocol: "tries", Task: "one-double-stop", Successes: ptr(2), Attempts: ptr(5), Step: "double"})
	if o := first(); o.Basis.Tries != 5 || o.Chance <= 0 || o.Chance >= 1 {
		t.Errorf("two good tries of five: %+v", o)
	}
}

func TestTail(t *testing.T) {
	for _, test := range []struct {
		p    float64
		k, m int
		want float64 // exact fractions
	}{
		{0.5, 3, 5, 16.0 / 32}, {0.5, 5, 5, 1.0 / 32}, {0.5, 1, 5, 31.0 / 32}, {0, 1, 5, 0}, {1, 5, 5, 1}, {0.25, 2, 2, 1.0 / 16}, {0.25, 1, 2, 7.0 / 16},
	} {
		if got := tailOf(test.p, test.k, test.m); got < test.want-1e-12 || got > test.want+1e-12 {
			t.Errorf("%d of %d at %g: %g, want %g", test.k, test.m, test.p, got, test.want)
		}
	}
}

func TestOwnRates(t *testing.T) {
	results := []gym.Result{
		{Protocol: "base", Day: today, TakenAt: noon, Rotations: ptr(120), Seconds: ptr(60.0), Step: "bounce", RopeKind: "cord", Timing: "hand"},
		{Protocol: "burst", Day: today, TakenAt: noon, Rotations: ptr(31), Seconds: ptr(10.0), Step: "bounce", RopeKind: "cord", Timing: "hand"},
	}
	rates, err := RatesOf(results, []gym.Plan{{Output: []byte(`{"kind":"split","target_rpm":140,"split":{"steady":20,"burst":10}}`)}}, today)
	if err != nil {
		t.Fatal(err)
	}
	if rates.Base != 120 || rates.Burst != 186 || rates.Target != 140 || rates.Double != 93 {
		t.Errorf("%+v", rates)
	}
	results[1].Rotations = ptr(25) // 150 rpm: too slow for a low double
	if rates, err = RatesOf(results, nil, today); err != nil || rates.Double != 0 || rates.Target != 0 {
		t.Errorf("%+v, %v", rates, err)
	}
}

// A class loads in as many round trips as one athlete does.
func TestUnplacedAndPlacedAthletes(t *testing.T) {
	h := newHall(t)
	h.place("steady-minute", h.ben)
	h.steadyMinute(h.ben)
	h.write(func(ctx context.Context, tx *store.Tx) error {
		return tx.AddDecisions(ctx, []gym.StageDecision{{DecisionID: uuid.New(), AthleteID: h.cleo, Verdict: "start", StageTo: "gone", LadderID: h.ladder, Version: 1,
			DecidedOn: today, DecidedAt: noon, DecidedBy: h.coach.PersonID}})
	})
	g, err := h.Load(t.Context(), h.coach, store.InClass(h.class))
	if err != nil {
		t.Fatal(err)
	}
	class, unplaced := g.Class()
	if len(unplaced) != 1 || unplaced[0].AthleteID != h.ana {
		t.Errorf("unplaced: %+v", unplaced)
	}
	if len(class.Ready) != 1 || class.Ready[0] != h.ben.String() || len(class.Astray) != 1 || class.Astray[0] != h.cleo.String() {
		t.Errorf("ready %v, astray %v", class.Ready, class.Astray)
	}
	bare, err := h.Places(t.Context(), h.coach, store.InClass(h.class))
	if err != nil || len(bare.Athletes) != 3 || bare.Athletes[1].Place.Stage != "steady-minute" {
		t.Errorf("%+v, %v", bare.Athletes, err)
	}
	if _, ok := bare.Verdict(bare.Athletes[1], "steady-minute"); ok {
		t.Error("places alone have no verdicts")
	}
}
