package bench

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/planner"
)

// solver plans for 10,000 invented athletes on one core.
func (b *bench) solver(context.Context) error {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	inputs := inventedInputs(allAthletes)
	var seconds []float64
	var allocations uint64
	segments := 0
	for range b.rounds {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		began := time.Now()
		segments = 0
		for _, in := range inputs {
			plan, err := planner.Solve(in)
			if err != nil {
				return fmt.Errorf("planning: %w", err)
			}
			segments += len(plan.Segments)
		}
		seconds = append(seconds, time.Since(began).Seconds())
		runtime.ReadMemStats(&after)
		allocations = after.Mallocs - before.Mallocs
	}
	each := float64(allocations) / float64(segments)
	b.rows = append(b.rows,
		Row{Work: "plans for 10,000 athletes, one core", Ours: fmt.Sprintf("%.2f s", median(seconds)), Spread: spread(seconds), Goal: "≤ 1 s", Met: median(seconds) <= 1},
		Row{Work: "allocations per segment of a plan", Ours: fmt.Sprintf("%.2f", each), Goal: "≤ 2", Met: each <= 2})
	return nil
}

// inventedInputs differ in rates, hazards, history, limits and stage.
func inventedInputs(n int) []planner.Input {
	split := planner.Split{Steady: 20, Burst: 10}
	past := []planner.Outcome{{StepRPM: 20, Split: split, Bursts: 40, CleanBursts: 36}, {StepRPM: 20, Split: split, Bursts: 40, CleanBursts: 38}}
	list := make([]planner.Input, n)
	for i := range list {
		base := 90 + float64(luck(90, i, 1))
		list[i] = planner.Input{
			BaseRPM: base, BurstRPM: new(base * (1.15 + float64(luck(35, i, 2))/100)),
			Hazard:  &planner.Hazard{Steady: float64(luck(20, i, 3)) / 2000, Burst: float64(luck(30, i, 4)) / 1000},
			History: past[:luck(3, i, 5)], Minutes: new(20 + float64(luck(4, i, 6))*5), ContactsLeft: new(800 + luck(3, i, 7)*200),
			Stage: new(planner.StageAt(6 + luck(4, i, 8))),
		}
		if luck(5, i, 9) == 0 {
			list[i].Phase = planner.Established
			list[i].AllOut = []planner.AllOut{{Seconds: 30, Rotations: base * 0.62}, {Seconds: 180, Rotations: base * 3.2}}
		}
	}
	return list
}

// planning compares planning a class, from the form to the answer, with its SQL.
func (b *bench) planning(ctx context.Context) error {
	db := b.db()
	defer b.sweep(ctx, db, time.Now())
	form := url.Values{"day": {time.Now().UTC().AddDate(0, 0, 1).Format(time.DateOnly)}, "minutes": {"60"}, "do": {"make"}}
	requests := []Request{{Method: http.MethodPost, Path: "/classes/" + db.Home.Class.String() + "/plans", Body: form.Encode()}}
	p, err := b.startPair(ctx, db, requests)
	if err != nil {
		return err
	}
	defer p.stop()
	ours, theirs, err := b.medians(ctx, Load{Requests: requests, Connections: 1, Times: 5}, p)
	if err != nil {
		return err
	}
	ratio := ratios(ours, theirs)
	b.rows = append(b.rows, Row{Work: fmt.Sprintf("plan a class of %d", classSize), Ours: milliseconds(ours), Baseline: milliseconds(theirs),
		Ratio: median(ratio), Spread: spread(ratio), Goal: "≤ 1.5", Met: median(ratio) <= 1.5,
		Remark: fmt.Sprintf("baseline: its SQL alone, %d statements in %d round trips", p.serving.Queries[0], p.serving.Trips[0])})
	return nil
}

// medians are how long one request took in each round, in seconds, on both by turns.
func (b *bench) medians(ctx context.Context, load Load, p *pair) (ours, theirs []float64, err error) {
	for round := range b.rounds + 1 {
		for _, side := range []struct {
			address string
			want    int
			into    *[]float64
		}{{p.site.address, http.StatusSeeOther, &ours}, {p.serving.Address, http.StatusOK, &theirs}} {
			load.Address, load.Want = side.address, side.want
			m, err := load.put(ctx)
			if err != nil {
				return nil, nil, err
			}
			if round > 0 {
				*side.into = append(*side.into, m.Median().Seconds())
			}
		}
	}
	return ours, theirs, nil
}

func milliseconds(seconds []float64) string { return fmt.Sprintf("%.1f ms", 1000*median(seconds)) }

// saving compares results saved a second, checked against the athlete's history
// and logged, with rows that pgbench inserts and commits: as the program's role,
// which must name its gym in each transaction, and as one that walls do not bind.
func (b *bench) saving(ctx context.Context) error {
	db := b.db()
	defer b.sweep(ctx, db, time.Now())
	s, err := startSite(ctx, b.program, filepath.Join(b.folder, "site"), on(db)...)
	if err != nil {
		return err
	}
	defer s.stop()
	requests, err := saves(s, db.Home)
	if err != nil {
		return err
	}
	var ours, bound, free []float64
	for round := range b.rounds + 1 {
		m, used, err := b.counted(s, func() (Measured, error) {
			return Load{Address: s.address, Requests: requests, Connections: clients, For: roundFor, Want: http.StatusSeeOther}.put(ctx)
		})
		if err != nil {
			return err
		}
		asApp, err := b.pgbench(ctx, db.App, "BEGIN;\nSELECT set_config('ropewalk.gym', '"+db.Home.Gym.String()+"', true);\n"+insertion(db.Home)+"COMMIT;\n")
		if err != nil {
			return err
		}
		asOwner, err := b.pgbench(ctx, db.Owner, insertion(db.Home))
		if err != nil {
			return err
		}
		if round > 0 {
			ours, bound, free = append(ours, m.PerSecond()), append(bound, asApp), append(free, asOwner)
			b.costs.save = used.Seconds() / float64(m.Answers)
			b.say("a save takes %.2f ms of processor time, its answer comes after %s", 1000*b.costs.save, m.Median().Round(time.Microsecond))
		}
	}
	ratio, plain := ratios(ours, bound), ratios(ours, free)
	b.rows = append(b.rows,
		Row{Work: "save one result", Ours: perSecond(ours), Baseline: perSecond(bound), Ratio: median(ratio), Spread: spread(ratio), Goal: "≥ 0.5", Met: median(ratio) >= 0.5,
			Remark: "baseline: pgbench, BEGIN, the gym's name, INSERT and COMMIT of one row of the same table as the same role"},
		Row{Work: "the same, walls between gyms left out of the baseline", Ours: perSecond(ours), Baseline: perSecond(free), Ratio: median(plain), Spread: spread(plain), Unasserted: true,
			Remark: "baseline: pgbench, INSERT alone as superuser"})
	return nil
}

// counted returns the processor time that the program and the database used too.
func (b *bench) counted(s *site, do func() (Measured, error)) (Measured, time.Duration, error) {
	before, err := b.spent(s)
	if err != nil {
		return Measured{}, 0, err
	}
	m, err := do()
	if err != nil {
		return m, 0, err
	}
	after, err := b.spent(s)
	return m, after - before, err
}

// inserted is how many athletes pgbench's rows are of: the last of the gym, so
// that what it adds does not lengthen the histories that the program reads.
const inserted = 40

// saves are requests that save results of everybody else, from as many sign-ins
// as there are clients.
func saves(s *site, home Home) ([]Request, error) {
	cookies := make([]string, clients)
	for i := range cookies {
		var err error
		if cookies[i], err = s.signIn(home.SignIn); err != nil {
			return nil, err
		}
	}
	var requests []Request
	for i, athlete := range home.Athletes[:len(home.Athletes)-inserted] {
		requests = append(requests, Request{Method: http.MethodPost, Path: "/athletes/" + athlete.String() + "/tests", Cookie: cookies[i%clients],
			Body: "id=$id&test=base+60&step=bounce&rope=beaded&surface=wood&counted_by=partner&rotations=$n&catches=0&do=save"})
	}
	return requests, nil
}

// insertion is one row of a result, as a script of pgbench.
func insertion(home Home) string {
	var ids []string
	for _, athlete := range home.Athletes[len(home.Athletes)-inserted:] {
		ids = append(ids, "'"+athlete.String()+"'")
	}
	return fmt.Sprintf(`INSERT INTO result (gym_id, result_id, athlete_id, protocol, day, taken_at, rotations, seconds, step, rope_kind, surface, counted_by, recorded_at, recorded_by) `+
		`VALUES ('%s', gen_random_uuid(), (ARRAY[%s]::uuid[])[:n], 'base', current_date, now(), 80, 60, 'bounce', 'beaded', 'wood', 'partner', now(), '%s');`+"\n",
		home.Gym, strings.Join(ids, ","), home.Gym)
}

var tps = regexp.MustCompile(`tps = ([0-9.]+)`)

// pgbench returns how many transactions a second a script comes to.
func (b *bench) pgbench(ctx context.Context, address, script string) (float64, error) {
	file := filepath.Join(b.folder, "script.sql")
	if err := os.WriteFile(file, []byte(fmt.Sprintf("\\set n random(1, %d)\n%s", inserted, script)), 0o600); err != nil {
		return 0, fmt.Errorf("writing pgbench's script: %w", err)
	}
	out, err := exec.CommandContext(ctx, filepath.Join(b.cluster.Programs().Dir, "pgbench"), "--no-vacuum", "--protocol=prepared",
		"--client="+strconv.Itoa(clients), "--jobs=2", "--time="+strconv.Itoa(int(roundFor.Seconds())), "--file="+file, address).CombinedOutput()
	found := tps.FindSubmatch(out)
	if err != nil || found == nil {
		return 0, fmt.Errorf("pgbench: %w\n%s", err, out)
	}
	return strconv.ParseFloat(string(found[1]), 64)
}

// sweep takes out what was saved and planned since, so that the data stay as
// they were made.
func (b *bench) sweep(ctx context.Context, db Database, since time.Time) {
	conn, err := pgx.Connect(context.WithoutCancel(ctx), db.Owner)
	if err != nil {
		b.say("sweeping up: %v", err)
		return
	}
	defer conn.Close(ctx)
	for _, sql := range []string{`DELETE FROM result WHERE recorded_at >= $1`, `DELETE FROM plan WHERE made_at >= $1`, `DELETE FROM audit WHERE at >= $1`} {
		if _, err := conn.Exec(context.WithoutCancel(ctx), sql, since); err != nil {
			b.say("sweeping up: %v", err)
		}
	}
	for _, table := range []string{"result", "plan", "audit"} {
		if _, err := conn.Exec(context.WithoutCancel(ctx), `VACUUM (ANALYZE) `+table); err != nil {
			b.say("sweeping up: %v", err)
		}
	}
}
