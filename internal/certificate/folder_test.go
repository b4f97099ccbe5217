package certificate

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"ropewalk.example/internal/problem"
)

func ownAtStart(dir string, extra ...string) (*Authority, error) {
	return Own(dir, extra, func() time.Time { return start })
}

func TestSecondStartKeepsTheAuthority(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "var", "certificate")
	first := newHall(t, dir)
	second := newHall(t, dir)
	if first.Fingerprint() != second.Fingerprint() {
		t.Error("phones that trust the first start do not trust the second")
	}
	if handedOut := read(t, dir, rootFile); !bytes.Equal(handedOut, first.RootPEM()) {
		t.Error("root.crt is not the root")
	}
	for name, want := range map[string]os.FileMode{".": 0o700, authorityFile: 0o600, rootFile: 0o600, "..": 0o711} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: mode %v, %v; want %v", name, info.Mode().Perm(), err, want)
		}
	}
}

func TestManyStartsAtOnce(t *testing.T) {
	dir := t.TempDir()
	var starts sync.WaitGroup
	prints := make([]string, 16)
	for i := range prints {
		starts.Go(func() {
			a, err := ownAtStart(dir)
			if err != nil {
				t.Error(err)
				return
			}
			prints[i] = a.Fingerprint()
		})
	}
	starts.Wait()
	for _, print := range prints {
		if print == "" || print != prints[0] {
			t.Fatalf("the starts have the authorities %q", prints)
		}
	}
	if left, err := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %q, %v", left, err)
	}
}

func TestInterruptedFirstStart(t *testing.T) {
	dir := t.TempDir()
	first := newHall(t, dir)
	if err := os.Remove(filepath.Join(dir, rootFile)); err != nil { // killed between the two files
		t.Fatal(err)
	}
	if second := newHall(t, dir); second.Fingerprint() != first.Fingerprint() {
		t.Error("the authority was made anew")
	}
	if handedOut := read(t, dir, rootFile); !bytes.Equal(handedOut, first.RootPEM()) {
		t.Error("root.crt was not made")
	}
}

func TestKeyThatOthersCanRead(t *testing.T) {
	for _, mode := range []os.FileMode{0o644, 0o640, 0o604, 0o660} {
		dir := t.TempDir()
		newHall(t, dir)
		path := filepath.Join(dir, authorityFile)
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		_, err := ownAtStart(dir)
		if got := problem.MessageOf(err); problem.KindOf(err) != problem.Forbidden || !strings.HasSuffix(got, "Run: chmod 600 "+path) {
			t.Errorf("mode %v: %v", mode, err)
		}
	}
}

// Phones trust the authority that was there, so that a new one would not help.
func TestDamageIsNotPaintedOver(t *testing.T) {
	other := t.TempDir()
	newHall(t, other)
	key, root := blocks(t, other)
	tests := []struct {
		name   string
		damage func(t *testing.T, dir string)
		says   string
	}{
		{"key file gone", func(t *testing.T, dir string) {
			if err := os.Remove(filepath.Join(dir, authorityFile)); err != nil {
				t.Fatal(err)
			}
		}, "Put the file back from a backup."},
		{"key file empty", replace(authorityFile, func([]byte) []byte { return nil }), "Put the file back from a backup."},
		{"key file cut", replace(authorityFile, func(b []byte) []byte { return b[:len(b)-40] }), "Put the file back from a backup."},
		{"a letter changed", replace(authorityFile, func(b []byte) []byte {
			b[len(b)-200] ^= 1
			return b
		}), "Put the file back from a backup."},
		{"no key in it", replace(authorityFile, func(b []byte) []byte { return b[bytes.Index(b, []byte("-----BEGIN CERT")):] }), "Put the file back from a backup."},
		{"another gym's key", replace(authorityFile, func(b []byte) []byte {
			return append(bytes.Clone(key), b[bytes.Index(b, []byte("-----BEGIN CERT")):]...)
		}), "Put the file back from a backup."},
		{"something after it", replace(authorityFile, func(b []byte) []byte { return append(b, "more"...) }), "Put the file back from a backup."},
		{"another gym's authority", replace(authorityFile, func([]byte) []byte { return append(bytes.Clone(key), root...) }), "Put both back from one backup."},
		{"another gym's root", replace(rootFile, func([]byte) []byte { return root }), "Put both back from one backup."},
		{"root file empty", replace(rootFile, func([]byte) []byte { return nil }), "Put both back from one backup."},
		{"a folder in its place", func(t *testing.T, dir string) {
			path := filepath.Join(dir, authorityFile)
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
			if err := os.Mkdir(path, 0o700); err != nil {
				t.Fatal(err)
			}
		}, "Put the file back from a backup."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			newHall(t, dir)
			test.damage(t, dir)
			before := contents(t, dir)
			_, err := ownAtStart(dir)
			if got := problem.MessageOf(err); problem.KindOf(err) != problem.Invalid || !strings.Contains(got, test.says) || !strings.Contains(got, dir) {
				t.Errorf("start says: %v", err)
			}
			if after := contents(t, dir); after != before {
				t.Errorf("the folder was changed from\n%s\nto\n%s", before, after)
			}
		})
	}
}

func TestNameThatTheRootDoesNotAllow(t *testing.T) {
	dir := t.TempDir()
	newHall(t, dir, "ropes.example.org")
	if _, err := ownAtStart(dir, "hall.home.arpa", "10.1.2.3", "ropes.example.org"); err != nil {
		t.Errorf("names within the limits: %v", err)
	}
	_, err := ownAtStart(dir, "hall.example.com")
	if got := problem.MessageOf(err); problem.KindOf(err) != problem.Invalid || !strings.Contains(got, "without the name hall.example.com") {
		t.Errorf("a name beyond the limits: %v", err)
	}
}

func TestFolderThatCannotBeMade(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, ownErr := ownAtStart(filepath.Join(file, "certificate"))
	_, publicErr := Public(filepath.Join(file, "certificate"), []string{"hall.example.org"})
	for _, err := range []error{ownErr, publicErr} {
		if got := problem.MessageOf(err); !strings.HasSuffix(got, "Choose another data folder with ROPEWALK_DATA.") {
			t.Errorf("below a file: %v", err)
		}
	}
}

func TestFolderThatIsAFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "certificate")
	if err := os.WriteFile(file, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := ownAtStart(file); problem.KindOf(err) != problem.Invalid {
		t.Errorf("start on a file: %v", err)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "mine" {
		t.Errorf("the file reads %q, %v", text, err)
	}
}

func FuzzAuthorityFile(f *testing.F) {
	root, key, err := newRoot(nil, nil, start)
	if err != nil {
		f.Fatal(err)
	}
	dir := f.TempDir()
	if _, err := ownAtStart(dir); err != nil {
		f.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, authorityFile))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add(certificatePEM(root))
	f.Fuzz(func(t *testing.T, text []byte) {
		gotRoot, gotKey, err := parseAuthority(text)
		if err == nil && (!gotKey.PublicKey.Equal(gotRoot.PublicKey) || !gotRoot.IsCA || gotKey.Equal(key)) {
			t.Errorf("took %q", text)
		}
	})
}

// blocks returns the key and the certificate of an authority as text.
func blocks(t *testing.T, dir string) (key, root []byte) {
	t.Helper()
	text := read(t, dir, authorityFile)
	cut := bytes.Index(text, []byte("-----BEGIN CERT"))
	return text[:cut], text[cut:]
}

func replace(file string, change func([]byte) []byte) func(*testing.T, string) {
	return func(t *testing.T, dir string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, file), change(read(t, dir, file)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func read(t *testing.T, dir, file string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, file))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// contents returns the names and contents of all files in dir.
func contents(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, entry := range entries {
		all.WriteString(entry.Name() + "\n")
		if entry.Type().IsRegular() {
			all.Write(read(t, dir, entry.Name()))
		}
	}
	return all.String()
}
