package faults

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ropewalk.example/internal/localpg"
)

// binary is the whole program, built once.
var binary = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "ropewalk-faults-")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "ropewalk")
	if out, err := exec.Command("go", "build", "-o", path, "ropewalk.example/cmd/ropewalk").CombinedOutput(); err != nil {
		return "", fmt.Errorf("building the program: %w: %s", err, out)
	}
	return path, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if path, err := binary(); err == nil {
		_ = os.RemoveAll(filepath.Dir(path))
	}
	os.Exit(code)
}

// A program is one run of ropewalk.
type program struct {
	t       *testing.T
	cmd     *exec.Cmd
	address string // http://localhost:PORT
	said    *lines
	ended   chan struct{}
	err     error // how it ended, once ended is closed
}

// lines keeps what a program writes.
type lines struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// environ is the tests' environment without settings of its own.
func environ(settings ...string) []string {
	var env []string
	for _, line := range os.Environ() {
		name, _, _ := strings.Cut(line, "=")
		if name != "PORT" && name != "DATABASE_URL" && name != "DEMO_NOW" && !strings.HasPrefix(name, "ROPEWALK_") {
			env = append(env, line)
		}
	}
	return append(env, settings...)
}

// call returns a call of the program.
func call(t *testing.T, args []string, settings ...string) *exec.Cmd {
	t.Helper()
	path, err := binary()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, args...)
	cmd.Env = environ(settings...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	return cmd
}

// serve starts a server and returns when it says where it is.
func serve(t *testing.T, settings ...string) *program {
	t.Helper()
	p := begin(t, settings...)
	p.waitAddress()
	return p
}

// waitAddress waits until the program says where it is.
func (p *program) waitAddress() {
	p.t.Helper()
	deadline := time.After(60 * time.Second)
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for {
		if _, rest, found := strings.Cut(p.said.String(), "Ropewalk is at "); found {
			if address, _, whole := strings.Cut(rest, "\n"); whole {
				p.address = address
				return
			}
		}
		select {
		case <-p.ended:
			p.t.Fatalf("the program ended: %v\n%s", p.err, p.said)
		case <-deadline:
			p.t.Fatalf("the program says nothing:\n%s", p.said)
		case <-tick.C:
		}
	}
}

// begin starts a server and does not wait for it.
func begin(t *testing.T, settings ...string) *program {
	t.Helper()
	return beginAs(t, "serve", settings...)
}

// beginAs starts a command that goes on, and does not wait for it.
func beginAs(t *testing.T, command string, settings ...string) *program {
	t.Helper()
	p := &program{t: t, cmd: call(t, []string{command}, append([]string{"PORT=0"}, settings...)...), said: &lines{}, ended: make(chan struct{})}
	p.run()
	return p
}

// run starts the program; it ends with the test.
func (p *program) run() {
	p.t.Helper()
	p.cmd.Stdout, p.cmd.Stderr = p.said, p.said
	if err := p.cmd.Start(); err != nil {
		p.t.Fatal(err)
	}
	go func() {
		p.err = p.cmd.Wait()
		close(p.ended)
	}()
	p.t.Cleanup(func() {
		p.stop()
		if p.t.Failed() {
			p.t.Logf("the program said:\n%s", tail(p.said.String(), 40))
		}
	})
}

func tail(text string, n int) string {
	all := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(all[max(0, len(all)-n):], "\n")
}

// stop asks the program to end and waits for it.
func (p *program) stop() {
	_ = p.cmd.Process.Signal(syscall.SIGTERM)
	select {
	case <-p.ended:
	case <-time.After(60 * time.Second):
		p.t.Error("the program did not stop within a minute")
		p.kill()
	}
}

// kill ends the program as a power cut would, without a word.
func (p *program) kill() {
	_ = p.cmd.Process.Kill()
	<-p.ended
}

// ready waits until the program answers that it is ready, and returns how long
// that took.
func (p *program) ready() time.Duration {
	p.t.Helper()
	began := time.Now()
	for time.Since(began) < 60*time.Second {
		if status(p.address+"/readyz") == http.StatusOK {
			return time.Since(began)
		}
		time.Sleep(10 * time.Millisecond)
	}
	p.t.Fatalf("not ready within a minute; the program said:\n%s", tail(p.said.String(), 40))
	return 0
}

// status returns the status of an answer, 0 without one.
func status(address string) int {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return 0
	}
	answer, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		return 0
	}
	defer answer.Body.Close()
	return answer.StatusCode
}

// cluster returns the private server behind a program on dir.
func cluster(t *testing.T, dir string) *localpg.Cluster {
	t.Helper()
	c, err := localpg.Attach(t.Context(), filepath.Join(dir, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// postmaster returns the process id of the database server on dir.
func postmaster(t *testing.T, dir string) int {
	t.Helper()
	file, err := os.Open(filepath.Join(dir, "postgres", "data", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var pid int
	if _, err := fmt.Fscan(bufio.NewReader(file), &pid); err != nil {
		t.Fatal(err)
	}
	return pid
}

// parentOf reads a process's id and its parent's from its stat file, 0 where it
// is gone. The name between them may hold anything but ends with a bracket.
func parentOf(path string) (pid, parent int) {
	text, err := os.ReadFile(path)
	if err != nil {
		return 0, 0
	}
	if _, err := fmt.Sscan(string(text), &pid); err != nil {
		return 0, 0
	}
	var state string
	if _, err := fmt.Sscan(string(text[bytes.LastIndexByte(text, ')')+1:]), &state, &parent); err != nil {
		return 0, 0
	}
	return pid, parent
}
