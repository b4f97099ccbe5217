package store

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"
)

// detached are the columns that point at an athlete without belonging to one:
// the pointer goes, the row stays.
var detached = map[string]string{"rope": "athlete_id"}

// An edge is a foreign key within a gym: child.column points at parent.key.
type edge struct {
	Child, Column string
	Nullable      bool
	Parent, Key   string
}

func (e *eraser) edges(ctx context.Context) ([]edge, error) {
	rows, _ := e.tx.tx.Query(ctx, `
		SELECT c.conrelid::regclass::text AS child, child.attname::text AS column, NOT child.attnotnull AS nullable,
		       c.confrelid::regclass::text AS parent, parent.attname::text AS key
		FROM pg_constraint c
		JOIN pg_attribute child ON child.attrelid = c.conrelid AND child.attnum = c.conkey[2]
		JOIN pg_attribute parent ON parent.attrelid = c.confrelid AND parent.attnum = c.confkey[2]
		WHERE c.contype = 'f' AND c.connamespace = 'public'::regnamespace AND cardinality(c.conkey) = 2 AND c.conrelid <> c.confrelid
		ORDER BY 1, 2`) // the collector reports Query's error
	edges, err := pgx.CollectRows(rows, pgx.RowToStructByName[edge])
	if err != nil {
		return nil, fmt.Errorf("reading the foreign keys: %w", err)
	}
	return edges, nil
}

// A doomed table is one with rows that go: those for which condition holds.
// Conditions are about $1, the gym, and $2, the athlete.
type doomed struct{ table, condition string }

// deleteRows deletes the athlete's rows.
func (e *eraser) deleteRows(ctx context.Context) error {
	edges, err := e.edges(ctx)
	if err != nil {
		return err
	}
	found := belongings(edges)
	if err := e.cutPointers(ctx, edges, found); err != nil {
		return err
	}
	if err := e.deleteUpwards(ctx, edges, found); err != nil {
		return err
	}
	_, err = e.tx.tx.Exec(ctx, `DELETE FROM sign_in WHERE gym_id = $1 AND athlete_id = $2`, e.tx.gym, e.athlete)
	return err
}

// belongings follows the foreign keys down from an athlete: the rows that say
// themselves whose they are, then those that belong to such rows.
func belongings(edges []edge) []doomed {
	found := []doomed{{table: "athlete", condition: "athlete_id = $2"}}
	for _, k := range edges {
		if k.Parent != "athlete" || detached[k.Child] == k.Column {
			continue
		}
		if i := indexOf(found, k.Child); i >= 0 {
			found[i].condition += " OR " + k.Column + " = $2"
			continue
		}
		found = append(found, doomed{table: k.Child, condition: k.Column + " = $2"})
	}
	for i := 0; i < len(found); i++ { // the list grows meanwhile
		for _, k := range edges {
			if k.Parent != found[i].table || k.Nullable || indexOf(found, k.Child) >= 0 {
				continue
			}
			found = append(found, doomed{table: k.Child, condition: k.Column + " IN (SELECT " + k.Key + " FROM " + k.Parent + " WHERE gym_id = $1 AND (" + found[i].condition + "))"})
		}
	}
	return found
}

// indexOf is where table stands in found, -1 where it does not.
func indexOf(found []doomed, table string) int {
	return slices.IndexFunc(found, func(d doomed) bool { return d.table == table })
}

// deleteUpwards deletes what was found, children before parents.
func (e *eraser) deleteUpwards(ctx context.Context, edges []edge, found []doomed) error {
	for len(found) > 0 {
		i := slices.IndexFunc(found, func(d doomed) bool { // nothing that is left points here
			return !slices.ContainsFunc(edges, func(k edge) bool { return k.Parent == d.table && indexOf(found, k.Child) >= 0 })
		})
		if i < 0 {
			return fmt.Errorf("the foreign keys of %v go in a circle", found)
		}
		tag, err := e.tx.tx.Exec(ctx, "DELETE FROM "+found[i].table+" WHERE gym_id = $1 AND ("+found[i].condition+")", e.tx.gym, e.athlete)
		if err != nil {
			return fmt.Errorf("deleting from %s: %w", found[i].table, err)
		}
		if tag.RowsAffected() > 0 {
			e.erased.Rows[found[i].table] = int(tag.RowsAffected())
		}
		found = slices.Delete(found, i, i+1)
	}
	return nil
}

// cutPointers takes pointers at doomed rows out of rows that stay.
func (e *eraser) cutPointers(ctx context.Context, edges []edge, found []doomed) error {
	for _, k := range edges {
		parent := indexOf(found, k.Parent)
		if parent < 0 || !k.Nullable {
			continue
		}
		child := indexOf(found, k.Child)
		if child >= 0 && k.Parent == "athlete" {
			continue // the column says whose the row is
		}
		stays := "true"
		if child >= 0 {
			stays = "NOT coalesce((" + found[child].condition + "), false)"
		}
		sql := "UPDATE " + k.Child + " SET " + k.Column + " = NULL WHERE gym_id = $1 AND " + stays + " AND " + k.Column +
			" IN (SELECT " + k.Key + " FROM " + k.Parent + " WHERE gym_id = $1 AND (" + found[parent].condition + "))"
		tag, err := e.tx.tx.Exec(ctx, sql, e.tx.gym, e.athlete)
		if err != nil {
			return fmt.Errorf("cutting %s.%s: %w", k.Child, k.Column, err)
		}
		e.erased.Traces += int(tag.RowsAffected())
	}
	return nil
}
