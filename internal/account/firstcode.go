package account

import (
	"context"
	"time"
)

// firstCodeLife is how long the code of an empty install opens it.
const firstCodeLife = 24 * time.Hour

// NewFirstCode returns a fresh one-time code if nobody has an account yet, and
// "" otherwise. Older codes stop working.
func (a *Accounts) NewFirstCode(ctx context.Context) (string, error) {
	empty, err := a.Store.Empty(ctx)
	if err != nil || !empty {
		return "", err
	}
	code := NewCode(16) // 79 bits
	now := a.Now()
	if err := a.Store.ReplaceFirstCode(ctx, hashCode(code), now, now.Add(firstCodeLife)); err != nil {
		return "", err
	}
	return code[:4] + "-" + code[4:8] + "-" + code[8:12] + "-" + code[12:], nil
}
