package store_test

import (
	"slices"
	"testing"
)

// citusRefuses lists by rule what Citus would not let be: what it asks of tables
// that it distributes by a column, from its documentation ("Determining the Data
// Model", "Creating and Modifying Distributed Objects", "SQL Support and
// Workarounds", "Common Error Messages"). Tables of gyms are distributed by
// gym_id, global tables are reference tables, the same on every node.
func citusRefuses() map[string]string {
	return map[string]string{
		"a table without the column, or with one of another type, or one that may be empty": `
		SELECT c.relname::text FROM pg_class c LEFT JOIN pg_attribute a ON a.attrelid = c.oid AND a.attname = 'gym_id'
		WHERE c.oid = ANY ($1::regclass[]) AND (a.atttypid IS DISTINCT FROM 'uuid'::regtype OR NOT a.attnotnull OR a.attgenerated <> '')`,
		"a table without a primary key": `
		SELECT c::text FROM unnest($1::regclass[]) AS c
		WHERE NOT EXISTS (SELECT FROM pg_constraint WHERE conrelid = c AND contype = 'p')`,
		"a key or index that must be unique across gyms": `
		SELECT indexrelid::regclass::text FROM pg_index
		WHERE indrelid = ANY ($1::regclass[]) AND indisunique
		  AND NOT (SELECT attnum FROM pg_attribute WHERE attrelid = indrelid AND attname = 'gym_id') = ANY (indkey)`,
		"an exclusion across gyms": `
		SELECT conname::text FROM pg_constraint WHERE conrelid = ANY ($1::regclass[]) AND contype = 'x'
		  AND NOT (SELECT attnum FROM pg_attribute WHERE attrelid = conrelid AND attname = 'gym_id') = ANY (conkey)`,
		"a key that may lead into another gym": `
		SELECT conrelid::regclass || ': ' || conname FROM pg_constraint
		WHERE contype = 'f' AND conrelid = ANY ($1::regclass[]) AND confrelid = ANY ($1::regclass[])
		  AND NOT EXISTS (
			SELECT FROM unnest(conkey, confkey) AS k (own, other)
			WHERE own = (SELECT attnum FROM pg_attribute WHERE attrelid = conrelid AND attname = 'gym_id')
			  AND other = (SELECT attnum FROM pg_attribute WHERE attrelid = confrelid AND attname = 'gym_id'))`,
		"a key that would empty the gym of a row": `
		SELECT conrelid::regclass || ': ' || conname FROM pg_constraint
		WHERE contype = 'f' AND conrelid = ANY ($1::regclass[]) AND (confdeltype IN ('n', 'd') OR confupdtype IN ('n', 'd', 'c'))`,
		pointsAtDistributed: `
		SELECT conrelid::regclass || ': ' || conname FROM pg_constraint
		WHERE contype = 'f' AND NOT conrelid = ANY ($1::regclass[]) AND confrelid = ANY ($1::regclass[])`,
		"a trigger": `
		SELECT tgrelid::regclass || ': ' || tgname FROM pg_trigger WHERE tgrelid = ANY ($1::regclass[]) AND NOT tgisinternal`,
		"a column numbered by a sequence": `
		SELECT attrelid::regclass || '.' || attname FROM pg_attribute a
		WHERE attrelid = ANY ($1::regclass[]) AND attnum > 0 AND (attidentity <> '' OR pg_get_serial_sequence(attrelid::regclass::text, attname) IS NOT NULL)`,
		"inheritance, or partitions of its own": `
		SELECT inhrelid::regclass::text FROM pg_inherits WHERE inhrelid = ANY ($1::regclass[]) OR inhparent = ANY ($1::regclass[])`,
	}
}

// leadsIntoAGym are keys of reference tables into one gym's table. They keep
// what leads to a gym whole on one machine; Citus refuses them, so whoever
// distributes the tables drops them first.
var leadsIntoAGym = []string{
	"card_secret: card_secret_gym_id_card_id_fkey",
	"class_code: class_code_gym_id_class_id_fkey",
	"invitation_code: invitation_code_gym_id_invitation_id_fkey",
	"link_secret: link_secret_gym_id_link_id_fkey",
	"way_back: way_back_gym_id_fkey",
}

const pointsAtDistributed = "a reference table that points at a distributed one"

// Tables could be spread over machines by gym as they are, but for those keys.
func TestCitusCouldDistributeByGym(t *testing.T) {
	b := open(t)
	distributed := b.gymTables()
	for what, sql := range citusRefuses() {
		found := list[string](t, b.owner, sql, distributed)
		slices.Sort(found)
		if what == pointsAtDistributed {
			if !slices.Equal(found, leadsIntoAGym) {
				t.Errorf("keys to drop before distributing are %q, listed are %q", found, leadsIntoAGym)
			}
			continue
		}
		for _, one := range found {
			t.Errorf("%s: %s", what, one)
		}
	}
}

// Each rule finds what it is to find.
func TestCitusRulesFindWhatIsWrong(t *testing.T) {
	b := open(t)
	for _, sql := range []string{
		`CREATE TABLE odd_parent (gym_id uuid NOT NULL, parent_id uuid PRIMARY KEY, span int4range, EXCLUDE USING gist (span WITH &&))`,
		`CREATE TABLE odd_child (gym_id text, number bigserial, parent_id uuid REFERENCES odd_parent ON DELETE SET NULL)`,
		`CREATE TABLE odd_lookup (parent_id uuid REFERENCES odd_parent)`,
		`CREATE TABLE odd_heir () INHERITS (odd_child)`,
		`CREATE FUNCTION odd() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN new; END $$`,
		`CREATE TRIGGER odd BEFORE INSERT ON odd_parent FOR EACH ROW EXECUTE FUNCTION odd()`,
	} {
		b.ownerDoes(sql)
	}
	for what, sql := range citusRefuses() {
		if found := list[string](t, b.owner, sql, []string{"odd_parent", "odd_child"}); len(found) == 0 {
			t.Errorf("nothing is found of %s", what)
		}
	}
}
