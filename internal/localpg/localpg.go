// Package localpg runs a private PostgreSQL server in a folder of this
// machine: it makes the database on the first start, recovers it after a
// crash, and stops the server with the program that started it. It never
// deletes or converts data. It knows no SQL and imports, of ours, only problem.
package localpg

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"ropewalk.example/internal/problem"
)

const (
	superuser = "postgres"
	port      = "5432" // names the socket file; nothing listens on the network
)

// Options say where a private server keeps its data.
type Options struct {
	Dir       string       // the server's own folder, made if missing
	Programs  string       // folder of initdb and postgres; empty: look for them
	Throwaway bool         // trade durability for speed: tests only
	Log       *slog.Logger // nil discards
}

// A Cluster is a running private server.
type Cluster struct {
	dir       string
	log       *slog.Logger
	throwaway bool
	programs  Programs
	account   account
	password  string
	sockets   string   // private folder of the socket, short enough for any system
	lock      *os.File // nil: another program's server, see Attach
	server    atomic.Pointer[server]
	stop      func() error
}

// A server is one run of the server process.
type server struct {
	*os.Process
	done chan struct{} // closed when the process has ended
}

// Start starts the server of opts.Dir and returns when it takes connections.
// On the first start it makes the database, which takes a second or two. An
// error is a sentence that says what to do. After a power cut Start waits
// until the server has recovered, or until ctx ends.
func Start(ctx context.Context, opts Options) (*Cluster, error) {
	dir, err := makeFolder(opts.Dir)
	if err != nil {
		return nil, err
	}
	c := &Cluster{dir: dir, log: opts.Log, throwaway: opts.Throwaway}
	if c.log == nil {
		c.log = slog.New(slog.DiscardHandler)
	}
	c.stop = sync.OnceValue(c.end)
	if c.lock, err = lockFolder(dir); err != nil {
		return nil, err
	}
	if err := c.start(ctx, opts); err != nil {
		c.release()
		return nil, err
	}
	return c, nil
}

func (c *Cluster) start(ctx context.Context, opts Options) (err error) {
	if c.account, err = accountFor(c.data()); err != nil {
		return err
	}
	major, err := dataMajor(c.data())
	if err != nil {
		return err
	}
	if c.programs, err = FindPrograms(opts.Programs, major); err != nil {
		return err
	}
	if c.sockets, err = makeSocketFolder(c.dir, c.account); err != nil {
		return err
	}
	if major == 0 {
		c.log.Info("making a new database", "folder", c.dir, "postgres", c.programs.Major)
		err = c.initialise(ctx)
	} else {
		err = c.endPredecessor(ctx)
	}
	if err != nil {
		return err
	}
	if c.password, err = readPassword(c.dir); err != nil {
		return err
	}
	return c.serve(ctx)
}

// serve starts the server process and waits until it is ready.
func (c *Cluster) serve(ctx context.Context) error {
	log, err := openLog(c.LogFile())
	if err != nil {
		return err
	}
	defer log.Close()
	before, err := log.Seek(0, io.SeekEnd)
	if err != nil {
		return fmt.Errorf("reading the database log: %w", err)
	}
	data, err := os.Open(c.data())
	if err != nil {
		return fmt.Errorf("opening the database folder: %w", err)
	}
	defer data.Close()

	settings := []string{
		"listen_addresses=",
		"unix_socket_directories=" + c.sockets,
		"unix_socket_permissions=0700",
		"timezone=UTC",
		"log_timezone=UTC",
		"log_error_verbosity=terse", // details would quote people's data
	}
	if c.throwaway {
		settings = append(settings, "fsync=off", "synchronous_commit=off", "full_page_writes=off")
	}
	args := []string{"-p", port}
	for _, setting := range settings {
		args = append(args, "-c", setting)
	}
	cmd := c.command(context.Background(), "postgres", data, args...)
	cmd.Stdout, cmd.Stderr = log, log
	if err := c.spawn(cmd); err != nil {
		return err
	}
	if err := c.awaitReady(ctx, before); err != nil {
		c.halt()
		return err
	}
	c.log.Info("database started", "folder", c.dir, "postgres", c.programs.Major)
	return nil
}

// spawn starts cmd on an operating system thread that lives as long as cmd:
// Linux ends the server with the thread that started it, so that even a killed
// program leaves no server behind.
func (c *Cluster) spawn(cmd *exec.Cmd) error {
	started := make(chan error)
	done := make(chan struct{})
	go func() {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := cmd.Start()
		started <- err
		if err != nil {
			return
		}
		_ = cmd.Wait() // its exit status says no more than its log
		close(done)
	}()
	if err := <-started; err != nil {
		return fmt.Errorf("starting %s: %w", cmd.Path, err)
	}
	c.server.Store(&server{cmd.Process, done})
	return nil
}

// awaitReady waits until the server takes connections. What the server had to
// say this time begins in its log at the byte from.
func (c *Cluster) awaitReady(ctx context.Context, from int64) error {
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for {
		if p := readPostmaster(c.data()); p.pid == c.PID() && p.ready {
			return nil
		}
		select {
		case <-c.Done():
			return problem.New(problem.Unavailable, "The database did not start: %s (more in %s)", complaint(c.LogFile(), from), c.LogFile())
		case <-ctx.Done():
			return fmt.Errorf("waiting for PostgreSQL to start: %w", context.Cause(ctx))
		case <-tick.C:
		}
	}
}

// command returns a call of a server program on the given folder, as the
// server's account and in a process group of its own: Ctrl-C in a terminal
// reaches the whole group of the program that runs us, and the server must
// outlive the last request.
func (c *Cluster) command(ctx context.Context, program string, data *os.File, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, filepath.Join(c.programs.Dir, program), args...)
	cmd.Dir = "/" // our own working folder may be closed to the account
	cmd.Env = []string{"LC_ALL=C", "PATH=" + os.Getenv("PATH")}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	endWithParent(cmd.SysProcAttr)
	path := data.Name()
	if c.account.other {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: c.account.uid, Gid: c.account.gid}
		if runtime.GOOS == "linux" {
			// The folder may lie below one that only root may enter, so the
			// account gets it as an open file, the first after the standard three.
			cmd.ExtraFiles = []*os.File{data}
			path = "/proc/self/fd/3"
		}
	}
	cmd.Args = append(cmd.Args, "-D", path)
	return cmd
}

// Stop ends all sessions, stops the server and waits until it has written
// everything to disk. Calling it again does nothing, nor does it stop a server
// that was attached to. It may not be called while Keep runs.
func (c *Cluster) Stop() error { return c.stop() }

func (c *Cluster) end() error {
	clean := c.halt()
	c.release()
	if !clean {
		c.log.Error("database server needed force to stop; the next start recovers", "folder", c.dir)
		return fmt.Errorf("PostgreSQL needed force to stop; the next start recovers (its log: %s)", c.LogFile())
	}
	c.log.Info("database stopped", "folder", c.dir)
	return nil
}

// halt stops the server process and reports whether it ended by itself.
func (c *Cluster) halt() (clean bool) {
	running := c.server.Load()
	_ = running.Signal(syscall.SIGINT) // "fast": roll back, write out, leave
	select {
	case <-running.done:
		return true
	case <-time.After(30 * time.Second):
	}
	_ = running.Signal(syscall.SIGQUIT) // "immediate": the log is replayed at the next start
	<-running.done
	return false
}

// release gives the folder free for the next start.
func (c *Cluster) release() {
	if c.sockets != "" {
		_ = os.RemoveAll(c.sockets)
	}
	_ = c.lock.Close()
}

// URL returns the address of a database for the superuser.
func (c *Cluster) URL(database string) string {
	return c.RoleURL(superuser, c.password, database)
}

// RoleURL returns the address of a database for the given role.
func (c *Cluster) RoleURL(role, password, database string) string {
	address := url.URL{
		Scheme:   "postgres",
		User:     url.UserPassword(role, password),
		Path:     "/" + database,
		RawQuery: url.Values{"host": {c.sockets}, "port": {port}}.Encode(),
	}
	return address.String()
}

// Done is closed when the server process has ended, for whatever reason. Only
// a server that Start started has it, and a PID.
func (c *Cluster) Done() <-chan struct{} { return c.server.Load().done }

// PID is the server's process id.
func (c *Cluster) PID() int { return c.server.Load().Pid }

// SocketDir is the private folder of the server's socket, removed by Stop.
func (c *Cluster) SocketDir() string { return c.sockets }

// Programs are the server programs in use; pg_dump lies beside them.
func (c *Cluster) Programs() Programs { return c.programs }

// LogFile is where the server writes its log.
func (c *Cluster) LogFile() string { return filepath.Join(c.dir, "server.log") }

func (c *Cluster) data() string { return filepath.Join(c.dir, "data") }
