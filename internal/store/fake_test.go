package store_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// telling are values for columns whose checks say more than fakeValue reads.
var telling = map[string]string{
	"meeting_change.kind": `'cancelled'`, // the others need a new time
}

// A column of a table, with what a row must have in it.
type column struct {
	Name     string
	Type     string
	Required bool
	Refers   string // "table.column" of the key that it is part of, "" if none
	Checks   string // the constraints that name it
}

func (b *base) columns(table string) []column {
	b.t.Helper()
	rows, _ := b.owner.Query(b.t.Context(), `
		SELECT a.attname::text AS name, format_type(a.atttypid, a.atttypmod) AS type, a.attnotnull AND NOT a.atthasdef AS required,
		       coalesce((SELECT f.confrelid::regclass || '.' || r.attname
		                 FROM pg_constraint f CROSS JOIN unnest(f.conkey, f.confkey) AS k (own, other)
		                 JOIN pg_attribute r ON r.attrelid = f.confrelid AND r.attnum = k.other
		                 WHERE f.contype = 'f' AND f.conrelid = a.attrelid AND f.confrelid <> a.attrelid AND k.own = a.attnum AND r.attname <> 'gym_id'
		                 LIMIT 1), '') AS refers,
		       coalesce((SELECT string_agg(pg_get_constraintdef(c.oid), ' ') FROM pg_constraint c
		                 WHERE c.contype = 'c' AND c.conrelid = a.attrelid AND a.attnum = ANY (c.conkey)), '') AS checks
		FROM pg_attribute a
		WHERE a.attrelid = $1::regclass AND a.attnum > 0 AND NOT a.attisdropped
		ORDER BY a.attnum`, table) // the collector reports Query's error
	columns, err := pgx.CollectRows(rows, pgx.RowToStructByName[column])
	if err != nil {
		b.t.Fatal(err)
	}
	return columns
}

// fillEmpty gives each table of gym A that has no row one that its columns,
// checks and keys allow, so that a new table is tested from its first day.
func (b *base) fillEmpty() {
	b.t.Helper()
	left := slices.DeleteFunc(b.gymTables(), func(table string) bool {
		return ask[bool](b.t, b.owner, `SELECT EXISTS (SELECT FROM `+table+` WHERE gym_id = $1)`, gymA)
	})
	for len(left) > 0 {
		before := len(left)
		left = slices.DeleteFunc(left, b.fakeRow)
		if len(left) == before {
			b.t.Fatalf("no row could be made up for %v; let fill add one", left)
		}
	}
}

// fakeRow adds a row to table, and reports false where a row that it points at
// is not there yet.
func (b *base) fakeRow(table string) bool {
	b.t.Helper()
	var names, values []string
	for _, c := range b.columns(table) {
		value := fakeValue(c)
		if given := telling[table+"."+c.Name]; given != "" {
			value = given
		}
		if ref, key, refers := strings.Cut(c.Refers, "."); refers {
			there := list[string](b.t, b.owner, fmt.Sprintf(`SELECT quote_literal(%s) FROM %s t WHERE coalesce(to_jsonb(t) ->> 'gym_id', $1) = $1 LIMIT 1`, key, ref), gymA.String())
			if len(there) == 0 && c.Required {
				return false
			}
			if len(there) == 0 {
				continue
			}
			value = there[0]
		} else if !c.Required {
			continue
		}
		names, values = append(names, c.Name), append(values, value)
	}
	b.ownerDoes(`INSERT INTO ` + table + ` (` + strings.Join(names, ", ") + `) VALUES (` + strings.Join(values, ", ") + `)`)
	return true
}

var (
	listed  = regexp.MustCompile(`ARRAY\[('[^']*')`)
	atLeast = regexp.MustCompile(`>= \(?'?([0-9.]+)`)
)

func fakeValue(c column) string {
	if found := listed.FindStringSubmatch(c.Checks); found != nil {
		return found[1]
	}
	if found := atLeast.FindStringSubmatch(c.Checks); found != nil && found[1] != "0" {
		return found[1]
	}
	switch {
	case c.Name == "gym_id":
		return `'` + gymA.String() + `'`
	case c.Type == "uuid":
		return `gen_random_uuid()`
	case c.Type == "text":
		return `'x'`
	case c.Type == "boolean":
		return `true`
	case c.Type == "date", strings.HasPrefix(c.Type, "time"):
		return `now()`
	case strings.HasPrefix(c.Type, "json"):
		return `'{}'`
	case c.Type == "bytea":
		return `'\x01'`
	case strings.HasSuffix(c.Type, "[]"):
		return `'{}'`
	default:
		return `1`
	}
}
