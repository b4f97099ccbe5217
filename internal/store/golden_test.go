package store_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// compared finds the columns in an index condition, of several compared at once
// the first.
var compared = regexp.MustCompile(`\((?:ROW\()?(?:\w+\.)?(\w+)(?:, [^()]*\))? (?:=|<|>|<=|>=) `)

// way says how a node reaches its table: "result by result_by_athlete (gym_id, athlete_id)".
func (n node) way() string {
	if n.Index == "" {
		return n.Table + " as a whole"
	}
	var columns []string
	for _, found := range compared.FindAllStringSubmatch(n.IndexCond, -1) {
		columns = append(columns, found[1])
	}
	slices.Sort(columns)
	return fmt.Sprintf("%s by %s (%s)", n.Table, n.Index, strings.Join(slices.Compact(columns), ", "))
}

// Each of the hot queries goes by the indexes that are kept in the golden file.
// Joins and scans that PostgreSQL chooses by cost are switched off, so that
// neither its version nor its sample of the rows matters: an index that is lost
// does. Tables that stay small are left out: there nothing is lost.
func TestHotQueriesKeepTheirIndexes(t *testing.T) {
	const golden = "testdata/ways.txt"
	b := open(t)
	gymID, classID, athlete := b.crowd()
	app := b.app()
	for _, chosen := range []string{"seqscan", "bitmapscan", "hashjoin", "mergejoin", "material", "memoize"} {
		if _, err := app.Exec(t.Context(), `SET enable_`+chosen+` = off`); err != nil {
			t.Fatal(err)
		}
	}
	var text strings.Builder
	readings := hotReadings(classID, athlete)
	for _, what := range slices.Sorted(maps.Keys(readings)) {
		batch := &pgx.Batch{}
		readings[what](batch)
		ways := map[string]bool{}
		inGym(t, app, gymID, func(tx pgx.Tx) {
			for _, query := range batch.QueuedQueries {
				var explained []struct{ Plan node }
				if err := json.Unmarshal([]byte(ask[string](t, tx, "EXPLAIN (FORMAT JSON) "+query.SQL, query.Arguments...)), &explained); err != nil {
					t.Fatal(err)
				}
				explained[0].Plan.walk(func(n node) {
					if slices.Contains(grown, n.Table) {
						ways[n.way()] = true
					}
				})
			}
		})
		fmt.Fprintf(&text, "%s\n\t%s\n", what, strings.Join(slices.Sorted(maps.Keys(ways)), "\n\t"))
	}
	if *update {
		if err := os.WriteFile(golden, []byte(text.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if text.String() != string(kept) {
		t.Errorf("queries find their rows by other ways than %s says; go test ./internal/store -run %s -update writes it anew:\n%s", golden, t.Name(), text.String())
	}
}
