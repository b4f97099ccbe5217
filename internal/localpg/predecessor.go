package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// A postmaster is what a server says about itself in its folder.
type postmaster struct {
	pid     int // 0: none is running, or none that crashed
	sockets string
	ready   bool
}

// readPostmaster reads data's postmaster.pid: the process id is its first
// line, the folder of the socket its fifth, the state its eighth (PostgreSQL source, miscadmin.h, LOCK_FILE_LINE_*).
func readPostmaster(data string) postmaster {
	text, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		return postmaster{}
	}
	lines := strings.Split(string(text), "\n")
	pid, err := strconv.Atoi(strings.TrimSpace(lines[0]))
	if err != nil {
		return postmaster{}
	}
	if len(lines) < 8 {
		return postmaster{pid: pid}
	}
	return postmaster{pid: pid, sockets: lines[4], ready: strings.TrimSpace(lines[7]) == "ready"}
}

// endPredecessor ends server processes that a crashed run left on our data.
// We hold the folder's lock, so nobody needs them. Only Linux shows them for
// certain; elsewhere PostgreSQL itself refuses to start beside one.
func (c *Cluster) endPredecessor(ctx context.Context) error {
	old := readPostmaster(c.data())
	left := c.serverProcesses()
	if len(left) > 0 {
		c.log.Warn("ending a database server that an earlier run left", "folder", c.dir, "pid", old.pid)
		signal := syscall.SIGTERM
		if slices.Contains(left, old.pid) {
			left, signal = []int{old.pid}, syscall.SIGINT // it ends its own children in good order
		}
		for _, pid := range left {
			if err := syscall.Kill(pid, signal); err != nil && !errors.Is(err, syscall.ESRCH) {
				return fmt.Errorf("ending the earlier database server (process %d): %w", pid, err)
			}
		}
	}
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for len(c.serverProcesses()) > 0 {
		select {
		case <-ctx.Done():
			return fmt.Errorf("waiting for the earlier database server to end: %w", context.Cause(ctx))
		case <-tick.C:
		}
	}
	if err := c.emptySockets(); err != nil {
		return err
	}
	return c.dropStaleNote(old)
}

// emptySockets removes the socket that a killed server left, and its lock file.
func (c *Cluster) emptySockets() error {
	left, _ := filepath.Glob(filepath.Join(c.sockets, ".s.PGSQL.*")) // an error is a bad pattern only
	for _, path := range left {
		if err := os.Remove(path); err != nil {
			return fmt.Errorf("removing an earlier server's socket: %w", err)
		}
	}
	return nil
}

// dropStaleNote removes a crashed server's postmaster.pid if its number now
// belongs to another program, as after the restart of a container: PostgreSQL
// would take that program for a server.
func (c *Cluster) dropStaleNote(old postmaster) error {
	if _, err := os.Stat("/proc/self/exe"); err != nil || old.pid == 0 || syscall.Kill(old.pid, 0) != nil {
		return nil
	}
	if err := os.Remove(filepath.Join(c.data(), "postmaster.pid")); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("removing a crashed server's process id: %w", err)
	}
	return nil
}

// serverProcesses lists the PostgreSQL processes that work in our data folder.
func (c *Cluster) serverProcesses() []int {
	data, err := os.Stat(c.data())
	if err != nil {
		return nil
	}
	processes, _ := filepath.Glob("/proc/[0-9]*")
	var pids []int
	for _, process := range processes {
		program, err := os.Readlink(filepath.Join(process, "exe"))
		if err != nil || !strings.HasPrefix(filepath.Base(program), "postgres") { // "postgres (deleted)" after an upgrade
			continue
		}
		folder, err := os.Stat(filepath.Join(process, "cwd"))
		if err != nil || !os.SameFile(folder, data) {
			continue
		}
		if pid, err := strconv.Atoi(filepath.Base(process)); err == nil {
			pids = append(pids, pid)
		}
	}
	return pids
}
