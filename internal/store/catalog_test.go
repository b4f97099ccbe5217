package store_test

import (
	"slices"
	"testing"
)

// oddIndexes begin with another column than the gym's. Each says why.
var oddIndexes = []string{
	"membership_by_person", // at sign-in no gym is chosen yet
}

// oddPolicies stand beside the one that guard makes.
var oddPolicies = []string{
	"own_person", // of membership: at sign-in people see their own
	"every_gym",  // of gym, for the erasure role: each gym has its own clock of forgetting
}

// A new table must be guarded, and every key must lead with the gym.
func TestEveryGymTableIsGuarded(t *testing.T) {
	b := open(t)
	tables := b.gymTables()
	if len(tables) < 20 {
		t.Fatalf("only %d tables found", len(tables))
	}
	for _, table := range tables {
		if !ask[bool](t, b.owner, `SELECT EXISTS (SELECT FROM pg_attribute WHERE attrelid = $1::regclass AND attname = 'gym_id' AND attnotnull)`, table) {
			t.Errorf("%s has no gym_id and is not listed as global", table)
			continue
		}
		if !ask[bool](t, b.owner, `SELECT relrowsecurity AND relforcerowsecurity FROM pg_class WHERE oid = $1::regclass`, table) {
			t.Errorf("%s is not under row-level security, or not for its owner", table)
		}
		if n := ask[int](t, b.owner, `
			SELECT count(*) FROM pg_policy
			WHERE polrelid = $1::regclass AND polname = 'own_gym' AND polcmd = '*' AND polqual IS NOT NULL AND polwithcheck IS NOT NULL`, table); n != 1 {
			t.Errorf("%s has no policy of its gym for reading and writing; call guard", table)
		}
		for _, policy := range list[string](t, b.owner, `SELECT polname::text FROM pg_policy WHERE polrelid = $1::regclass AND polname <> 'own_gym'`, table) {
			if !slices.Contains(oddPolicies, policy) {
				t.Errorf("%s has a policy %s that is not listed", table, policy)
			}
		}
	}
}

func TestGymLeadsEveryKey(t *testing.T) {
	b := open(t)
	wrong := list[string](t, b.owner, `
		SELECT c.conrelid::regclass || ': ' || c.conname
		FROM pg_constraint c
		WHERE c.connamespace = 'public'::regnamespace AND c.contype IN ('p', 'u', 'f')
		  AND c.conrelid::regclass::text <> ALL ($1)
		  AND NOT (c.contype = 'f' AND c.confrelid::regclass::text = ANY ($1))
		  AND (c.conkey[1] IS DISTINCT FROM (SELECT attnum FROM pg_attribute WHERE attrelid = c.conrelid AND attname = 'gym_id')
		       OR c.contype = 'f' AND c.confkey[1] IS DISTINCT FROM (SELECT attnum FROM pg_attribute WHERE attrelid = c.confrelid AND attname = 'gym_id'))`,
		globalTables)
	for _, key := range wrong {
		t.Errorf("the gym does not lead %s", key)
	}
	for _, index := range list[string](t, b.owner, `
		SELECT i.indexrelid::regclass::text
		FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
		WHERE c.relnamespace = 'public'::regnamespace AND c.relname <> ALL ($1)
		  AND i.indkey[0] IS DISTINCT FROM (SELECT attnum FROM pg_attribute WHERE attrelid = c.oid AND attname = 'gym_id')`, globalTables) {
		if !slices.Contains(oddIndexes, index) {
			t.Errorf("the gym does not lead index %s, which is not listed", index)
		}
	}
}

// Views must check the rights of whoever reads them, and nothing may run with
// its maker's rights.
func TestNothingLooksPastThePolicies(t *testing.T) {
	b := open(t)
	for what, sql := range map[string]string{
		"view without security_invoker": `SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'v'
			AND NOT coalesce('security_invoker=true' = ANY (reloptions), false)`,
		"materialised view":              `SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'm'`,
		"function of its maker's rights": `SELECT proname::text FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND prosecdef`,
		"function that anybody may call": `SELECT proname::text FROM pg_proc p WHERE pronamespace = 'public'::regnamespace
			AND has_function_privilege('ropewalk_app', p.oid, 'EXECUTE')`,
	} {
		for _, name := range list[string](t, b.owner, sql) {
			t.Errorf("%s: %s", what, name)
		}
	}
}
