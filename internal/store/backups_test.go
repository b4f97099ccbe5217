package store_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

func TestBackupsAreNoted(t *testing.T) {
	b := open(t)
	var all, good []gym.Backup
	b.read(gymA, store.Backups(3, &all), store.LastGoodBackup(&good))
	if len(all) != 0 || len(good) != 0 {
		t.Errorf("before any backup there are %v, %v", all, good)
	}
	made := func(n byte, hours int, verified, fault string) gym.Backup {
		at := now.Add(time.Duration(hours) * time.Hour)
		return gym.Backup{BackupID: id(n), BegunAt: at, EndedAt: at.Add(time.Minute), Host: "hall", File: "ropewalk.tar", Bytes: 1 << 40, Rows: 7,
			Encrypted: true, Verified: verified, Fault: fault}
	}
	old, newer, broken, read := made(1, 0, gym.BackupRestored, ""), made(2, 1, gym.BackupRead, ""), made(3, 2, "", "The disk is full."), made(4, -1, gym.BackupRead, "")
	for _, one := range []gym.Backup{old, newer, broken, read, old} {
		if err := b.NoteBackup(t.Context(), one); err != nil {
			t.Fatal(err)
		}
	}
	b.read(gymA, store.Backups(3, &all), store.LastGoodBackup(&good))
	for _, list := range [][]gym.Backup{all, good} {
		for i := range list {
			list[i].BegunAt, list[i].EndedAt = list[i].BegunAt.UTC(), list[i].EndedAt.UTC()
		}
	}
	if want := []gym.Backup{broken, newer, old}; !reflect.DeepEqual(all, want) {
		t.Errorf("the newest are %+v, want %+v", all, want)
	}
	if want := []gym.Backup{newer}; !reflect.DeepEqual(good, want) {
		t.Errorf("the last good one is %+v, want %+v", good, want)
	}
}

func TestOneBackupAtATime(t *testing.T) {
	b := open(t)
	err := store.BackingUp(t.Context(), b.urls.OwnerURL, func() error {
		return store.BackingUp(t.Context(), b.urls.OwnerURL, func() error { t.Error("two at a time"); return nil })
	})
	if problem.KindOf(err) != problem.Conflict {
		t.Errorf("the second is told %v", err)
	}
	if err := store.BackingUp(t.Context(), b.urls.OwnerURL, func() error { return nil }); err != nil {
		t.Errorf("after both, another is told %v", err)
	}
}

func (b *base) census() store.Census {
	b.t.Helper()
	var found store.Census
	err := store.TakeCensus(b.t.Context(), b.urls.OwnerURL, func(c store.Census, _, _ string) error { found = c; return nil })
	if err != nil {
		b.t.Fatal(err)
	}
	return found
}

// Every table is counted but the passing ones, and any change is seen.
func TestCensus(t *testing.T) {
	b := open(t)
	b.fill()
	b.fillEmpty()
	before := b.census()
	for _, table := range before.Tables {
		if table.Rows == 0 && slices.Contains(b.gymTables(), table.Name[len("public."):]) {
			t.Errorf("%s has no row", table.Name)
		}
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace WHERE nspname IN ('public', 'river') AND relkind = 'r'`); len(before.Tables) != n-len(store.Passing()) {
		t.Errorf("%d of %d tables are counted, %d are passing", len(before.Tables), n, len(store.Passing()))
	}
	if before.Schema != store.NewestSchema() || before.Postgres < 15 || before.Rows() < 20 {
		t.Errorf("schema %d, server %d, %d rows", before.Schema, before.Postgres, before.Rows())
	}
	if wrong := before.Differences(b.census()); len(wrong) > 0 {
		t.Errorf("nothing changed, but %v", wrong)
	}
	b.ownerDoes(`UPDATE rope SET note = note || '.'`)
	if wrong := before.Differences(b.census()); !slices.Equal(wrong, []string{"public.rope has other content"}) {
		t.Errorf("a changed word is seen as %v", wrong)
	}
	newer := b.census()
	newer.Postgres++
	if wrong := before.Differences(newer); len(wrong) > 0 {
		t.Errorf("another server may write values otherwise, but %v", wrong)
	}
	fewer := before
	fewer.Tables = before.Tables[1:]
	if wrong := before.Differences(fewer); len(wrong) != 1 {
		t.Errorf("a missing table is seen as %v", wrong)
	}
	if wrong := fewer.Differences(before); len(wrong) != 1 {
		t.Errorf("a table too many is seen as %v", wrong)
	}
}

func TestOnlyAVacantDatabaseIsCleared(t *testing.T) {
	b := open(t)
	vacant := func(want bool) {
		t.Helper()
		got, err := store.Vacant(t.Context(), b.urls.OwnerURL)
		if err != nil || got != want {
			t.Errorf("vacant is %v, %v", got, err)
		}
	}
	vacant(true)
	b.fill()
	vacant(false)
	if err := store.Clear(t.Context(), b.urls.OwnerURL, false); problem.KindOf(err) != problem.Conflict {
		t.Errorf("clearing a gym's database is told %v", err)
	}
	if n := ask[int](t, b.owner, `SELECT count(*) FROM gym`); n != 1 {
		t.Fatalf("%d gyms are left", n)
	}
	b.ownerDoes(`TRUNCATE gym, person CASCADE`)
	if err := store.Clear(t.Context(), b.urls.OwnerURL, false); err != nil {
		t.Fatal(err)
	}
	vacant(true)
	if err := store.Migrate(t.Context(), b.urls.OwnerURL); err != nil {
		t.Errorf("a cleared database cannot be used again: %v", err)
	}
	if err := b.Ping(t.Context()); err != nil {
		t.Error(err)
	}
}
