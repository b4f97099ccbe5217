package store_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// A name that stands nowhere else.
const planted = "Zaubrelda Quixmoor"

// plant gives Ana the planted name and writes it, and her id, wherever people
// write something about others too.
func (b *base) plant() {
	b.t.Helper()
	b.ownerDoes(`UPDATE athlete SET name = $1, name_key = lower($1) WHERE athlete_id = $2`, planted, ana)
	b.ownerDoes(`UPDATE session SET note = 'Thanks to ' || $1 || ' for the ropes'`, planted)
	b.ownerDoes(`UPDATE attendance SET noted_by = $1 WHERE athlete_id = $2`, ana, ben)
	b.ownerDoes(`UPDATE audit SET by = $1::uuid, subject = 'athlete', subject_id = $1::uuid, detail = jsonb_build_object('name', $2::text, 'id', $1::uuid)`, ana, planted)
	b.ownerDoes(`INSERT INTO sign_in (token_hash, data, expires_at, gym_id, athlete_id, role) VALUES ('\x0102', $2, now() + interval '1 day', $1, $3, 'athlete')`, gymA, []byte(planted), ana)
	b.ownerDoes(`UPDATE report SET state = 'done', finished_at = now(), athlete_id = NULL, kind = 'gym'`)
}

// traces lists every table in which text stands, in any column.
func (b *base) traces(gymID uuid.UUID, text string) []string {
	b.t.Helper()
	var found []string
	for _, table := range list[string](b.t, b.owner, `
		SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND relname <> 'schema_migrations' ORDER BY 1`) {
		mine := ""
		if ask[bool](b.t, b.owner, `SELECT EXISTS (SELECT FROM pg_attribute WHERE attrelid = $1::regclass AND attname = 'gym_id')`, table) {
			mine = ` AND t.gym_id = '` + gymID.String() + `'`
		}
		if n := ask[int](b.t, b.owner, `SELECT count(*) FROM `+table+` t WHERE (t::text LIKE '%' || $1 || '%' OR t::text LIKE '%' || encode($1::bytea, 'hex') || '%')`+mine, text); n > 0 {
			found = append(found, fmt.Sprintf("%s (%d)", table, n))
		}
	}
	return found
}

// Every table has a row, so that a new one cannot be forgotten.
func TestEraseLeavesNothing(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	b.plant()
	before := b.traces(gymB, ana.String())
	erased, err := b.Erase(t.Context(), gymA, ana, uuid.New(), false, now)
	if err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string]string{"the name": planted, "the id": ana.String()} {
		if left := b.traces(gymA, text); len(left) > 0 {
			t.Errorf("%s still stands in %v", what, left)
		}
	}
	for _, table := range []string{"athlete", "result", "plan", "debrief", "hold", "consent", "device", "card", "card_secret"} {
		if erased.Rows[table] == 0 && table != "card_secret" {
			t.Errorf("the report says that nothing was deleted from %s: %v", table, erased.Rows)
		}
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM report_piece WHERE gym_id = $1`, gymA); n != 0 {
		t.Errorf("%d pieces of files that may show the name are left", n)
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM athlete WHERE gym_id = $1 AND athlete_id = $2`, gymA, ben); n != 1 {
		t.Error("somebody else was erased, too")
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM rope WHERE gym_id = $1 AND athlete_id IS NULL`, gymA); n == 0 {
		t.Error("the rope went with the athlete; it is the gym's")
	}
	if after := b.traces(gymB, ana.String()); !slices.Equal(before, after) {
		t.Errorf("the same id in another gym stands in %v, before in %v", after, before)
	}
	if again, err := b.Erase(t.Context(), gymA, ana, uuid.New(), false, now); err != nil || len(again.Rows) != 0 {
		t.Errorf("erasing nobody: %v, %v", again, err)
	}
}

func TestEraseKeepsIncidentsWhereLawAsks(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	b.plant()
	b.ownerDoes(`UPDATE incident SET athlete_id = $2 WHERE gym_id = $1`, gymA, ana)
	if _, err := b.Erase(t.Context(), gymA, ana, uuid.New(), true, now); err != nil {
		t.Fatal(err)
	}
	if left := b.traces(gymA, planted); len(left) != 1 || !strings.HasPrefix(left[0], "incident ") {
		t.Errorf("the name stands in %v, want the incident alone", left)
	}
	if what := list[string](t, b.owner, `SELECT what FROM incident WHERE gym_id = $1`, gymA); len(what) != 1 || !strings.HasPrefix(what[0], "Concerns "+planted) {
		t.Errorf("the incident says %q", what)
	}
}

// Each pointer at an athlete that may be empty is looked at by somebody: does
// the row belong to the athlete, or only name one?
func TestEmptyPointersAtAthletesAreKnown(t *testing.T) {
	b := open(t)
	known := map[string]string{
		"rope.athlete_id":     "the gym's; cut",
		"incident.athlete_id": "the athlete's; kept where law asks",
		"link.athlete_id":     "the athlete's",
		"report.athlete_id":   "the athlete's",
	}
	for _, column := range list[string](t, b.owner, `
		SELECT c.conrelid::regclass || '.' || a.attname
		FROM pg_constraint c JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = c.conkey[2]
		WHERE c.contype = 'f' AND c.confrelid = 'athlete'::regclass AND NOT a.attnotnull`) {
		if known[column] == "" {
			t.Errorf("%s: say here, and in the store's list of detached columns, whether its rows go with the athlete", column)
		}
	}
}

// The app has the erasure role's rights only while it acts as that role.
func TestErasureRightsAreTakenOn(t *testing.T) {
	b := open(t)
	b.fill()
	app := b.app()
	if _, err := app.Exec(t.Context(), `SELECT set_config('ropewalk.gym', $1, false)`, gymA.String()); err != nil {
		t.Fatal(err)
	}
	if _, err := app.Exec(t.Context(), `DELETE FROM result`); codeOf(err) != refusedByRights {
		t.Errorf("the app may delete results: %v", err)
	}
	tx, err := app.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(t.Context())
	if err := try(t, tx, `SET LOCAL ROLE ropewalk_erasure`); err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec(t.Context(), `SET LOCAL ROLE ropewalk_erasure`); err != nil {
		t.Fatal(err)
	}
	if err := try(t, tx, `INSERT INTO audit (gym_id, audit_id, at, by, action, subject) VALUES ($1, $2, now(), $2, 'x', 'x')`, gymA, uuid.New()); codeOf(err) != refusedByRights {
		t.Errorf("the erasure role may add to the log: %v", err)
	}
	if seen := ask[int](t, tx, `SELECT count(*) FROM result WHERE gym_id <> $1`, gymA); seen != 0 {
		t.Errorf("the erasure role sees %d results of other gyms", seen)
	}
}

func TestEveryGymIsForForgettingAlone(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	gyms, err := b.EveryGym(t.Context())
	if err != nil || len(gyms) != 2 {
		t.Errorf("EveryGym = %v, %v; want both", gyms, err)
	}
	if seen := ask[int](t, b.app(), `SELECT count(*) FROM gym`); seen != 0 {
		t.Errorf("without a gym the app sees %d gyms", seen)
	}
}

func TestForgettingIsByTime(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	b.ownerDoes(`UPDATE incident SET happened_at = $1, corrects = NULL`, now)
	for _, test := range []struct {
		what, left string
	}{
		{"health", `SELECT count(*) FROM debrief WHERE pain_place <> '' AND gym_id = $1`},
		{"incidents", `SELECT count(*) FROM incident WHERE gym_id = $1`},
		{"audit", `SELECT count(*) FROM audit WHERE gym_id = $1`},
	} {
		if rows, err := b.Forget(t.Context(), gymA, test.what, now.Add(-time.Hour)); err != nil || rows != 0 {
			t.Errorf("%s: %d rows went that were not old, %v", test.what, rows, err)
		}
		if rows, err := b.Forget(t.Context(), gymA, test.what, now.AddDate(100, 0, 0)); err != nil || rows == 0 {
			t.Errorf("%s: nothing old went, %v", test.what, err)
		}
		if left := ask[int](t, b.owner, test.left, gymA); left != 0 {
			t.Errorf("%s: %d are left", test.what, left)
		}
		if left := ask[int](t, b.owner, test.left, gymB); left == 0 {
			t.Errorf("%s: another gym's went, too", test.what)
		}
	}
}

func TestErasePersonOnlyAfterWork(t *testing.T) {
	b := open(t)
	b.fill()
	if err := b.ErasePerson(t.Context(), gymA, person); problem.KindOf(err) != problem.Conflict {
		t.Errorf("somebody who works here is erased: %v", err)
	}
	b.write(gymA, func(tx *store.Tx) error {
		return tx.EndMembership(t.Context(), gym.Membership{PersonID: person, Role: gym.Owner}, now)
	})
	if err := b.ErasePerson(t.Context(), gymA, person); err != nil {
		t.Fatal(err)
	}
	p, err := b.Person(t.Context(), person)
	if err != nil || p.Name != "Somebody who left" || strings.Contains(p.SignInName, "mara") || p.PasswordHash != "" {
		t.Errorf("what is left of the person: %+v, %v", p, err)
	}
}

// Whoever left altogether is former staff, who left last first; whoever still
// does something is not. A gym of twenty years is read in one pass.
func TestFormerStaffLeftAltogether(t *testing.T) {
	b := open(t)
	b.fill()
	b.ownerDoes(`INSERT INTO person (person_id, sign_in_name, name, password_hash, created_at)
		SELECT ('00000000-0000-7000-8000-' || lpad(n::text, 12, '0'))::uuid, 'p' || n, 'Person ' || n, '', now() FROM generate_series(1, 3000) n`)
	b.ownerDoes(`INSERT INTO membership (gym_id, person_id, role, since, until)
		SELECT gym_id, person_id, role, now() - interval '9 years', timestamptz '2026-01-01' - substr(sign_in_name, 2)::int * interval '1 hour'
		FROM gym, person, unnest(ARRAY['coach', 'assistant']) role WHERE sign_in_name LIKE 'p%'`)
	b.ownerDoes(`UPDATE membership SET until = NULL WHERE role = 'coach' AND person_id IN (SELECT person_id FROM person WHERE sign_in_name = 'p2')`)
	var former, one, working []gym.Former
	b.read(gymA, store.FormerStaff(uuid.Nil, &former))
	if len(former) != 500 || former[0].Name != "Person 1" || former[1].Name != "Person 3" {
		t.Fatalf("%d former staff, the first %+v", len(former), former[:min(2, len(former))])
	}
	b.read(gymA, store.FormerStaff(former[1].PersonID, &one), store.FormerStaff(person, &working))
	if len(one) != 1 || one[0] != former[1] || len(working) != 0 {
		t.Errorf("asked for one: %+v; for somebody who works here: %+v", one, working)
	}
}
