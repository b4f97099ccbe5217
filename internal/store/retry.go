package store

import (
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// A remedy is what may be done about an error of the database.
type remedy int

const (
	giveUp    remedy = iota // trying again gives the same error
	reconnect               // the connection is gone, or there was none; wait and try again
	rerun                   // the transaction was rolled back in favour of others; try again at once
	moveOn                  // this server only reads; look for the one that writes
)

// PostgreSQL's codes, manual, appendix A.
const (
	serializationFailure  = "40001"
	deadlockDetected      = "40P01"
	lockNotAvailable      = "55P03"
	readOnlyTransaction   = "25006"
	queryCanceled         = "57014"
	insufficientPrivilege = "42501"
)

// uncommitted is an error of a commit. Where the connection broke, the commit
// may have happened.
type uncommitted struct{ error }

func (u uncommitted) Unwrap() error { return u.error }

// remedyOf reads an error of the database.
func remedyOf(err error) remedy {
	_, committing := errors.AsType[uncommitted](err)
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		switch {
		case pg.Code == serializationFailure || pg.Code == deadlockDetected || pg.Code == lockNotAvailable:
			return rerun
		case pg.Code == readOnlyTransaction:
			return moveOn
		case isConnectionTrouble(pg.Code) && !committing:
			return reconnect
		}
		return giveUp
	}
	if committing || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return giveUp // we waited long enough, or nobody waits any more
	}
	if _, ok := errors.AsType[*pgconn.ConnectError](err); ok {
		return reconnect
	}
	if isBroken(err) {
		return reconnect
	}
	return giveUp
}

// isConnectionTrouble reports whether a code says that the server is stopping,
// starting, or has no connection to spare. A full disk (53100) is none of these.
func isConnectionTrouble(code string) bool {
	return strings.HasPrefix(code, "08") || strings.HasPrefix(code, "57P") || code == "53300"
}

// isBroken reports whether a connection ended in the middle.
func isBroken(err error) bool {
	if _, ok := errors.AsType[*net.OpError](err); ok {
		return true
	}
	return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || errors.Is(err, pgconn.ErrConnClosed) ||
		errors.Is(err, syscall.ECONNRESET) || errors.Is(err, syscall.EPIPE)
}

// hasCode reports whether err is the database's error of that code.
func hasCode(err error, code string) bool {
	pg, ok := errors.AsType[*pgconn.PgError](err)
	return ok && pg.Code == code
}

// How often, and for how long, an error is tried away.
const (
	mostReruns   = 3
	firstPause   = 50 * time.Millisecond
	longestPause = time.Second
	reconnectFor = 2 * time.Second
)

// again runs do until it succeeds or nothing can be done about its error. do
// must be repeatable.
func (s *Store) again(ctx context.Context, do func() error) error {
	began, pause, reruns, moved := time.Now(), firstPause, 0, false
	for {
		err := do()
		if err == nil || ctx.Err() != nil {
			return err
		}
		switch remedyOf(err) {
		case rerun:
			if reruns++; reruns > mostReruns {
				return err
			}
		case moveOn:
			if moved {
				return err
			}
			moved = true
			s.pool.Reset()
		case reconnect:
			if time.Since(began)+pause > reconnectFor {
				return err
			}
			if wait(ctx, pause) != nil {
				return err
			}
			pause = min(2*pause, longestPause)
			continue
		default:
			return err
		}
		if wait(ctx, rand.N(firstPause)) != nil { // apart from the one it collided with
			return err
		}
	}
}

// repeat runs one statement that changes nothing more when it runs twice.
func (s *Store) repeat(ctx context.Context, sql string, args ...any) error {
	return s.again(ctx, func() error {
		_, err := s.pool.Exec(ctx, sql, args...)
		return err
	})
}

func wait(ctx context.Context, pause time.Duration) error {
	timer := time.NewTimer(pause)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}
