package store

import (
	"context"
	"errors"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"

	"ropewalk.example/internal/problem"
)

// classify turns "the database is away" into an Unavailable problem, text that
// no database keeps into an Invalid one, and leaves every other error as it is.
// A write that was cut may have happened: the caller repeats it under the same
// id, which is harmless.
func classify(err error) error {
	if err == nil || problem.KindOf(err) != problem.Internal {
		return err
	}
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok && pg.Code == notText {
		return problem.Wrap(err, problem.Invalid, "What you typed has a sign that cannot be kept. Type it again by hand.")
	}
	if !away(err) {
		return err
	}
	return problem.Wrap(err, problem.Unavailable, "The gym's database is not answering. What you typed is still here: try again in a few seconds.")
}

// notText is what Postgres says to a zero byte or to broken UTF-8: its manual,
// appendix A, character_not_in_repertoire.
const notText = "22021"

func away(err error) bool {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		// Connection trouble, no room, shutting down, starting up, the disk's
		// own trouble: Postgres manual, appendix A, classes 08, 53, 57P and 58.
		// Too slow, or waiting for a lock: 57014, 55P03 and what lost to others.
		return strings.HasPrefix(pg.Code, "08") || strings.HasPrefix(pg.Code, "53") || strings.HasPrefix(pg.Code, "57P") ||
			strings.HasPrefix(pg.Code, "58") || pg.Code == queryCanceled || pg.Code == readOnlyTransaction || remedyOf(err) == rerun
	}
	if _, ok := errors.AsType[*pgconn.ConnectError](err); ok {
		return true
	}
	return isBroken(err) || errors.Is(err, context.DeadlineExceeded)
}

// broke reports whether err is a violation of the named constraint or index.
func broke(err error, constraint string) bool {
	pg, ok := errors.AsType[*pgconn.PgError](err)
	return ok && pg.ConstraintName == constraint
}
