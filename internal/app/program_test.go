package app_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ropewalk.example/internal/app"
)

// asProgram tells this test program to be ropewalk itself.
const asProgram = "TEST_IS_ROPEWALK"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		os.Exit(app.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	os.Exit(m.Run())
}

// command returns a call of ropewalk with these settings alone.
func command(ctx context.Context, settings []string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, os.Args[0], args...)
	cmd.Env = append([]string{asProgram + "=yes", "PATH=" + os.Getenv("PATH"), "HOME=" + os.Getenv("HOME"), "PORT=0"}, settings...)
	return cmd
}

// once runs a command of ropewalk to its end.
func once(t *testing.T, settings []string, args ...string) (exit int, stdout, stderr string) {
	t.Helper()
	var out, fault bytes.Buffer
	cmd := command(t.Context(), settings, args...)
	cmd.Stdout, cmd.Stderr = &out, &fault
	if err := cmd.Run(); err != nil && cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), out.String(), fault.String()
}

// A program is a running ropewalk.
type program struct {
	t       *testing.T
	cmd     *exec.Cmd
	address string
	client  *http.Client

	mu   sync.Mutex
	more *sync.Cond // it said more, or nothing more
	said strings.Builder
	done bool
	read chan struct{} // closed at the end of its output
	log  *bytes.Buffer // its standard error, to be read when it has ended
}

var addressed = regexp.MustCompile(`is at (https?://[^\s]+)`)

// start starts ropewalk and returns when it says where it is.
func start(t *testing.T, settings []string, args ...string) *program {
	t.Helper()
	p := &program{t: t, cmd: command(context.WithoutCancel(t.Context()), settings, args...), read: make(chan struct{}), log: &bytes.Buffer{}}
	p.more = sync.NewCond(&p.mu)
	p.cmd.Stderr = p.log
	p.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.cmd.Process.Kill() })
	found := make(chan string, 1)
	go func() {
		defer close(p.read)
		defer func() { p.mu.Lock(); p.done = true; p.mu.Unlock(); p.more.Broadcast() }()
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			p.mu.Lock()
			p.said.WriteString(lines.Text() + "\n")
			p.mu.Unlock()
			p.more.Broadcast()
			if where := addressed.FindStringSubmatch(lines.Text()); where != nil {
				found <- where[1]
			}
		}
	}()
	select {
	case p.address = <-found:
	case <-p.read:
		_ = p.cmd.Wait()
		t.Fatalf("ropewalk ended before it was ready: %s", p.log)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	p.client = &http.Client{Jar: jar, Timeout: 30 * time.Second, Transport: &http.Transport{
		TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, // whom to trust is tested with the certificates
	}}
	return p
}

// says returns what the program printed so far.
func (p *program) says() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.said.String()
}

// await returns the part of what the program prints that matches, waiting for it
// to be printed.
func (p *program) await(pattern string) []string {
	p.t.Helper()
	wanted := regexp.MustCompile(pattern)
	p.mu.Lock()
	defer p.mu.Unlock()
	for {
		if found := wanted.FindStringSubmatch(p.said.String()); found != nil {
			return found
		}
		if p.done {
			p.t.Fatalf("ropewalk did not print %q: %s", pattern, p.said.String())
		}
		p.more.Wait()
	}
}

// stop sends what Ctrl-C sends, and returns the exit code.
func (p *program) stop() int {
	p.t.Helper()
	if err := p.cmd.Process.Signal(syscall.SIGINT); err != nil {
		p.t.Fatal(err)
	}
	<-p.read
	_ = p.cmd.Wait() // the exit code says it
	return p.cmd.ProcessState.ExitCode()
}

// get returns the status and the page at a path.
func (p *program) get(path string) (int, string, http.Header) {
	p.t.Helper()
	r, err := p.client.Get(p.address + path)
	if err != nil {
		p.t.Fatal(err)
	}
	return page(p.t, r)
}

// post sends a form of names and values in turn.
func (p *program) post(path string, pairs ...string) (int, string, http.Header) {
	p.t.Helper()
	form := map[string][]string{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form[pairs[i]] = []string{pairs[i+1]}
	}
	request, err := http.NewRequestWithContext(p.t.Context(), http.MethodPost, p.address+path, strings.NewReader(url.Values(form).Encode()))
	if err != nil {
		p.t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Sec-Fetch-Site", "same-origin") // as browsers say of a site's own forms
	r, err := p.client.Do(request)
	if err != nil {
		p.t.Fatal(err)
	}
	return page(p.t, r)
}

func page(t *testing.T, r *http.Response) (int, string, http.Header) {
	t.Helper()
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return r.StatusCode, string(text), r.Header
}

// postgres is the process id of the private server in a data folder.
func postgres(t *testing.T, data string) int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(data, "postgres", "data", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(first)
	if err != nil {
		t.Fatal(err)
	}
	return pid
}

// runs reports whether a process lives.
func runs(pid int) bool { return syscall.Kill(pid, 0) == nil }
