package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"

	"ropewalk.example/internal/localpg"
)

// A process runs beside this one.
type process struct {
	*exec.Cmd
	in  io.WriteCloser
	out *bufio.Reader
}

// stop ends the process in good order.
func (p *process) stop() {
	_ = p.in.Close()
	_ = p.Process.Signal(syscall.SIGTERM)
	_ = p.Wait() // it was told to end
}

func start(cmd *exec.Cmd) (*process, error) {
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		return nil, fmt.Errorf("starting %s: %w", cmd.Path, err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, fmt.Errorf("starting %s: %w", cmd.Path, err)
	}
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("starting %s: %w", cmd.Path, err)
	}
	return &process{cmd, in, bufio.NewReader(out)}, nil
}

// itself runs one of this program's own parts in a process of its own.
func itself(ctx context.Context, part string, input any) (*process, error) {
	program, err := os.Executable()
	if err != nil {
		return nil, fmt.Errorf("finding this program: %w", err)
	}
	p, err := start(exec.CommandContext(ctx, program, part))
	if err != nil {
		return nil, err
	}
	return p, json.NewEncoder(p.in).Encode(input)
}

// put puts a load on a server from another process.
func (l Load) put(ctx context.Context) (Measured, error) {
	var m Measured
	p, err := itself(ctx, partLoad, l)
	if err != nil {
		return m, err
	}
	err = json.NewDecoder(p.out).Decode(&m)
	p.stop()
	if err != nil {
		return m, fmt.Errorf("the load generator gave no figures: %w", err)
	}
	return m, nil
}

// startBare starts the bare server.
func startBare(ctx context.Context, bare Bare) (*process, Serving, error) {
	var serving Serving
	p, err := itself(ctx, partBare, bare)
	if err != nil {
		return nil, serving, err
	}
	if err := json.NewDecoder(p.out).Decode(&serving); err != nil {
		p.stop()
		return nil, serving, fmt.Errorf("the bare server did not start: %w", err)
	}
	return p, serving, nil
}

// A site is a running server of the program's.
type site struct {
	*process
	address string // host:port
	took    time.Duration
}

var addressLine = regexp.MustCompile(`^Ropewalk is at http://(.*)\n$`)

// startSite runs program's serve with the settings and returns when its first
// page is there. Its log goes to a file in the data folder.
func startSite(ctx context.Context, program, data string, settings ...string) (*site, error) {
	if err := os.MkdirAll(data, 0o711); err != nil {
		return nil, fmt.Errorf("making a data folder: %w", err)
	}
	log, err := os.Create(filepath.Join(data, "log"))
	if err != nil {
		return nil, fmt.Errorf("making a log: %w", err)
	}
	defer log.Close()
	cmd := exec.CommandContext(ctx, program, "serve")
	cmd.Env = append(os.Environ(), "PORT=0", "DATABASE_URL=", "ROPEWALK_DATA="+data, "ROPEWALK_BACKUPS=none")
	cmd.Env = append(cmd.Env, settings...)
	began := time.Now()
	p, err := start(cmd)
	if err != nil {
		return nil, err
	}
	for {
		line, err := p.out.ReadString('\n')
		if err != nil {
			p.stop()
			return nil, fmt.Errorf("%s did not start; see above", program)
		}
		found := addressLine.FindStringSubmatch(line)
		if found == nil {
			continue
		}
		s := &site{process: p, address: strings.Replace(found[1], "localhost", "127.0.0.1", 1)}
		answer, err := http.Get("http://" + s.address + "/sign-in")
		s.took = time.Since(began)
		if err != nil {
			p.stop()
			return nil, fmt.Errorf("asking for the first page: %w", err)
		}
		_ = answer.Body.Close()
		go func() { _, _ = io.Copy(io.Discard, p.out) }()
		return s, nil
	}
}

// on are the settings of a site on made data.
func on(db Database) []string {
	return []string{"DATABASE_URL=" + db.App, "ROPEWALK_OWNER_URL=" + db.Owner}
}

// signIn signs the owner of the measured gym in and returns the cookie.
func (s *site) signIn(name string) (string, error) {
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.PostForm("http://"+s.address+"/sign-in", url.Values{"name": {name}, "password": {password}})
	if err != nil {
		return "", fmt.Errorf("signing in: %w", err)
	}
	defer answer.Body.Close()
	for _, cookie := range answer.Cookies() {
		if cookie.Name == "ropewalk" && answer.StatusCode == http.StatusSeeOther {
			return cookie.Name + "=" + cookie.Value, nil
		}
	}
	return "", fmt.Errorf("signing in: status %d", answer.StatusCode)
}

// memory returns how much of the machine's memory the process holds, in bytes:
// VmRSS of proc_pid_status(5).
func (p *process) memory() (int64, error) {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.Process.Pid))
	if err != nil {
		return 0, fmt.Errorf("reading the memory of a process: %w", err)
	}
	for line := range bytes.Lines(status) {
		if size, ok := strings.CutPrefix(string(line), "VmRSS:"); ok {
			kilobytes, err := strconv.ParseInt(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(size), "kB")), 10, 64)
			return kilobytes << 10, err
		}
	}
	return 0, errors.New("the system does not tell the memory of a process")
}

// processor returns the processor time that the process has used:
// proc_pid_stat(5), in hundredths of a second on Linux.
func (p *process) processor() (time.Duration, error) {
	return processorOf(p.Process.Pid)
}

func processorOf(pid int) (time.Duration, error) {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0, fmt.Errorf("reading the time of a process: %w", err)
	}
	fields := strings.Fields(string(stat[bytes.LastIndexByte(stat, ')')+1:]))
	var ticks int64
	for _, field := range fields[11:13] {
		n, err := strconv.ParseInt(field, 10, 64)
		if err != nil {
			return 0, fmt.Errorf("reading the time of a process: %w", err)
		}
		ticks += n
	}
	return time.Duration(ticks) * 10 * time.Millisecond, nil
}

// databaseProcessor returns the processor time of the database server and all
// its processes that live.
func databaseProcessor(cluster *localpg.Cluster) (time.Duration, error) {
	children, err := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", cluster.PID(), cluster.PID()))
	if err != nil {
		return 0, fmt.Errorf("listing the database's processes: %w", err)
	}
	var all time.Duration
	for _, child := range append(strings.Fields(string(children)), strconv.Itoa(cluster.PID())) {
		pid, err := strconv.Atoi(child)
		if err != nil {
			return 0, fmt.Errorf("listing the database's processes: %w", err)
		}
		took, err := processorOf(pid)
		if err == nil { // else it ended meanwhile
			all += took
		}
	}
	return all, nil
}
