package testdb_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"ropewalk.example/internal/testdb"
)

// holdSetting makes the test program, called again, hold a test database.
const holdSetting = "TESTDB_TEST_HOLD"

// TestHold is what the called test program runs: it holds a database until it
// is killed. Otherwise it does nothing.
func TestHold(t *testing.T) {
	if os.Getenv(holdSetting) == "" {
		return
	}
	testdb.New(t)
	fmt.Println("holding")
	select {}
}

func TestKilledTestProgramLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	cmd := exec.Command(os.Args[0], "-test.run=^TestHold$", "-test.v")
	cmd.Env = append(os.Environ(), holdSetting+"=1", "ROPEWALK_TEST_SERVER=private", "ROPEWALK_TEST_POSTGRES=", "TMPDIR="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for lines := bufio.NewScanner(out); lines.Scan() && lines.Text() != "holding"; {
	}
	if found := foldersIn(t, dir); len(found) != 1 {
		t.Errorf("while it runs, its folders are %v, want one", found)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // killed
	for deadline := time.Now().Add(30 * time.Second); len(foldersIn(t, dir)) > 0; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("after it was killed, %v remain", foldersIn(t, dir))
		}
	}
}

func foldersIn(t *testing.T, dir string) []string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "ropewalk-test-*"))
	if err != nil {
		t.Fatal(err)
	}
	return found
}
