package review

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"pgregory.net/rapid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/progress"
	"ropewalk.example/internal/rate"
)

// The term of these tests begins on a Monday and has twelve weeks.
var (
	begins = time.Date(2026, time.September, 7, 0, 0, 0, 0, time.UTC)
	term   = gym.Term{Name: "Autumn", StartsOn: begins, EndsOn: begins.AddDate(0, 0, 83)}
)

func on(week int) time.Time { return begins.AddDate(0, 0, 7*(week-1)+1) } // a Tuesday

func ptr[T any](v T) *T { return &v }

func ground() Ground { return Ground{Span: SpanOf(term, term.EndsOn), AdultAge: 16} }

// base is a 60 s test of a week with seconds lost to catches.
func base(week, rotations, catches int, lost float64) gym.Result {
	r := gym.Result{ResultID: uuid.New(), Protocol: rate.Base, Day: on(week), Rotations: ptr(rotations), Seconds: ptr(60.0), Catches: catches,
		Step: "bounce", RopeKind: "beaded", Timing: "hand"}
	if catches > 0 {
		r.LostSeconds = &lost
	}
	return r
}

func TestWeeksOfATerm(t *testing.T) {
	s := SpanOf(gym.Term{StartsOn: begins.AddDate(0, 0, 2), EndsOn: begins.AddDate(0, 0, 30)}, begins.AddDate(0, 0, 15))
	tests := []struct {
		day  time.Time
		want int
	}{
		{begins, 1}, {begins.AddDate(0, 0, 6), 1}, {begins.AddDate(0, 0, 7), 2}, {begins.AddDate(0, 0, 15), 3},
	}
	for _, test := range tests {
		if got := s.Week(test.day); got != test.want {
			t.Errorf("%s is in week %d, want %d", test.day.Format(time.DateOnly), got, test.want)
		}
	}
	if s.Weeks() != 3 || s.Over() {
		t.Errorf("%d weeks, over %t; want 3 and not over", s.Weeks(), s.Over())
	}
	if !s.WeekStart(2).Equal(begins.AddDate(0, 0, 7)) {
		t.Errorf("week 2 starts on %s", s.WeekStart(2))
	}
	if late := SpanOf(term, term.EndsOn.AddDate(1, 0, 0)); !late.Over() || !late.AsOf.Equal(term.EndsOn) {
		t.Errorf("a term seen a year later is looked at until %s", late.AsOf)
	}
}

func TestEndsOfATerm(t *testing.T) {
	at := func(weeks ...int) []Test {
		var tests []Test
		for _, w := range weeks {
			tests = append(tests, Test{Day: on(w)})
		}
		return tests
	}
	tests := []struct {
		name       string
		tests      []Test
		start, end int
	}{
		{"none", nil, 0, 0},
		{"one", at(1), 1, 0},
		{"two, two weeks apart", at(1, 3), 2, 0},
		{"two, three weeks apart", at(1, 4), 1, 1},
		{"every other week", at(1, 3, 5, 7, 9), 2, 2},
		{"three close ones: the middle one is nearer to the start", at(1, 2, 4), 2, 1},
		{"in the middle of both: counts for the start", at(1, 3, 5), 2, 1},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			start, end := ends(test.tests)
			if len(start) != test.start || len(end) != test.end {
				t.Errorf("%d at the start and %d at the end, want %d and %d", len(start), len(end), test.start, test.end)
			}
		})
	}
}

func TestChangeOfARate(t *testing.T) {
	known := progress.Retest{Pairs: 30, TypicalError: 3}
	tests := []struct {
		name    string
		results []gym.Result
		scatter progress.Retest
		want    string
		gain    float64
		assumed bool
	}{
		{"one test is too few", []gym.Result{base(1, 100, 0, 0)}, known, "too few tests", 0, false},
		{"far above the scatter", []gym.Result{base(1, 100, 0, 0), base(9, 120, 0, 0)}, known, "really faster", 20, false},
		{"within the scatter", []gym.Result{base(1, 100, 0, 0), base(9, 105, 0, 0)}, known, "may be chance", 5, false},
		{"far below", []gym.Result{base(1, 120, 0, 0), base(9, 100, 0, 0)}, known, "really slower", -20, false},
		{"four per cent is assumed while the gym knows no scatter", []gym.Result{base(1, 100, 0, 0), base(9, 112, 0, 0)}, progress.Retest{}, "really faster", 12, true},
		{"two tests at each end need less", []gym.Result{base(1, 100, 0, 0), base(3, 100, 0, 0), base(7, 107, 0, 0), base(9, 107, 0, 0)}, known, "really faster", 7, false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			m := ratesOf(test.results, Scatter{Whole: test.scatter}).Whole
			if m.Words() != test.want {
				t.Errorf("%s, want %s", m.Words(), test.want)
			}
			if m.Judged() && (m.Gain() != test.gain || m.Assumed != test.assumed) {
				t.Errorf("gain %g, assumed %t; want %g, %t", m.Gain(), m.Assumed, test.gain, test.assumed)
			}
		})
	}
}

func TestOnlyLikeIsComparedWithLike(t *testing.T) {
	alternate := base(9, 140, 0, 0)
	alternate.Step = "alternate"
	late := base(11, 150, 0, 0)
	late.RopeKind = "cord"
	r := ratesOf([]gym.Result{base(1, 100, 0, 0), base(7, 110, 0, 0), alternate, late}, Scatter{})
	if r.Step != "bounce" || r.Rope != "beaded" || len(r.Tests) != 2 || math.Round(r.Whole.End.RPM) != 110 {
		t.Errorf("compared %d tests of %s on %s up to %.0f rpm", len(r.Tests), r.Step, r.Rope, r.Whole.End.RPM)
	}
}

func TestOddResultsCountNowhere(t *testing.T) {
	odd := base(9, 480, 0, 0)
	odd.KeptOdd = true
	a := ground().Of(Facts{Results: []gym.Result{base(1, 100, 0, 0), odd}})
	if a.LeftOut != 1 || len(a.Rates.Tests) != 1 || a.Runs.Best.Reps != 100 {
		t.Errorf("left out %d, %d tests, best %d; want 1, 1, 100", a.LeftOut, len(a.Rates.Tests), a.Runs.Best.Reps)
	}
}

// 100 rotations in 60 s with 15 s lost: the rope turned for three quarters of
// the time, at 133 rpm. Later 120 rotations with 5 s lost: eleven twelfths, at
// 131 rpm. The whole gain comes from catching less.
func TestWhereAChangeCameFrom(t *testing.T) {
	r := ratesOf([]gym.Result{base(1, 100, 6, 15), base(9, 120, 2, 5)}, Scatter{})
	if !r.Split.Known || r.Split.FewerCatches != 22 || r.Split.TurningFaster != -2 {
		t.Errorf("split %+v, want 22 from fewer catches and −2 from turning", r.Split)
	}
	if want := "Fewer catches gave 22 rpm, turning more slowly took 2."; r.Split.sentence(20) != want {
		t.Errorf("said %q", r.Split.sentence(20))
	}
	untimed := base(9, 120, 2, 5)
	untimed.LostSeconds = nil
	if s := ratesOf([]gym.Result{base(1, 100, 6, 15), untimed}, Scatter{}).Split; s.Known {
		t.Error("a split is known though nobody timed the catches")
	}
}

func TestSplitAddsUpToTheChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		test := func(week int) gym.Result {
			catches := rapid.IntRange(0, 6).Draw(t, "catches")
			return base(week, rapid.IntRange(40, 180).Draw(t, "rotations"), catches, rapid.Float64Range(0.5, 20).Draw(t, "lost"))
		}
		r := ratesOf([]gym.Result{test(1), test(3), test(8), test(10)}, Scatter{})
		if !r.Split.Known {
			return
		}
		if sum := r.Split.FewerCatches + r.Split.TurningFaster; sum != r.Whole.Gain() {
			t.Fatalf("%g and %g add up to %g, the change is %g", r.Split.FewerCatches, r.Split.TurningFaster, sum, r.Whole.Gain())
		}
	})
}

func TestScatterOfTheGym(t *testing.T) {
	var repeats []gym.Repeat
	for i := range 12 {
		repeats = append(repeats, gym.Repeat{Protocol: rate.Base, Seconds: 60, First: 100, Second: 100 + 4*(i%2), FirstLost: ptr(0.0), SecondLost: ptr(0.0)})
	}
	s := ScattersOf(repeats)[uuid.Nil]
	// Differences 0 and 4 in turn: their standard deviation is 2·√(12/11).
	if want := 2 * math.Sqrt(12.0/11) / math.Sqrt2; math.Abs(s.Whole.TypicalError-want) > 1e-9 || s.Turning != s.Whole {
		t.Errorf("typical errors %g and %g, want %g", s.Whole.TypicalError, s.Turning.TypicalError, want)
	}
	if s.Burst.Pairs != 0 || ScattersOf(repeats[:9])[uuid.Nil].Whole.Pairs != 0 {
		t.Error("too few pairs give a scatter")
	}
}

// A class of beginners has its own scatter; a class with too few pairs takes the
// gym's.
func TestScatterOfAClass(t *testing.T) {
	steady, wild, small := uuid.New(), uuid.New(), uuid.New()
	var repeats []gym.Repeat
	for i := range 12 {
		repeats = append(repeats, gym.Repeat{ClassID: steady, Protocol: rate.Base, Seconds: 60, First: 100, Second: 100 + 2*(i%2)},
			gym.Repeat{ClassID: wild, Protocol: rate.Base, Seconds: 60, First: 100, Second: 100 + 30*(i%2)})
	}
	repeats = append(repeats, gym.Repeat{ClassID: small, Protocol: rate.Base, Seconds: 60, First: 100, Second: 100})
	g := ground()
	g.Scatters = ScattersOf(repeats)
	in := func(class uuid.UUID) float64 {
		return g.scatterFor([]gym.Meeting{{ClassID: class}}).Whole.TypicalError
	}
	all := g.scatterFor(nil).Whole.TypicalError
	if !(in(steady) < all && all < in(wild)) || in(small) != all {
		t.Errorf("typical errors: steady %g, wild %g, small %g, all %g", in(steady), in(wild), in(small), all)
	}
}

func TestCleanRuns(t *testing.T) {
	run := func(week, reps int, clean bool) gym.Result {
		return gym.Result{Protocol: rate.CleanRun, Day: on(week), Rotations: ptr(reps), StoppedClean: clean, Step: "bounce", RopeKind: "cord"}
	}
	doubles := gym.Result{Protocol: rate.DoublesRun, Day: on(6), Rotations: ptr(3), Step: "double"}
	r := ground().runsOf([]gym.Result{run(1, 20, false), run(2, 60, false), run(3, 90, true), base(4, 100, 0, 0), base(5, 130, 1, 2), doubles})
	if len(r.Clean.All) != 3 || r.Clean.Tally.Catches != 2 || r.Best != (Best{Reps: 100, Day: on(4), Seconds: 60}) || r.BestRow.Reps != 3 {
		t.Errorf("%+v", r)
	}
	if !r.Clean.HasMedian || r.Clean.Median != 60 {
		t.Errorf("median %d, %t; want 60", r.Clean.Median, r.Clean.HasMedian)
	}
	want := []string{"The longest stretch without a catch was 100 jumps, in a test of 60 s on Tue 29 Sep.",
		"Of 3 counted runs, half went past 60 jumps.", "The longest row of double unders was 3, on Tue 13 Oct."}
	if got := r.Sentences(); !slices.Equal(got, want) {
		t.Errorf("said %q", got)
	}
}

// What a double asks is said of whoever tried doubles in the term, and of nobody
// else. By hand: at 210 rpm one turn takes 0.286 s, with a sweep of 0.07 s that is
// 0.356 s in the air, and a jump of g t²/8 = 15.5 cm.
func TestDoublesNeedAJump(t *testing.T) {
	g := ground()
	g.Sweep = 0.07
	steady := base(11, 120, 0, 0)
	inside := gym.Result{Protocol: rate.InDouble, Day: on(11), TakenAt: on(11), Rotations: ptr(35), Seconds: ptr(10.0), Step: "double", SeenByCoach: true}
	flight := gym.Result{Protocol: rate.Flight, Day: on(11), TakenAt: on(11), FlightSeconds: ptr(0.38), Step: "double"}
	low := flight
	low.FlightSeconds = ptr(0.3)
	slow := inside
	slow.Rotations = ptr(25)
	row := gym.Result{Protocol: rate.DoublesRun, Day: on(11), Rotations: ptr(3), Step: "double"}
	for name, test := range map[string]struct {
		results []gym.Result
		want    string
	}{
		"never tried":     {[]gym.Result{steady}, ""},
		"no rate yet":     {[]gym.Result{row}, ""},
		"a rate":          {[]gym.Result{steady, inside}, "At 210 rpm of the rope a double needs a jump of 16 cm."},
		"jumps enough":    {[]gym.Result{steady, inside, flight}, "At 210 rpm of the rope a double needs a jump of 16 cm. The measured jump was 18 cm high: high enough."},
		"jumps too low":   {[]gym.Result{steady, inside, low}, "At 210 rpm of the rope a double needs a jump of 16 cm. The measured jump was 11 cm high: not yet high enough."},
		"turns too slow":  {[]gym.Result{steady, slow}, "At 150 rpm of the rope a double needs a jump of 27 cm. Higher than 20 cm is not planned: turn faster first."},
		"of another term": {[]gym.Result{steady, {Protocol: rate.InDouble, Day: on(-9), Rotations: ptr(35), Seconds: ptr(10.0), Step: "double"}}, ""},
	} {
		d := g.Of(Facts{Results: test.results}).Doubles
		if got := strings.Join(d.Sentences(), " "); got != test.want {
			t.Errorf("%s: said %q, want %q", name, got, test.want)
		}
	}
}

func decide(week int, from, to, verdict string) gym.StageDecision {
	return gym.StageDecision{DecisionID: uuid.New(), Verdict: verdict, StageFrom: from, StageTo: to, DecidedOn: on(week), DecidedAt: on(week).Add(18 * time.Hour)}
}

func shipped(t *testing.T) (ladder.Ladder, ladder.Words) {
	t.Helper()
	l, err := ladder.Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	words, err := ladder.WordsIn("en")
	if err != nil {
		t.Fatal(err)
	}
	return l.Numbered(), words
}

func TestClimbOfALadder(t *testing.T) {
	g := ground()
	g.Ladder, g.Words = shipped(t)
	key := func(n int) string { return g.Ladder.Stages[n-1].Key }
	up := decide(5, key(3), key(4), "up")
	slip := decide(6, key(4), key(5), "up")
	back := decide(7, key(5), key(4), "back")
	back.TakesBack = slip.DecisionID
	c := g.climbOf([]gym.StageDecision{decide(-4, "", key(3), "start"), up, slip, back, decide(20, key(4), key(5), "up")})
	if c.Start.Number != 3 || c.End.Number != 4 || len(c.Moves) != 1 || !c.Moves[0].Day.Equal(on(5)) || c.Ups() != 1 {
		t.Errorf("%+v", c)
	}
	if began := g.climbOf([]gym.StageDecision{decide(2, "", key(2), "start"), decide(9, key(2), key(1), "down")}); began.Start.Number != 2 || began.Ups() != 0 || len(began.Moves) != 1 {
		t.Errorf("begun within the term: %+v", began)
	}
	if none := g.climbOf(nil); none.End.Known() || none.Sentences()[0] != "No stage has been decided yet." {
		t.Errorf("%+v", none)
	}
}

func TestAttendanceOfATerm(t *testing.T) {
	meet := func(week int, here *bool) gym.Meeting { return gym.Meeting{Day: on(week), Minutes: 45, Here: here} }
	a := ground().attendanceOf([]gym.Meeting{meet(-1, ptr(true)), meet(1, ptr(true)), meet(2, nil), meet(3, ptr(true)), meet(4, ptr(false)), meet(5, ptr(false))})
	if a.Here != 2 || a.Noted != 4 || a.Minutes != 90 || a.Row != 2 || len(a.Meetings) != 5 || a.Share() != 0.5 {
		t.Errorf("%+v", a)
	}
	if got := a.Sentence(); got != "Came to 2 of 4 meetings." {
		t.Errorf("said %q", got)
	}
}

// Foster's monotony of one session of 225 in a week: mean 225/7, SD 225/√7, so
// 1/√7 (Med. Sci. Sports Exerc. 30 (1998) 1164–1168).
func TestLoadOfATerm(t *testing.T) {
	said := func(week, effort int, minutes float64, contacts int) gym.Debrief {
		return gym.Debrief{Day: on(week), Effort: &effort, Minutes: &minutes, Contacts: &contacts}
	}
	l := ground().loadOf([]gym.Debrief{said(1, 5, 45, 300), said(3, 3, 45, 250), {Day: on(4), Effort: ptr(7)}, said(99, 9, 45, 900)}, []gym.Result{base(3, 100, 0, 0)})
	if len(l.Weeks) != 12 || l.Weeks[0].Total != 225 || l.Weeks[1].Total != 0 || l.Weeks[2].Total != 135 || l.Total != 360 {
		t.Errorf("%+v", l)
	}
	if math.Abs(l.Weeks[0].Monotony-1/math.Sqrt(7)) > 1e-12 || !math.IsNaN(l.Weeks[1].Monotony) {
		t.Errorf("monotony %g and %g", l.Weeks[0].Monotony, l.Weeks[1].Monotony)
	}
	if l.Sessions != 2 || l.Minutes != 90 || l.Contacts != 650 || l.Effort != 5 {
		t.Errorf("%+v", l)
	}
}

func TestCatchesByPlaceAndTime(t *testing.T) {
	note := func(week int, spot, timing string) gym.CatchNote {
		return gym.CatchNote{Day: on(week), Spot: spot, Timing: timing}
	}
	c := ground().catchesOf([]gym.CatchNote{note(1, "head", "late"), note(1, "toes", "early"), note(2, "toes", "early"), note(2, "toes", ""), note(30, "toes", "late"), note(2, "", "late")})
	if c.Total != 4 || len(c.Rows) != 2 || c.Rows[0] != (CatchRow{Spot: ladder.Toes, Early: 2, Other: 1}) || c.Rows[1].Late != 1 {
		t.Errorf("%+v", c)
	}
}

func TestAimNamesWhatTheGateAsks(t *testing.T) {
	g := ground()
	g.Ladder, g.Words = shipped(t)
	key := g.Ladder.Stages[3].Key // the steady minute
	a := g.Of(Facts{Decisions: []gym.StageDecision{decide(1, "", key, "start")}, Comment: gym.Comment{Aim: "Hands by the hips."}})
	said := strings.Join(a.Aim.Sentences(), " ")
	if a.Aim.Stage.Number != 4 || a.Aim.Next.Number != 5 || a.Aim.Met || len(a.Aim.Missing) == 0 || !strings.HasPrefix(said, "Hands by the hips. Next comes stage 5") {
		t.Errorf("%+v, said %q", a.Aim, said)
	}
}

func TestWhoNeedsALook(t *testing.T) {
	g := ground()
	g.Ladder, g.Words = shipped(t)
	stage := g.Ladder.Stages[3].Key
	here, away := ptr(true), ptr(false)
	meetings := func(came ...*bool) []gym.Meeting {
		var all []gym.Meeting
		for i, here := range came {
			all = append(all, gym.Meeting{Day: on(i + 1), Here: here})
		}
		return all
	}
	fresh := base(10, 100, 0, 0)
	odd := base(11, 480, 0, 0)
	odd.KeptOdd = true
	moved := []gym.StageDecision{decide(11, "", stage, "start")}
	tests := []struct {
		name  string
		facts Facts
		want  []Reason
	}{
		{"all well", Facts{Results: []gym.Result{fresh}, Decisions: moved, Meetings: meetings(here, here)}, nil},
		{"tested eight weeks ago", Facts{Results: []gym.Result{base(4, 100, 0, 0)}, Decisions: moved}, []Reason{NoTest}},
		{"away twice", Facts{Results: []gym.Result{fresh}, Decisions: moved, Meetings: meetings(here, here, here, away, away)}, []Reason{AwayInRow}},
		{"seldom here", Facts{Results: []gym.Result{fresh}, Decisions: moved, Meetings: meetings(here, away, here, away)}, []Reason{Seldom}},
		{"a result to look at", Facts{Results: []gym.Result{fresh, odd}, Decisions: moved}, []Reason{OddLeft}},
		{"no stage", Facts{Results: []gym.Result{fresh}}, []Reason{NoStage}},
		{"long on a stage", Facts{Results: []gym.Result{fresh}, Decisions: []gym.StageDecision{decide(-9, "", stage, "start")}}, []Reason{SameStage}},
		{"really slower", Facts{Results: []gym.Result{base(1, 150, 0, 0), fresh}, Decisions: moved}, []Reason{Slower}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := g.reasons(g.Of(test.facts)); !slices.Equal(got, test.want) {
				t.Errorf("%q, want %q", got, test.want)
			}
		})
	}
}

func TestGroupOfAthletes(t *testing.T) {
	g := ground()
	g.Scatters = map[uuid.UUID]Scatter{uuid.Nil: {Whole: progress.Retest{Pairs: 30, TypicalError: 3}}}
	s := g.Sum()
	here, away := ptr(true), ptr(false)
	for i, results := range [][]gym.Result{
		{base(1, 80, 2, 4), base(9, 110, 1, 2)},
		{base(1, 90, 0, 0), base(9, 92, 0, 0)},
		{base(1, 100, 1, 3), base(9, 80, 2, 6)},
		{base(2, 120, 0, 0)},
		nil,
	} {
		came := here
		if i == 4 {
			came = away
		}
		s.Add(g.Of(Facts{Results: results, Meetings: []gym.Meeting{{Day: on(1), Here: came}}}))
	}
	got := s.Group()
	if got.Athletes != 5 || got.Tested != 4 || got.Real != (Verdicts{Faster: 1, Slower: 1, WithinError: 1, TooFew: 2}) {
		t.Errorf("%+v", got)
	}
	if w := got.Whole; w.Start != (Spread{4, 80, 95, 120}) || w.End != (Spread{3, 80, 92, 110}) {
		t.Errorf("whole-test rates %+v", w)
	}
	if got.Gain != (Spread{3, -20, 2, 30}) || got.Here != 4 || got.Noted != 5 || got.Weeks[0].Share() != 0.8 {
		t.Errorf("gain %+v, %d of %d here", got.Gain, got.Here, got.Noted)
	}
	if (Spread{N: 2}).Shown() || !got.Gain.Shown() {
		t.Error("a spread of two is shown, or one of three is not")
	}
}

// Nobody is told apart by the order in which they come.
func TestGroupDoesNotDependOnTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := ground()
		var athletes []Athlete
		for range rapid.IntRange(0, 8).Draw(t, "athletes") {
			athletes = append(athletes, g.Of(Facts{Results: []gym.Result{
				base(1, rapid.IntRange(50, 150).Draw(t, "start"), 0, 0), base(9, rapid.IntRange(50, 150).Draw(t, "end"), 0, 0)}}))
		}
		there, back := g.Sum(), g.Sum()
		for i := range athletes {
			there.Add(athletes[i])
			back.Add(athletes[len(athletes)-1-i])
		}
		a, b := there.Group(), back.Group()
		if a.Whole != b.Whole || a.Gain != b.Gain || a.Real != b.Real {
			t.Fatalf("%+v and %+v", a, b)
		}
	})
}
