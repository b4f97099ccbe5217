package deciding

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// noon is where every test's clock begins: a Wednesday.
var noon = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

var today = time.Date(2026, time.November, 4, 0, 0, 0, 0, time.UTC)

// A hall is one gym with a class of three and the ladder that ships.
type hall struct {
	*Deciding
	t              testing.TB
	db             testdb.DB
	now            time.Time
	gym, class     uuid.UUID
	ladder         uuid.UUID
	coach, helper  gym.Who
	ana, ben, cleo uuid.UUID // born 2014, 2000, in an unknown year
	beaded, cord   uuid.UUID
	steel          uuid.UUID
}

func newHall(t testing.TB) *hall {
	t.Helper()
	db := testdb.New(t)
	st, err := store.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	h := &hall{t: t, db: db, now: noon, gym: uuid.New(), class: uuid.New(), ladder: uuid.New(), ana: uuid.New(), ben: uuid.New(), cleo: uuid.New(),
		beaded: uuid.New(), cord: uuid.New(), steel: uuid.New()}
	h.Deciding = &Deciding{Store: st, Now: func() time.Time { return h.now }}
	h.coach = gym.Who{GymID: h.gym, PersonID: uuid.New(), Role: gym.Coach, Name: "Mara"}
	h.helper = gym.Who{GymID: h.gym, PersonID: uuid.New(), Role: gym.Assistant, Name: "Pau"}
	h.write(h.furnish)
	return h
}

func (h *hall) furnish(ctx context.Context, tx *store.Tx) error {
	if err := tx.AddGym(ctx, gym.Gym{Name: "Hall", TimeZone: "Europe/London", AdultAge: 16, CreatedAt: noon}); err != nil {
		return err
	}
	if err := tx.AddClass(ctx, gym.Class{ClassID: h.class, Name: "Starters", Code: "ABC", CreatedAt: noon}, "starters", h.class.String()); err != nil {
		return err
	}
	if _, _, err := tx.AddAthletes(ctx, []store.NewAthlete{
		{Athlete: gym.Athlete{AthleteID: h.ana, Name: "Ana", BirthYear: 2014}, NameKey: "ana"},
		{Athlete: gym.Athlete{AthleteID: h.ben, Name: "Ben", BirthYear: 2000}, NameKey: "ben"},
		{Athlete: gym.Athlete{AthleteID: h.cleo, Name: "Cleo"}, NameKey: "cleo"}}, noon); err != nil {
		return err
	}
	if _, err := tx.Enrol(ctx, h.class, []uuid.UUID{h.ana, h.ben, h.cleo}, today); err != nil {
		return err
	}
	for id, kind := range map[uuid.UUID]string{h.beaded: "beaded", h.cord: "cord", h.steel: "steel"} {
		if err := tx.AddRope(ctx, gym.Rope{RopeID: id, Label: kind, Kind: kind, LengthM: 2.6}, noon); err != nil {
			return err
		}
	}
	kept, version, stages, err := standing.Shipped(h.ladder, noon)
	if err != nil {
		return err
	}
	if err := tx.AddLadder(ctx, kept); err != nil {
		return err
	}
	return tx.AddLadderVersion(ctx, version, stages)
}

func (h *hall) write(do func(ctx context.Context, tx *store.Tx) error) {
	h.t.Helper()
	ctx := h.t.Context()
	if err := h.Store.Write(ctx, h.gym, func(tx *store.Tx) error { return do(ctx, tx) }); err != nil {
		h.t.Fatal(err)
	}
}

// place puts athletes on a stage, in one decision each.
func (h *hall) place(stage string, athletes ...uuid.UUID) {
	h.t.Helper()
	for _, athlete := range athletes {
		if _, err := h.Decide(h.t.Context(), h.coach, Decision{Athlete: athlete, To: stage, Reason: "First day."}); err != nil {
			h.t.Fatal(err)
		}
	}
}

// record keeps a result made daysAgo.
func (h *hall) record(athlete uuid.UUID, daysAgo int, r gym.Result) uuid.UUID {
	h.t.Helper()
	r.ResultID, r.AthleteID, r.Day, r.TakenAt = uuid.New(), athlete, today.AddDate(0, 0, -daysAgo), noon.AddDate(0, 0, -daysAgo)
	r.RecordedAt, r.RecordedBy = r.TakenAt, h.coach.PersonID
	if r.Step == "" {
		r.Step = "bounce"
	}
	if r.CountedBy == "" {
		r.CountedBy, r.SeenByCoach = "coach", true
	}
	if r.RopeKind == "" {
		r.RopeKind = "beaded"
	}
	r.Timing = "hand"
	h.write(func(ctx context.Context, tx *store.Tx) error { _, err := tx.AddResult(ctx, r); return err })
	return r.ResultID
}

func ptr[T any](v T) *T { return &v }

func run(reps int) gym.Result { return gym.Result{Protocol: "clean_run", Rotations: &reps} }

func base(rotations, catches int) gym.Result {
	return gym.Result{Protocol: "base", Rotations: &rotations, Seconds: ptr(60.0), Catches: catches, LongestRestartSeconds: ptr(2.0)}
}

// load loads one athlete, or ends the test.
func (h *hall) load(athlete uuid.UUID) (Ground, Athlete) {
	h.t.Helper()
	g, a, err := h.LoadOne(h.t.Context(), h.coach, athlete)
	if err != nil {
		h.t.Fatal(err)
	}
	return g, a
}

// owner runs a statement as the schema's owner.
func (h *hall) owner(sql string, args ...any) {
	h.t.Helper()
	conn, err := pgx.Connect(h.t.Context(), h.db.OwnerURL)
	if err != nil {
		h.t.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(h.t.Context()))
	if _, err := conn.Exec(h.t.Context(), sql, args...); err != nil {
		h.t.Fatal(fmt.Errorf("%s: %w", sql, err))
	}
}
