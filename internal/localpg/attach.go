package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"ropewalk.example/internal/problem"
)

// ErrNotRunning says that no program runs a server on the folder.
var ErrNotRunning = errors.New("no server runs on this folder")

// Attach returns the server that another program runs on the folder, so that a
// command can work beside it: whoever may read the folder's password may. The
// error is ErrNotRunning if nobody runs one.
func Attach(ctx context.Context, dir string) (*Cluster, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("data folder %s: %w", dir, err)
	}
	if dir, err = filepath.EvalSymlinks(dir); errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNotRunning
	} else if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "lock")); errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNotRunning
	}
	lock, err := lockFolder(dir)
	if err == nil {
		return nil, errors.Join(ErrNotRunning, lock.Close())
	}
	if problem.KindOf(err) != problem.Conflict {
		return nil, err
	}
	c := &Cluster{dir: dir, log: slog.New(slog.DiscardHandler), stop: func() error { return nil }}
	return c, c.attach(ctx)
}

// attach waits until the other program's server is ready.
func (c *Cluster) attach(ctx context.Context) error {
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		if p := readPostmaster(c.data()); p.ready {
			c.sockets = p.sockets
			break
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("waiting for the other program's database server: %w", context.Cause(ctx))
		case <-tick.C:
		}
	}
	major, err := dataMajor(c.data())
	if err != nil {
		return err
	}
	if c.programs, err = FindPrograms("", major); err != nil {
		return err
	}
	c.password, err = readPassword(c.dir)
	return err
}
