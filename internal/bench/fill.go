package bench

import (
	"context"
	"encoding/binary"
	"fmt"
	"iter"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/roster"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// A Home is where the measuring happens: the largest gym.
type Home struct {
	Gym      uuid.UUID
	SignIn   string // the owner's name for signing in
	Class    uuid.UUID
	Athlete  uuid.UUID
	Athletes []uuid.UUID // everybody in the gym
}

const password = "forty ropes in one hall"

// A filling makes the data of one database. Every value follows from its place
// and the day, so that two runs on one day make the same.
type filling struct {
	db    Database
	halls []hall
}

type hall struct {
	number   int
	id       uuid.UUID
	owner    uuid.UUID
	classes  []uuid.UUID
	athletes []uuid.UUID // thirty by thirty in the order of the classes
}

func (h hall) signIn() string { return fmt.Sprintf("owner@gym-%d.example", h.number) }

func (h hall) classOf(athlete int) uuid.UUID { return h.classes[athlete/classSize] }

// What an id is of. Ids of one kind differ by their two numbers.
const (
	ofGym = iota + 1
	ofOwner
	ofLadder
	ofClass
	ofAthlete
	ofSession
	ofResult
	ofPlan
	ofSet
	ofDebrief
	ofAudit
	ofDecision
)

// idOf makes a UUID of version 7, which begins with its time as the program's
// own do, and goes on with what looks like chance.
func idOf(at time.Time, kind, a, b int) uuid.UUID {
	var id uuid.UUID
	binary.BigEndian.PutUint64(id[:8], uint64(at.UnixMilli())<<16|mix(uint64(kind)<<56^uint64(a)<<24^uint64(b))>>48)
	binary.BigEndian.PutUint64(id[8:], mix(uint64(kind)<<56^uint64(a)<<24^uint64(b)+1))
	id[6] = id[6]&0x0f | 0x70
	id[8] = id[8]&0x3f | 0x80
	return id
}

// mix scatters a number over all numbers: the finisher of SplitMix64 (Steele,
// Lea, Flood, OOPSLA 2014).
func mix(n uint64) uint64 {
	n += 0x9e3779b97f4a7c15
	n = (n ^ n>>30) * 0xbf58476d1ce4e5b9
	n = (n ^ n>>27) * 0x94d049bb133111eb
	return n ^ n>>31
}

// luck is a number from 0 to n-1 that follows from a and b.
func luck(n, a, b int) int { return int(mix(uint64(a)<<32^uint64(b)) % uint64(n)) }

func newFilling(db Database) *filling {
	f := &filling{db: db}
	began := db.Made.AddDate(0, 0, -7*weeks)
	left, athlete := db.athletes(), 0
	for number := 0; left > 0; number++ {
		size := min(left, otherGyms)
		if number == 0 {
			size = min(left, largestGym)
		}
		left -= size
		h := hall{number: number, id: idOf(began, ofGym, number, 0), owner: idOf(began, ofOwner, number, 0)}
		for n := range size {
			if n%classSize == 0 {
				h.classes = append(h.classes, idOf(began, ofClass, number, n))
			}
			h.athletes = append(h.athletes, idOf(began, ofAthlete, athlete, 0))
			athlete++
		}
		f.halls = append(f.halls, h)
	}
	return f
}

func (f *filling) home() Home {
	h := f.halls[0]
	return Home{Gym: h.id, SignIn: h.signIn(), Class: h.classes[1], Athlete: h.athletes[classSize+7], Athletes: h.athletes}
}

func (f *filling) fill(ctx context.Context, say func(format string, args ...any)) error {
	st, err := store.Open(ctx, f.db.App)
	if err != nil {
		return err
	}
	defer st.Close()
	if err := f.gyms(ctx, st); err != nil {
		return err
	}
	conn, err := pgx.Connect(ctx, f.db.Owner)
	if err != nil {
		return fmt.Errorf("connecting as the owner: %w", err)
	}
	defer conn.Close(ctx)
	// What is copied refers to what is there: looking for each row anew would
	// take most of the time.
	if _, err := conn.Exec(ctx, `SET session_replication_role = replica; SET synchronous_commit = off`); err != nil {
		return fmt.Errorf("preparing to copy: %w", err)
	}
	for _, t := range f.people() {
		if err := copyInto(ctx, conn, t); err != nil {
			return err
		}
	}
	samples, err := f.samplePlans(ctx, st)
	if err != nil {
		return err
	}
	for _, t := range f.years(samples) {
		say("copying %s", t.name)
		if err := copyInto(ctx, conn, t); err != nil {
			return err
		}
	}
	say("vacuuming")
	if _, err := conn.Exec(ctx, `VACUUM (ANALYZE)`); err != nil {
		return fmt.Errorf("vacuuming: %w", err)
	}
	if _, err := conn.Exec(ctx, `CHECKPOINT`); err != nil {
		return fmt.Errorf("writing to disk: %w", err)
	}
	return nil
}

// gyms makes what there is little of through the store.
func (f *filling) gyms(ctx context.Context, st *store.Store) error {
	hasher, err := account.NewHasher()
	if err != nil {
		return err
	}
	hash, err := hasher.Hash(ctx, password)
	if err != nil {
		return err
	}
	began := f.db.Made.AddDate(0, 0, -7*weeks)
	for _, h := range f.halls {
		err := st.Write(ctx, h.id, func(tx *store.Tx) error {
			if err := tx.AddGym(ctx, gym.Gym{Name: fmt.Sprintf("Hall %d", h.number), TimeZone: "UTC", AdultAge: 16, CreatedAt: began}); err != nil {
				return err
			}
			if err := tx.PostponeSecondFactor(ctx, true); err != nil {
				return err
			}
			if err := tx.AddPerson(ctx, gym.Person{PersonID: h.owner, SignInName: h.signIn(), Name: "Owner", PasswordHash: hash, CreatedAt: began}); err != nil {
				return err
			}
			if err := tx.AddMembership(ctx, gym.Membership{PersonID: h.owner, Role: gym.Owner, Since: began}); err != nil {
				return err
			}
			kept, version, stages, err := standing.Shipped(idOf(began, ofLadder, h.number, 0), began)
			if err != nil {
				return err
			}
			if err := tx.AddLadder(ctx, kept); err != nil {
				return err
			}
			if err := tx.AddLadderVersion(ctx, version, stages); err != nil {
				return err
			}
			return f.classes(ctx, tx, h, began)
		})
		if err != nil {
			return fmt.Errorf("gym %d: %w", h.number, err)
		}
	}
	return nil
}

func (f *filling) classes(ctx context.Context, tx *store.Tx, h hall, began time.Time) error {
	day := f.db.Made.Truncate(24 * time.Hour)
	if err := tx.AddTerm(ctx, gym.Term{TermID: idOf(began, ofLadder, h.number, 1), Name: "Term", StartsOn: day.AddDate(0, 0, -56), EndsOn: day.AddDate(0, 0, 56)}); err != nil {
		return err
	}
	for n, id := range h.classes {
		name, code := fmt.Sprintf("Class %d", n+1), codeOf(100*h.number+n)
		if err := tx.AddClass(ctx, gym.Class{ClassID: id, Name: name, Code: code, CreatedAt: began}, roster.NameKey(name), account.FoldCode(code)); err != nil {
			return err
		}
		times := []gym.ClassTime{{ClassID: id, Weekday: n%6 + 1, StartsAt: time.Duration(14+n/6) * time.Hour, Minutes: 60}}
		if err := tx.SetClassTimes(ctx, id, times); err != nil {
			return err
		}
	}
	return nil
}

// codeOf writes a number of up to four digits in letters that no code confuses.
func codeOf(n int) string {
	const letters = "ABCDEFGHJK"
	code := []byte("HALL-AAAA")
	for i := len(code) - 1; n > 0; i, n = i-1, n/10 {
		code[i] = letters[n%10]
	}
	return string(code)
}

// samplePlans lets the program plan a class, and takes what it kept as the
// contents of all plans.
func (f *filling) samplePlans(ctx context.Context, st *store.Store) ([]gym.Plan, error) {
	h := f.halls[0]
	coach := &coaching.Coaching{Store: st, Now: func() time.Time { return f.db.Made }}
	who := gym.Who{GymID: h.id, PersonID: h.owner, Role: gym.Owner}
	report, err := coach.PlanClass(ctx, who, coaching.ClassPlan{Class: h.classes[0], Day: f.db.Made.Truncate(24 * time.Hour), Minutes: 60})
	if err != nil {
		return nil, err
	}
	var plans []gym.Plan
	for _, planned := range report.Athletes {
		if planned.Kept.Output != nil {
			plans = append(plans, planned.Kept)
		}
	}
	if len(plans) == 0 {
		return nil, fmt.Errorf("nobody of %d athletes could be planned for", len(report.Athletes))
	}
	return plans, nil
}

// A table is rows to copy.
type table struct {
	name    string
	columns []string
	rows    iter.Seq[[]any]
}

func copyInto(ctx context.Context, conn *pgx.Conn, t table) error {
	next, stop := iter.Pull(t.rows)
	defer stop()
	_, err := conn.CopyFrom(ctx, pgx.Identifier{t.name}, t.columns, pgx.CopyFromFunc(func() ([]any, error) {
		row, ok := next()
		if !ok {
			return nil, nil
		}
		return row, nil
	}))
	if err != nil {
		return fmt.Errorf("copying into %s: %w", t.name, err)
	}
	return nil
}
