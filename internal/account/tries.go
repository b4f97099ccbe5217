package account

import (
	"context"
	"fmt"
	"time"

	"ropewalk.example/internal/problem"
)

// How wrong tries are borne: a few are free, then each doubles the wait up to
// an hour. The count is kept per account and not per address, since a class of
// 24 stands behind one address.
const (
	freeTries        = 5
	longestWait      = time.Hour
	forgetTriesAfter = 24 * time.Hour
)

// waitAfter returns how long to refuse further tries after so many wrong ones.
func waitAfter(tries int) time.Duration {
	if tries < freeTries {
		return 0
	}
	doublings := tries - freeTries
	if doublings > 12 {
		return longestWait
	}
	return min(time.Second<<doublings, longestWait)
}

// mayTry refuses with TooMany while subject is blocked.
func (a *Accounts) mayTry(ctx context.Context, subject string) error {
	_, blockedTo, err := a.Store.WrongTries(ctx, subject)
	if err != nil {
		return err
	}
	if left := blockedTo.Sub(a.Now()); left > 0 {
		return problem.New(problem.TooMany, "That was wrong too often. Wait %s, then try again.", inWords(left))
	}
	return nil
}

// wrong counts a wrong try and returns answer, or what went wrong counting it.
func (a *Accounts) wrong(ctx context.Context, subject string, answer error) error {
	now := a.Now()
	tries, err := a.Store.AddWrongTry(ctx, subject, now, forgetTriesAfter)
	if err != nil {
		return err
	}
	if wait := waitAfter(tries); wait > 0 {
		if err := a.Store.BlockTries(ctx, subject, now.Add(wait)); err != nil {
			return err
		}
	}
	return answer
}

// inWords returns a wait as people say it.
func inWords(d time.Duration) string {
	seconds := int(d.Round(time.Second).Seconds())
	switch {
	case seconds <= 1:
		return "a second"
	case seconds < 90:
		return fmt.Sprintf("%d seconds", seconds)
	default:
		return fmt.Sprintf("%d minutes", (seconds+59)/60)
	}
}
