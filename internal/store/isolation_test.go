package store_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Codes of the Postgres manual, appendix A.
const (
	refusedByRights  = "42501" // insufficient_privilege: a missing grant or a policy
	refusedByForeign = "23503" // foreign_key_violation
)

func codeOf(err error) string {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return pg.Code
	}
	return ""
}

// inGym runs do as the app with the gym named, and takes everything back.
func inGym(t *testing.T, conn *pgx.Conn, gymID uuid.UUID, do func(tx pgx.Tx)) {
	t.Helper()
	tx, err := conn.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback(t.Context())
	if _, err := tx.Exec(t.Context(), `SELECT set_config('ropewalk.gym', $1, true)`, gymID.String()); err != nil {
		t.Fatal(err)
	}
	do(tx)
}

// try runs one statement in a savepoint, so that the next one still runs.
func try(t *testing.T, tx pgx.Tx, sql string, args ...any) error {
	t.Helper()
	inner, err := tx.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer inner.Rollback(t.Context())
	_, err = inner.Exec(t.Context(), sql, args...)
	return err
}

func TestTwinGymsNeverSeeOneAnother(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	app := b.app()
	for _, table := range b.gymTables() {
		all := ask[int](t, b.owner, `SELECT count(*) FROM `+table+` WHERE gym_id = $1`, gymA)
		if all == 0 {
			t.Errorf("%s has no row in this test; let fill or twin add one", table)
		}
		inGym(t, app, gymA, func(tx pgx.Tx) {
			// The query that forgets its condition.
			if seen := ask[int](t, tx, `SELECT count(*) FROM `+table); seen != all {
				t.Errorf("%s: gym A sees %d rows of its %d", table, seen, all)
			}
			if seen := ask[int](t, tx, `SELECT count(*) FROM `+table+` WHERE gym_id = $1`, gymB); seen != 0 {
				t.Errorf("%s: gym A sees %d rows of gym B", table, seen)
			}
			err := try(t, tx, `INSERT INTO `+table+` SELECT (jsonb_populate_record(t, jsonb_build_object('gym_id', $1::uuid))).* FROM `+table+` t LIMIT 1`, gymB)
			if codeOf(err) != refusedByRights {
				t.Errorf("%s: gym A could write into gym B: %v", table, err)
			}
		})
	}
}

func TestWithoutAGymNothingIsThere(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	app := b.app()
	for _, table := range b.gymTables() {
		row := ask[string](t, b.owner, `SELECT to_jsonb(t)::text FROM `+table+` t WHERE gym_id = $1 LIMIT 1`, gymA)
		if seen := ask[int](t, app, `SELECT count(*) FROM `+table); seen != 0 {
			t.Errorf("%s: %d rows are seen without a gym", table, seen)
		}
		_, err := app.Exec(t.Context(), `INSERT INTO `+table+` SELECT (jsonb_populate_record(NULL::`+table+`, $1::jsonb)).*`, row)
		if codeOf(err) != refusedByRights {
			t.Errorf("%s: a row could be added without a gym: %v", table, err)
		}
	}
}

// The app's queries name the gym in no condition; the policies do it for them.
// Here the ids are the other gym's, and the same ids exist in the own gym too.
func TestReadingsStayInTheirGym(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	b.ownerDoes(`UPDATE athlete SET name = 'Other ' || name WHERE gym_id = $1`, gymB)
	b.ownerDoes(`UPDATE result SET note = 'other' WHERE gym_id = $1`, gymB)
	var athletes []gym.Athlete
	var results []gym.Result
	var theGym gym.Gym
	b.read(gymB, store.TheGym(&theGym), store.AthletesOf(class, &athletes), store.ResultsOfClass(class, today, &results))
	if theGym.GymID != gymB || len(athletes) != 2 || len(results) != 1 {
		t.Fatalf("gym B has gym %v, %d athletes, %d results; want its own, 2, 1", theGym.GymID, len(athletes), len(results))
	}
	for _, athlete := range athletes {
		if !strings.HasPrefix(athlete.Name, "Other ") {
			t.Errorf("gym B sees %s of gym A", athlete.Name)
		}
	}
	if results[0].Note != "other" {
		t.Errorf("gym B sees a result of gym A: %q", results[0].Note)
	}
	var nobody gym.Athlete
	if err := b.Read(t.Context(), uuid.New(), store.Athlete(ana, &nobody)); problem.KindOf(err) != problem.NotFound {
		t.Errorf("a gym that does not exist finds an athlete: %v", err)
	}
}

// A row may not point into another gym, even at an id that exists there.
func TestForeignKeysStayInTheirGym(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	tables := list[string](t, b.owner, `
		SELECT DISTINCT c.conrelid::regclass::text FROM pg_constraint c
		WHERE c.contype = 'f' AND c.connamespace = 'public'::regnamespace AND cardinality(c.conkey) > 1
		  AND c.conrelid::regclass::text <> ALL ($1)
		ORDER BY 1`, globalTables)
	if len(tables) < 10 {
		t.Fatalf("only %d tables with keys of several columns", len(tables))
	}
	empty := uuid.New()
	b.ownerDoes(`INSERT INTO gym (gym_id, name, time_zone, created_at) VALUES ($1, 'Empty', 'UTC', now())`, empty)
	for _, table := range tables {
		tx, err := b.owner.Begin(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		err = try(t, tx, `
			INSERT INTO `+table+` SELECT (jsonb_populate_record(t, jsonb_build_object('gym_id', $2::uuid))).*
			FROM `+table+` t WHERE gym_id = $1 LIMIT 1`, gymA, empty)
		if codeOf(err) != refusedByForeign {
			t.Errorf("%s: a row could point into another gym: %v", table, err)
		}
		if err := tx.Rollback(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
}

var facts = []string{"result", "debrief", "set_log", "hold", "stage_decision", "stage", "ladder_version", "audit", "gym_rules",
	"judgement", "catch_note", "assignment", "rope_check", "rope_loan", "steel_approval"}

// Facts are only ever added to; what may be changed is granted column by column.
func TestFactsCannotBeChanged(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	app := b.app()
	for _, table := range facts {
		inGym(t, app, gymA, func(tx pgx.Tx) {
			for _, column := range list[string](t, b.owner, `SELECT attname::text FROM pg_attribute WHERE attrelid = $1::regclass AND attnum > 0`, table) {
				if err := try(t, tx, `UPDATE `+table+` SET `+column+` = `+column); codeOf(err) != refusedByRights {
					t.Errorf("%s.%s can be changed: %v", table, column, err)
				}
			}
			if err := try(t, tx, `DELETE FROM `+table); codeOf(err) != refusedByRights {
				t.Errorf("rows of %s can be deleted: %v", table, err)
			}
			if err := try(t, tx, `TRUNCATE `+table); codeOf(err) != refusedByRights {
				t.Errorf("%s can be emptied: %v", table, err)
			}
		})
	}
	inGym(t, app, gymA, func(tx pgx.Tx) { // a plan is sent, and else as made
		if err := try(t, tx, `UPDATE plan SET sent_at = now()`); err != nil {
			t.Errorf("a plan cannot be sent: %v", err)
		}
		if err := try(t, tx, `UPDATE plan SET output = '{}'`); codeOf(err) != refusedByRights {
			t.Errorf("a plan can be changed: %v", err)
		}
	})
}

func TestAppRoleOwnsNothing(t *testing.T) {
	b := open(t)
	if owned := list[string](t, b.owner, `SELECT relname::text FROM pg_class WHERE relowner = $1::regrole`, store.AppRole); len(owned) > 0 {
		t.Errorf("the app's role owns %v", owned)
	}
	app := b.app()
	for _, sql := range []string{`ALTER TABLE result DISABLE ROW LEVEL SECURITY`, `DROP POLICY own_gym ON result`, `CREATE TABLE mine (n int)`,
		`SET row_security = off; SELECT * FROM athlete`, `SELECT guard('person')`} {
		if _, err := app.Exec(t.Context(), sql); err == nil {
			t.Errorf("the app's role may do: %s", sql)
		}
	}
}

func TestCheckRoleRefusesWhomNoPolicyBinds(t *testing.T) {
	b := open(t)
	for _, test := range []struct{ name, made string }{
		{"superuser", `SUPERUSER`},
		{"past row-level security", `BYPASSRLS`},
		{"owner of the tables", ``},
		{"member of the owner", ``},
	} {
		t.Run(test.name, func(t *testing.T) {
			role := "test_" + strings.ReplaceAll(uuid.NewString(), "-", "")
			b.ownerDoes(`CREATE ROLE ` + role + ` LOGIN PASSWORD 'app' ` + test.made)
			t.Cleanup(func() {
				b.ownerDoes(`REASSIGN OWNED BY ` + role + ` TO CURRENT_USER`)
				b.ownerDoes(`DROP OWNED BY ` + role)
				b.ownerDoes(`DROP ROLE ` + role)
			})
			signsIn := role
			switch test.name {
			case "owner of the tables":
				b.ownerDoes(`ALTER TABLE result OWNER TO ` + role)
			case "member of the owner":
				signsIn = role + "_m"
				b.ownerDoes(`ALTER TABLE gym OWNER TO ` + role)
				b.ownerDoes(`CREATE ROLE ` + signsIn + ` LOGIN PASSWORD 'app' IN ROLE ` + role)
				t.Cleanup(func() { b.ownerDoes(`DROP OWNED BY ` + signsIn); b.ownerDoes(`DROP ROLE ` + signsIn) })
			}
			st, err := store.Open(t.Context(), strings.Replace(b.urls.AppURL, store.AppRole, signsIn, 1))
			if err != nil {
				t.Fatal(err)
			}
			defer st.Close()
			if err := st.CheckRole(t.Context()); problem.KindOf(err) != problem.Forbidden {
				t.Errorf("CheckRole = %v, want it refused", err)
			}
		})
	}
	if err := b.CheckRole(t.Context()); err != nil {
		t.Errorf("CheckRole refuses the app's own role: %v", err)
	}
}

func TestSameIDInTwoGyms(t *testing.T) {
	b := open(t)
	b.fill()
	b.write(gymB, func(tx *store.Tx) error {
		if err := tx.AddGym(t.Context(), gym.Gym{Name: "Hall B", TimeZone: "UTC", AdultAge: 18, CreatedAt: now}); err != nil {
			return err
		}
		_, added, err := tx.AddAthletes(t.Context(), []store.NewAthlete{{Athlete: gym.Athlete{AthleteID: ana, Name: "Ana"}, NameKey: "ana"}}, now)
		if added != 1 {
			t.Errorf("%d athletes added under an id of another gym, want 1", added)
		}
		return err
	})
	var here, there []gym.Athlete
	b.read(gymA, store.Athletes(&here))
	b.read(gymB, store.Athletes(&there))
	if len(here) != 2 || !slices.ContainsFunc(there, func(a gym.Athlete) bool { return a.AthleteID == ana }) || len(there) != 1 {
		t.Errorf("%d athletes in gym A, %d in gym B; want 2 and 1", len(here), len(there))
	}
}
