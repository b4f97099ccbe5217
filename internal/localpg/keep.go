package localpg

import (
	"context"
	"time"
)

// How long Keep waits before it tries again to start a server that would not.
const (
	shortPause = 200 * time.Millisecond
	longPause  = 5 * time.Second
)

// Keep starts the server again whenever it ends by itself, until ctx ends. The
// server recovers what was committed. Where it does not start, on a full disk
// for instance, Keep goes on trying and logs why. The addresses stay the same.
func (c *Cluster) Keep(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-c.Done():
		}
		c.log.ErrorContext(ctx, "database server ended by itself; starting it again", "folder", c.dir, "log", c.LogFile())
		began := time.Now()
		if !c.revive(ctx) {
			return
		}
		c.log.InfoContext(ctx, "database server is back", "seconds", time.Since(began).Seconds())
	}
}

// revive tries until the server runs or ctx ends, when it returns false.
func (c *Cluster) revive(ctx context.Context) bool {
	for pause := shortPause; ; pause = min(2*pause, longPause) {
		err := c.endPredecessor(ctx)
		if err == nil {
			err = c.serve(ctx)
		}
		if err == nil {
			return true
		}
		if ctx.Err() != nil {
			return false
		}
		c.log.ErrorContext(ctx, "database server did not start", "error", err, "again_in_seconds", pause.Seconds())
		select {
		case <-ctx.Done():
			return false
		case <-time.After(pause):
		}
	}
}
