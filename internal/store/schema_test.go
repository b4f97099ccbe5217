package store_test

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/store"
)

var update = flag.Bool("update", false, "write docs/schema.sql anew")

const schemaFile = "../../docs/schema.sql"

// docs/schema.sql is the whole schema in one file for people to read. It is
// made by pg_dump from a server of its own, of the same version as pg_dump.
func TestSchemaDump(t *testing.T) {
	cluster, err := localpg.Start(t.Context(), localpg.Options{Dir: t.TempDir(), Throwaway: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := cluster.Stop(); err != nil {
			t.Error(err)
		}
	})
	address := cluster.URL("postgres")
	if err := store.EnsureRoles(t.Context(), address, ""); err != nil {
		t.Fatal(err)
	}
	if err := store.Migrate(t.Context(), address); err != nil {
		t.Fatal(err)
	}
	dump := exec.CommandContext(t.Context(), filepath.Join(cluster.Programs().Dir, "pg_dump"), "--schema-only", "--no-owner", "-d", address)
	dump.Stderr = os.Stderr
	out, err := dump.Output()
	if err != nil {
		t.Fatalf("pg_dump: %v", err)
	}
	now := tidy(string(out))
	if *update {
		const head = "-- The schema after all migrations, for reading; migrations/ is what runs.\n-- Written by: go test ./internal/store -run TestSchemaDump -update\n"
		if err := os.WriteFile(schemaFile, []byte(head+"\n"+now), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	before, after := strings.Split(tidy(string(kept)), "\n"), strings.Split(now, "\n")
	if lines := difference(before, after); lines != "" {
		t.Errorf("docs/schema.sql is not the schema; write it anew with: go test ./internal/store -run TestSchemaDump -update\n%s", lines)
	}
}

// settings are lines that differ from one version of pg_dump to the next, and
// the remarks between statements.
var settings = regexp.MustCompile(`(?m)^(--.*|SET .*|SELECT pg_catalog\.set_config.*|\\.*)\n`)

var gaps = regexp.MustCompile(`\n{2,}`)

func tidy(dump string) string {
	return strings.TrimSpace(gaps.ReplaceAllString(settings.ReplaceAllString(dump, ""), "\n\n")) + "\n"
}
