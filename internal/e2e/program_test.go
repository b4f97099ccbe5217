// Package e2e walks through the running program in a real browser: the demo
// gym's pages one by one, and a gym of its own from the first code to the next
// plan. It holds tests only.
package e2e

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"

	"github.com/chromedp/chromedp"

	"ropewalk.example/internal/app"
)

// asProgram tells this test program to be ropewalk itself.
const asProgram = "TEST_IS_ROPEWALK"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		os.Exit(app.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	status := m.Run()
	endBrowser()
	if demoGym != nil {
		demoGym.stop()
	}
	os.Exit(status)
}

// A program is a running ropewalk.
type program struct {
	cmd     *exec.Cmd
	folder  string
	address string
	said    string // what it printed until it was ready
	log     bytes.Buffer
}

var addressed = regexp.MustCompile(`is at (https?://[^\s]+)`)

// run starts ropewalk in a folder of its own, with settings, and returns when it
// has printed where it is and the line that begins with last.
func run(command, last string, settings ...string) (*program, error) {
	folder, err := os.MkdirTemp("", "ropewalk-e2e-")
	if err != nil {
		return nil, err
	}
	p := &program{folder: folder, cmd: exec.Command(os.Args[0], command)}
	p.cmd.Env = []string{asProgram + "=yes", "PATH=" + os.Getenv("PATH"), "HOME=" + os.Getenv("HOME"), "PORT=0", "ROPEWALK_DATA=" + folder}
	p.cmd.Env = append(p.cmd.Env, settings...)
	p.cmd.Stderr = &p.log
	p.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGINT}
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := p.cmd.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		p.said += lines.Text() + "\n"
		if where := addressed.FindStringSubmatch(lines.Text()); where != nil {
			p.address = where[1]
		}
		if p.address != "" && strings.HasPrefix(lines.Text(), last) {
			return p, nil
		}
	}
	p.stop()
	return nil, fmt.Errorf("ropewalk ended before it was ready: %s%s", p.said, &p.log)
}

// stop sends what Ctrl-C sends and removes what the program wrote.
func (p *program) stop() {
	_ = p.cmd.Process.Signal(syscall.SIGINT) // it may have ended by itself
	_ = p.cmd.Wait()
	_ = os.RemoveAll(p.folder)
}

var (
	demoGym *program
	demoRun = sync.OnceValues(func() (*program, error) { return run("demo", "Stop with Ctrl-C.") })
)

// demo returns the demo gym that the tests share. They only read in it.
func demo(t *testing.T) *program {
	t.Helper()
	p, err := demoRun()
	if err != nil {
		t.Fatal(err)
	}
	demoGym = p
	return p
}

// endBrowser ends the browser that the tests share.
var endBrowser = func() {}

var browser = sync.OnceValues(func() (context.Context, error) {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			path = found
			break
		}
	}
	if path == "" {
		return nil, fmt.Errorf("browser tests need Chromium, which is not on this machine: make test installs it")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("force-prefers-reduced-motion", true))
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // Chromium refuses to be root within its sandbox
	}
	allocator, end := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	endBrowser = func() { cancel(); end() }
	return ctx, chromedp.Do(ctx)
})
