package demoseed_test

import (
	"context"
	"errors"
	"log/slog"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

type install struct {
	store  *store.Store
	seeder demoseed.Seeder
	owner  *pgx.Conn // sees past the policies
}

func newInstall(t *testing.T, tune ...func(*pgxpool.Config)) install {
	t.Helper()
	db := testdb.New(t)
	st, err := store.Open(t.Context(), db.AppURL, tune...)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	owner, err := pgx.Connect(t.Context(), db.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = owner.Close(context.WithoutCancel(t.Context())) })
	return install{st, demoseed.Seeder{Store: st, Hasher: hasher, Log: slog.New(slog.DiscardHandler)}, owner}
}

func (in install) count(t *testing.T, what string) int {
	t.Helper()
	var n int
	if err := in.owner.QueryRow(t.Context(), `SELECT count(*) FROM `+what).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// counts are how many rows each kind of record has.
func (in install) counts(t *testing.T) map[string]int {
	t.Helper()
	counts := map[string]int{}
	for _, table := range []string{"gym", "person", "membership", "class", "athlete", "enrolment", "rope", "session", "attendance",
		"result", "plan", "debrief", "hold", "stage", "stage_decision",
		"judgement", "catch_note", "assignment", "rope_check", "rope_loan", "class_rope_kind"} {
		counts[table] = in.count(t, table)
	}
	return counts
}

func TestFill(t *testing.T) {
	in := newInstall(t)
	made, err := in.seeder.Fill(t.Context(), demo.Now())
	if err != nil || !made {
		t.Fatalf("Fill = %t, %v", made, err)
	}
	g, err := demo.Generate(demo.Now())
	if err != nil {
		t.Fatal(err)
	}
	counts := in.counts(t)
	for table, want := range map[string]int{
		"gym": 1, "person": 1 + len(g.Coaches), "class": len(g.Classes), "athlete": len(g.Athletes), "enrolment": len(g.Athletes),
		"rope": len(g.Ropes), "session": len(g.Sessions), "attendance": len(g.Attendance), "stage": 16, "stage_decision": len(g.Athletes) + 5, // starts, and words on four athletes
	} {
		if counts[table] != want {
			t.Errorf("%d rows of %s, want %d", counts[table], table, want)
		}
	}
	if n := in.count(t, "result WHERE protocol IN ('base', 'burst')"); n != len(g.Tests) {
		t.Errorf("%d timed tests, the demo has %d", n, len(g.Tests))
	}
	var theGym gym.Gym
	if err := in.store.Read(t.Context(), demoseed.GymID(), store.TheGym(&theGym)); err != nil || !theGym.Invented {
		t.Errorf("the gym is marked as invented: %t, %v", theGym.Invented, err)
	}
	if n := in.count(t, "gym WHERE NOT invented"); n != 0 {
		t.Errorf("%d gyms are not marked as invented", n)
	}

	made, err = in.seeder.Fill(t.Context(), demo.Now())
	if err != nil || made {
		t.Errorf("a second Fill = %t, %v; want nothing done", made, err)
	}
	for table, n := range in.counts(t) {
		if n != counts[table] {
			t.Errorf("a second Fill changed %s from %d to %d rows", table, counts[table], n)
		}
	}
}

// Every plan of the term, worked out again from what is kept with it, comes to
// the same bytes.
func TestEveryPlanIsTheSameWorkedOutAgain(t *testing.T) {
	in := newInstall(t)
	if _, err := in.seeder.Fill(t.Context(), demo.TermOver()); err != nil {
		t.Fatal(err)
	}
	var plans []gym.Plan
	if err := in.store.Read(t.Context(), demoseed.GymID(), store.AllPlans(&plans)); err != nil {
		t.Fatal(err)
	}
	if len(plans) < 200 {
		t.Fatalf("only %d plans in a term", len(plans))
	}
	for _, plan := range plans {
		if _, same, err := coaching.Recompute(plan); err != nil || !same {
			t.Errorf("plan %s of %s: same %t, %v", plan.PlanID, plan.Day.Format(time.DateOnly), same, err)
		}
	}
}

// The stories of the demo are there: somebody held for pain, one odd value, two
// phones that disagree.
func TestStories(t *testing.T) {
	in := newInstall(t)
	if _, err := in.seeder.Fill(t.Context(), demo.Now()); err != nil {
		t.Fatal(err)
	}
	for what, rows := range map[string]string{
		"a pain hold":            "hold WHERE opened",
		"the count typed wrong":  "result WHERE kept_odd AND rotations = 480",
		"a coach who said stay":  "stage_decision WHERE verdict = 'stay'",
		"a coach who said up":    "stage_decision WHERE verdict = 'up'",
		"a catch diary":          "catch_note WHERE timing = 'early'",
		"a rope lent":            "rope WHERE athlete_id IS NOT NULL",
		"a drill set":            "assignment WHERE kind = 'drill'",
		"two phones' two counts": "result WHERE kept_odd AND note LIKE 'Two phones%'",
	} {
		if n := in.count(t, rows); n == 0 {
			t.Errorf("%s is missing", what)
		}
	}
}

// breaker lets so many statements through and cancels the rest.
type breaker struct{ left int }

func (b *breaker) TraceQueryStart(ctx context.Context, _ *pgx.Conn, _ pgx.TraceQueryStartData) context.Context {
	if b.left--; b.left >= 0 {
		return ctx
	}
	broken, cancel := context.WithCancel(ctx)
	cancel()
	return broken
}

func (*breaker) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// A fill that broke off, again and again, goes on where it stopped and ends
// like one that did not.
func TestFillGoesOn(t *testing.T) {
	whole := newInstall(t)
	if _, err := whole.seeder.Fill(t.Context(), demo.Now()); err != nil {
		t.Fatal(err)
	}
	want := whole.counts(t)
	b := &breaker{}
	broken := newInstall(t, func(c *pgxpool.Config) { c.ConnConfig.Tracer = b })
	breaks := 0
	for after := 5; ; after += after / 2 {
		b.left = after
		_, err := broken.seeder.Fill(t.Context(), demo.Now())
		if err == nil {
			break
		}
		breaks++
		if !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
	}
	if breaks < 8 {
		t.Errorf("it broke off %d times, want more", breaks)
	}
	for table, n := range broken.counts(t) {
		if n != want[table] {
			t.Errorf("after breaking off there are %d rows of %s, want %d", n, table, want[table])
		}
	}
}
