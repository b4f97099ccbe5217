package store_test

import (
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/backup"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/migrations"
)

var release = flag.String("release", "", "write the dump of this release into testdata/upgrade, such as v0.2.0")

// upgradeFolder holds a backup of each release, for upgrades to be tried from,
// and the sums of the migrations that were released.
const upgradeFolder = "../../testdata/upgrade"

// dumpDay is the day until which the invented gym of a dump was held: a few
// weeks of its term are enough.
var dumpDay = time.Date(2026, time.October, 1, 12, 0, 0, 0, time.UTC)

// A dump of a release holds a few weeks of the invented gym and a row in every
// table, even in those that the gym leaves empty. It is an ordinary backup.
func TestReleaseDump(t *testing.T) {
	b := open(t)
	b.fill()
	b.fillEmpty()
	b.fillGlobal()
	for _, table := range append(b.gymTables(), globalTables...) {
		if ask[int](t, b.owner, `SELECT count(*) FROM `+table) == 0 {
			t.Errorf("a dump would hold no row of %s", table)
		}
	}
	if *release != "" && !t.Failed() {
		b.writeDump(*release)
	}
}

func (b *base) writeDump(release string) {
	t := b.t
	if !regexp.MustCompile(`^v\d+\.\d+\.\d+$`).MatchString(release) {
		t.Fatalf("%q names no release; write it like v0.2.0", release)
	}
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	seeder := demoseed.Seeder{Store: b.Store, Hasher: hasher, Log: slog.New(slog.DiscardHandler)}
	if _, err := seeder.Fill(t.Context(), dumpDay); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	made, err := (&backup.Backups{Dir: dir, DataDir: dir, OwnerURL: b.urls.OwnerURL, Keep: backup.Keep{Days: 30, Least: 3}, Program: release,
		Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now }}).Make(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, made.File))
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{release + ".tar": text, migrationSums: []byte(sumsOfMigrations(t))} {
		if err := os.WriteFile(filepath.Join(upgradeFolder, name), content, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// fillGlobal gives each table that belongs to no gym, and the queue, a row.
func (b *base) fillGlobal() {
	b.t.Helper()
	for _, table := range globalTables {
		if ask[int](b.t, b.owner, `SELECT count(*) FROM `+table) == 0 && !b.fakeRow(table) {
			b.t.Errorf("no row could be made up for %s", table)
		}
	}
	b.ownerDoes(`INSERT INTO river.river_job (kind, args, state, max_attempts, attempt, finalized_at) VALUES ('make_file', '{}', 'discarded', 3, 3, now())`)
}

const migrationSums = "migrations.sha256"

// sumsOfMigrations lists the migrations as sha256sum does.
func sumsOfMigrations(t *testing.T) string {
	t.Helper()
	names, err := fs.Glob(migrations.FS, "*.up.sql")
	if err != nil {
		t.Fatal(err)
	}
	var lines strings.Builder
	for _, name := range names {
		text, err := fs.ReadFile(migrations.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(text)
		fmt.Fprintf(&lines, "%s  %s\n", hex.EncodeToString(sum[:]), name)
	}
	return lines.String()
}

// What was released ran somewhere already: a change of it would reach nobody.
func TestReleasedMigrationsStayAsTheyAre(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(upgradeFolder, migrationSums))
	if err != nil {
		t.Fatal(err)
	}
	now, released := sumsOfMigrations(t), 0
	for line := range strings.Lines(string(text)) {
		released++
		if !strings.Contains(now, line) {
			_, name, _ := strings.Cut(strings.TrimSpace(line), "  ")
			t.Errorf("%s was released; write a new migration instead", name)
		}
	}
	if released == 0 {
		t.Error("no released migration is known")
	}
}
