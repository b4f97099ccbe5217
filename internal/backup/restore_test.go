package backup

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// Backups of one filled machine are restored into others.
func TestRestore(t *testing.T) {
	from := newMachine(t)
	from.fill()
	public, secret, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	_, strange, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	plain, made := from.made()
	if made.Verified != gym.BackupRestored || made.Rows < 503 || made.Bytes == 0 || made.Encrypted || !made.Good() {
		t.Errorf("the backup is noted as %+v", made)
	}
	from.Keys = keysOf(t, public)
	sealed, made := from.made()
	if !made.Encrypted || !strings.HasSuffix(sealed, ".tar.age") {
		t.Errorf("the encrypted backup is noted as %+v", made)
	}
	if text, err := os.ReadFile(sealed); err != nil || bytes.Contains(text, []byte(manifestName)) {
		t.Errorf("the encrypted backup shows what it holds: %v", err)
	}

	to := newMachine(t)
	to.put(Tombstones, "2026-11-02T00:00:00Z two\n") // somebody was erased after the backup
	to.Keys = Keys{}
	_, err = to.Restore(t.Context(), sealed)
	says(t, err, "The backup is encrypted.")
	to.Keys = keysOf(t, public)
	_, err = to.Restore(t.Context(), sealed)
	says(t, err, "The backup is encrypted.")
	to.Keys = keysOf(t, strange)
	_, err = to.Restore(t.Context(), sealed)
	says(t, err, "encrypted with another key")
	to.Keys = keysOf(t, secret)
	m, err := to.Restore(t.Context(), sealed)
	if err != nil {
		t.Fatal(err)
	}
	if wrong := from.census().Differences(to.census()); len(wrong) > 0 || m.Schema != store.NewestSchema() {
		t.Errorf("schema %d; what was restored differs: %v", m.Schema, wrong)
	}
	if got := to.file("certificate/authority.pem"); got != "a certificate" {
		t.Errorf("the certificate is %q", got)
	}
	if got := to.file(Tombstones); got != "2026-11-02T00:00:00Z two\n2026-11-01T00:00:00Z one\n" {
		t.Errorf("the tombstones are %q", got)
	}
	for sql, want := range map[string]string{
		`SELECT count(*)::text FROM sign_in`: "0",
		`SELECT name FROM gym`:               `Hall "ü"`,
		// The walls between gyms stand: the app's role sees nothing unnamed.
		`SELECT count(*)::text FROM pg_policy`: from.ask(`SELECT count(*)::text FROM pg_policy`),
		`SELECT set_config('role', 'ropewalk_app', false) || (SELECT count(*) FROM pg_class WHERE relforcerowsecurity)`: "ropewalk_app" + from.ask(`SELECT count(*)::text FROM pg_class WHERE relforcerowsecurity`),
	} {
		if got := to.ask(sql); got != want {
			t.Errorf("%s: %s, want %s", sql, got, want)
		}
	}
	_, err = to.Restore(t.Context(), plain)
	says(t, err, "only restored into an empty one")

	t.Run("after an empty start", func(t *testing.T) {
		other := newMachine(t)
		other.migrate()
		if _, err := other.Restore(t.Context(), plain); err != nil {
			t.Fatal(err)
		}
		if wrong := from.census().Differences(other.census()); len(wrong) > 0 {
			t.Errorf("what was restored differs: %v", wrong)
		}
	})
	t.Run("refused", func(t *testing.T) { refusals(t, from, plain, sealed, secret) })
}

// altered writes a backup whose manifest says something else, with right sums.
func altered(t *testing.T, from *machine, path string, change func(m *Manifest)) string {
	t.Helper()
	work := t.TempDir()
	m, err := from.unpack(path, work)
	if err != nil {
		t.Fatal(err)
	}
	change(&m)
	to := filepath.Join(t.TempDir(), "altered.tar")
	plain := *from.Backups
	plain.Keys = Keys{}
	if _, err := plain.write(to, filepath.Join(work, dumpName), &m); err != nil {
		t.Fatal(err)
	}
	return to
}

func refusals(t *testing.T, from *machine, plain, sealed, secret string) {
	to := newMachine(t)
	to.Keys = keysOf(t, secret)
	whole, err := os.ReadFile(plain)
	if err != nil {
		t.Fatal(err)
	}
	write := func(text []byte) string {
		path := filepath.Join(t.TempDir(), "file")
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	for _, test := range []struct{ name, path, says string }{
		{"no file", filepath.Join(t.TempDir(), "none"), "cannot be read. Check its name."},
		{"empty file", write(nil), "is damaged or is no backup"},
		{"something else", write([]byte(strings.Repeat("years of results\n", 1000))), "is damaged or is no backup"},
		{"cut in the middle", write(whole[:len(whole)/2]), "is damaged or is no backup"},
		{"cut before the sums", write(whole[:len(whole)-3000]), "is damaged or is no backup"},
		{"newer schema", altered(t, from, plain, func(m *Manifest) { m.Schema = 9999 }), "Take the newer program."},
		{"newer layout", altered(t, from, plain, func(m *Manifest) { m.Format = 2 }), "Take the newer program."},
		{"empty manifest", altered(t, from, plain, func(m *Manifest) { *m = Manifest{} }), "is damaged or is no backup"},
		{"rows missing", altered(t, from, plain, func(m *Manifest) { m.Tables[0].Rows++ }), "The database is empty again"},
		{"other content", altered(t, from, plain, func(m *Manifest) { m.Tables[1].Sum = "1" }), "The database is empty again"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := to.Restore(t.Context(), test.path)
			says(t, err, test.says)
			if !to.vacant() {
				t.Error("something was left in the database")
			}
			left, err := filepath.Glob(filepath.Join(to.DataDir, "restoring-*"))
			if err != nil || len(left) > 0 {
				t.Errorf("left behind: %v, %v", left, err)
			}
		})
	}
	cut, err := os.ReadFile(sealed)
	if err != nil {
		t.Fatal(err)
	}
	cut[len(cut)/2] ^= 1
	_, err = to.Restore(t.Context(), write(cut))
	says(t, err, "is damaged or is no backup")
}

// Whatever byte of a backup is changed, either it is refused or it says exactly
// what it said (the byte was padding).
func TestDamageIsSeen(t *testing.T) {
	dir := t.TempDir()
	b := &Backups{Dir: dir, DataDir: dir}
	dump := filepath.Join(dir, "dumped")
	if err := os.WriteFile(dump, bytes.Repeat([]byte("rows and more rows\n"), 200), 0o600); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "whole.tar")
	if _, err := b.write(path, dump, &Manifest{Format: 1, Schema: 1, Tables: []store.TableCount{{Name: "gym", Rows: 1, Sum: "1"}}}); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want := contents(t, b, path)
	rapid.Check(t, func(r *rapid.T) {
		text := bytes.Clone(whole)
		at := rapid.IntRange(0, len(text)-1).Draw(r, "at")
		text[at] ^= byte(rapid.IntRange(1, 255).Draw(r, "by"))
		if rapid.Bool().Draw(r, "cut") {
			text = text[:at]
		}
		damagedPath := filepath.Join(dir, "damaged")
		if err := os.WriteFile(damagedPath, text, 0o600); err != nil {
			r.Fatal(err)
		}
		into, err := os.MkdirTemp(dir, "into")
		if err != nil {
			r.Fatal(err)
		}
		defer os.RemoveAll(into)
		if _, err := b.unpack(damagedPath, into); err != nil {
			return
		}
		if got := contentsOf(into); !maps.Equal(got, want) {
			r.Fatalf("a byte at %d was changed unseen", at)
		}
	})
}

func contents(t *testing.T, b *Backups, path string) map[string]string {
	t.Helper()
	into := t.TempDir()
	if _, err := b.unpack(path, into); err != nil {
		t.Fatal(err)
	}
	return contentsOf(into)
}

func contentsOf(dir string) map[string]string {
	texts := map[string]string{}
	for _, name := range []string{manifestName, dumpName} {
		text, err := os.ReadFile(filepath.Join(dir, name))
		texts[name] = string(text)
		if err != nil {
			texts[name] = err.Error()
		}
	}
	return texts
}

// Nothing that calls itself a backup makes a file outside of its folder.
func FuzzUnpack(f *testing.F) {
	dir := f.TempDir()
	b := &Backups{Dir: dir, DataDir: dir}
	dump := filepath.Join(dir, "dumped")
	if err := os.WriteFile(dump, []byte("rows"), 0o600); err != nil {
		f.Fatal(err)
	}
	path := filepath.Join(dir, "whole.tar")
	if _, err := b.write(path, dump, &Manifest{Format: 1}); err != nil {
		f.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(whole)
	f.Add(bytes.Replace(whole, []byte("dump"), []byte("../d"), 1))
	f.Fuzz(func(t *testing.T, text []byte) {
		outside := t.TempDir()
		path, into := filepath.Join(outside, "file"), filepath.Join(outside, "into")
		if err := errors.Join(os.WriteFile(path, text, 0o600), os.Mkdir(into, 0o700)); err != nil {
			t.Fatal(err)
		}
		m, err := b.unpack(path, into)
		if err == nil {
			if _, err := json.Marshal(m); err != nil {
				t.Error(err)
			}
		}
		there, err := os.ReadDir(outside)
		if err != nil || len(there) != 2 {
			t.Errorf("it wrote beside its folder: %v, %v", there, err)
		}
	})
}
