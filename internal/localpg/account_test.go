package localpg

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"ropewalk.example/internal/problem"
)

// The rest of this package's tests run as whoever runs them, often root. This
// one runs them all again as an ordinary account, if that is root.
func TestAsOrdinaryAccount(t *testing.T) {
	if os.Geteuid() != 0 {
		return // all tests are that already
	}
	server, err := serverAccount()
	if err != nil {
		t.Fatal(err)
	}
	dir, err := os.MkdirTemp("/tmp", "localpg-test-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	program := filepath.Join(dir, "tests") // the test program lies where only root may enter
	text, err := os.ReadFile(os.Args[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(program, text, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := server.own(dir); err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), program, "-test.run", "FirstStart|NextStart|SecondStart|KilledPredecessor", "-test.count=1", "-test.v")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "HOME="+dir, "TMPDIR="+dir)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: server.uid, Gid: server.gid}}
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.Contains(string(out), "--- PASS: TestFirstStart") {
		t.Errorf("as account %d: %v\n%s", server.uid, err, out)
	}
}

func TestAccountFor(t *testing.T) {
	data := t.TempDir()
	self := uint32(os.Geteuid())

	got, err := accountFor(filepath.Join(data, "not there"))
	if err != nil || got.uid == 0 {
		t.Errorf("for new data: %+v, %v; want an account that is not root", got, err)
	}
	if self != 0 {
		if _, err := accountFor("/etc"); problem.KindOf(err) != problem.Forbidden {
			t.Errorf("for data of root: %v", err)
		}
		return
	}
	if err := os.Chown(data, 4711, 4712); err != nil {
		t.Fatal(err)
	}
	if got, err := accountFor(data); err != nil || got != (account{uid: 4711, gid: 4712, other: true}) {
		t.Errorf("for data of account 4711: %+v, %v", got, err)
	}
}

// A copy made by root, from a backup for instance, belongs to root.
func TestDataCopiedByRoot(t *testing.T) {
	dir := t.TempDir()
	if err := start(t, dir).Stop(); err != nil {
		t.Fatal(err)
	}
	root := account{uid: uint32(os.Geteuid()), gid: uint32(os.Getegid()), other: true}
	if err := root.ownAll(filepath.Join(dir, "data")); err != nil {
		t.Fatal(err)
	}
	c := start(t, dir)
	if got := ask(t, c.URL("postgres"), "SELECT 'up'"); got != "up" {
		t.Errorf("got %q", got)
	}
}

func TestFolderThatOnlyItsOwnerMayEnter(t *testing.T) {
	closed := filepath.Join(t.TempDir(), "closed")
	if err := os.Mkdir(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(closed, "var")
	if err := start(t, dir).Stop(); err != nil {
		t.Fatal(err)
	}
	c := start(t, dir)
	if got := ask(t, c.URL("postgres"), "SELECT 'up'"); got != "up" {
		t.Errorf("got %q", got)
	}
}
