package localpg

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"ropewalk.example/internal/problem"
)

func TestDataOfAnotherVersion(t *testing.T) {
	dir := t.TempDir()
	data := filepath.Join(dir, "data")
	if err := os.Mkdir(data, 0o700); err != nil {
		t.Fatal(err)
	}
	treasure := filepath.Join(data, "base")
	for name, text := range map[string]string{filepath.Join(data, "PG_VERSION"): "99\n", treasure: "years of results"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	_, err := Start(t.Context(), Options{Dir: dir})
	if err == nil || !strings.Contains(err.Error(), "made by PostgreSQL 99") || !strings.Contains(err.Error(), "Nothing was changed") {
		t.Errorf("start on data of version 99: %v", err)
	}
	if text, err := os.ReadFile(treasure); err != nil || string(text) != "years of results" {
		t.Errorf("the data now reads %q, %v", text, err)
	}
}

func TestFolderWithoutVersionIsNotOverwritten(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "data", "base"), 0o700); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: dir})
	if err == nil || !strings.Contains(err.Error(), "has no PG_VERSION") {
		t.Errorf("start on a folder that is no database: %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "data", "base")); err != nil {
		t.Error(err)
	}
}

func TestMissingPassword(t *testing.T) {
	dir := t.TempDir()
	if err := start(t, dir).Stop(); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, "password")); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: dir})
	if !errors.Is(err, fs.ErrNotExist) || problem.KindOf(err) != problem.Unavailable {
		t.Errorf("start without the password: %v", err)
	}
}

func TestFolderThatCannotBeMade(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: filepath.Join(file, "var")})
	if err == nil || !strings.Contains(err.Error(), "Choose another one with ROPEWALK_DATA") {
		t.Errorf("start below a file: %v", err)
	}
}

func TestSocketFolderThatIsATrap(t *testing.T) {
	dir := t.TempDir()
	self := account{uid: uint32(os.Geteuid()), gid: uint32(os.Getegid())}
	path, err := makeSocketFolder(dir, self)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := makeSocketFolder(dir, self); err != nil || again != path {
		t.Errorf("the second time: %s, %v", again, err)
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(dir, path); err != nil {
		t.Fatal(err)
	}
	defer os.Remove(path)
	if _, err := makeSocketFolder(dir, self); problem.KindOf(err) != problem.Conflict {
		t.Errorf("a link in its place: %v", err)
	}
}

func TestOvergrownLogIsPutAside(t *testing.T) {
	path := filepath.Join(t.TempDir(), "server.log")
	if err := os.WriteFile(path, make([]byte, 11<<20), 0o600); err != nil {
		t.Fatal(err)
	}
	log, err := openLog(path)
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	if info, err := log.Stat(); err != nil || info.Size() != 0 {
		t.Errorf("the new log: %v, %v", info, err)
	}
	if info, err := os.Stat(path + ".old"); err != nil || info.Size() != 11<<20 {
		t.Errorf("the old log: %v, %v", info, err)
	}
}

func TestComplaint(t *testing.T) {
	tests := []struct{ name, log, want string }{
		{"nothing said", "", "it left no word why."},
		{"reason among others", "LOG:  starting\n2026-03-01 [7] FATAL:  no space left\nLOG:  database system is shut down\n", "no space left"},
		{"no reason marked", "postgres: bad switch\nTry --help\n", "Try --help"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			const earlier = "FATAL:  from an earlier run\n"
			path := filepath.Join(t.TempDir(), "server.log")
			if err := os.WriteFile(path, []byte(earlier+test.log), 0o600); err != nil {
				t.Fatal(err)
			}
			if got := complaint(path, int64(len(earlier))); got != test.want {
				t.Errorf("complaint = %q, want %q", got, test.want)
			}
		})
	}
}
