package backup

import (
	"context"
	"fmt"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/golang-migrate/migrate/v4"
	_ "github.com/golang-migrate/migrate/v4/database/pgx/v5" // the driver that addresses beginning with pgx5 name
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/store"
	"ropewalk.example/migrations"
)

// releases are the backups that released programs made, by make release-dump.
func releases(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../../testdata/upgrade/*.tar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no backup of a release is there (%v)", err)
	}
	return files
}

// read restores a release's backup as it was, without bringing it up to date.
func (m *machine) read(file string) Manifest {
	m.t.Helper()
	work := m.t.TempDir()
	manifest, err := m.unpack(file, work)
	if err != nil {
		m.t.Fatal(err)
	}
	tools, err := m.tools()
	if err != nil {
		m.t.Fatal(err)
	}
	if err := store.EnsureRoles(m.t.Context(), m.OwnerURL, ""); err != nil {
		m.t.Fatal(err)
	}
	if err := tools.restore(m.t.Context(), m.OwnerURL, filepath.Join(work, dumpName)); err != nil {
		m.t.Fatal(err)
	}
	if wrong := manifest.Census().Differences(m.census()); len(wrong) > 0 {
		m.t.Fatalf("restored otherwise than it was: %v", wrong)
	}
	return manifest
}

// changed are columns whose values a migration changes on purpose, by table and
// column, with why. What is not here means the same after an upgrade.
var changed = map[string]string{
	"public.schema_migrations.version": "says how far the schema is",
}

// A report sums up each column of each table: the values, whatever their order.
type report map[string]string

func (m *machine) report() report {
	m.t.Helper()
	conn, err := pgx.Connect(m.t.Context(), m.OwnerURL)
	if err != nil {
		m.t.Fatal(err)
	}
	defer conn.Close(context.Background())
	rows, _ := conn.Query(m.t.Context(), `
		SELECT format('%I.%I', table_schema, table_name), quote_ident(column_name)
		FROM information_schema.columns JOIN information_schema.tables USING (table_schema, table_name)
		WHERE table_schema IN ('public', 'river') AND table_type = 'BASE TABLE'`) // the collector reports Query's error
	columns, err := pgx.CollectRows(rows, pgx.RowToStructByPos[struct{ Table, Column string }])
	if err != nil {
		m.t.Fatal(err)
	}
	found := report{}
	for _, c := range columns {
		var sum string
		err := conn.QueryRow(m.t.Context(), fmt.Sprintf(`SELECT count(*) || ' ' || coalesce(sum(hashtextextended(%s::text, 0)), 0) FROM %s`, c.Column, c.Table)).Scan(&sum)
		if err != nil {
			m.t.Fatal(err)
		}
		found[c.Table+"."+c.Column] = sum
	}
	return found
}

// lost lists the columns of before that are not the same in after.
func (before report) lost(after report) []string {
	var lines []string
	for column, sum := range before {
		if _, meant := changed[column]; meant {
			continue
		}
		if after[column] != sum {
			lines = append(lines, fmt.Sprintf("%s was %q, is %q", column, sum, after[column]))
		}
	}
	slices.Sort(lines)
	return lines
}

// Every release's data come through an upgrade to this program unchanged.
func TestUpgradeFromEveryRelease(t *testing.T) {
	for _, file := range releases(t) {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".tar"), func(t *testing.T) {
			m := newMachine(t)
			manifest := m.read(file)
			before := m.report()
			if err := store.Migrate(t.Context(), m.OwnerURL); err != nil {
				t.Fatal(err)
			}
			after := m.report()
			for _, line := range before.lost(after) {
				t.Error(line)
			}
			t.Logf("%s, schema %d to %d: %d rows of %d tables; %d columns are equal, %d are new", manifest.Program, manifest.Schema, store.NewestSchema(),
				manifest.Census().Rows(), len(manifest.Tables), len(before), len(after)-len(before))
		})
	}
}

// The report sees one changed letter in one row.
func TestReportSeesAChange(t *testing.T) {
	m := newMachine(t)
	m.read(releases(t)[0])
	before := m.report()
	if lost := before.lost(m.report()); len(lost) > 0 {
		t.Errorf("without a change it tells of %v", lost)
	}
	m.do(`UPDATE athlete SET name = name || '.' WHERE athlete_id = (SELECT athlete_id FROM athlete LIMIT 1)`, `ALTER TABLE class DROP COLUMN archived_at CASCADE`)
	lost := strings.Join(before.lost(m.report()), "\n")
	if !strings.Contains(lost, "public.athlete.name") || !strings.Contains(lost, "public.class.archived_at") || strings.Count(lost, "\n") != 1 {
		t.Errorf("it tells of %s", lost)
	}
}

// Every migration runs over data: the newest release's, led back to each earlier
// schema with the rows that fit into it.
func TestUpgradeFromEverySchema(t *testing.T) {
	m := newMachine(t)
	files := releases(t)
	m.read(files[len(files)-1])
	if err := store.Migrate(t.Context(), m.OwnerURL); err != nil {
		t.Fatal(err)
	}
	own, err := url.Parse(m.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	for schema := store.NewestSchema() - 1; schema > 0; schema-- {
		name := fmt.Sprintf("schema%d", schema)
		m.OwnerURL = own.String()
		m.do("CREATE DATABASE " + name + " TEMPLATE postgres")
		there := *own
		there.Path = "/" + name
		m.OwnerURL = there.String()
		m.lead(schema)
		before := m.report()
		if err := store.Migrate(t.Context(), m.OwnerURL); err != nil {
			t.Errorf("from schema %d: %v", schema, err)
			continue
		}
		after := m.report()
		for _, line := range before.lost(after) {
			t.Errorf("from schema %d: %s", schema, line)
		}
		rows := 0
		for _, table := range m.census().Tables {
			rows += int(table.Rows)
		}
		t.Logf("schema %d to %d: %d columns are equal, %d are new; %d rows", schema, store.NewestSchema(), len(before), len(after)-len(before), rows)
	}
}

// lead brings the schema to a number, forwards or back.
func (m *machine) lead(schema int) {
	m.t.Helper()
	source, err := iofs.New(migrations.FS, ".")
	if err != nil {
		m.t.Fatal(err)
	}
	led, err := migrate.NewWithSourceInstance("iofs", source, "pgx5"+strings.TrimPrefix(m.OwnerURL, "postgres"))
	if err != nil {
		m.t.Fatal(err)
	}
	defer led.Close()
	if err := led.Migrate(uint(schema)); err != nil {
		m.t.Fatalf("leading to schema %d: %v", schema, err)
	}
}
