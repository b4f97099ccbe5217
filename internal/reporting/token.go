package reporting

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"slices"
	"strings"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// MostTokenName is how long the name of a token may be, in letters.
const MostTokenName = 80

// tokenMark begins every token, so that people and programs that look for lost
// secrets know what it is.
const tokenMark = "rw_"

// What the audit log says about tokens.
const (
	notedToken    = "let a program read"
	notedTokenEnd = "ended a program's reading"
)

// MakeToken lets a program read what reports show, and returns its token, which
// is not kept and cannot be shown again. The same id again is a Conflict.
func (r *Reporting) MakeToken(ctx context.Context, who gym.Who, id uuid.UUID, name string) (string, error) {
	name = tidy(name)
	switch n := len([]rune(name)); {
	case n == 0:
		return "", problem.Form(map[string]string{"name": "Say what the program is for."})
	case n > MostTokenName:
		return "", problem.Form(map[string]string{"name": "Write at most 80 letters."})
	}
	secret := make([]byte, 32)
	_, _ = rand.Read(secret) // never returns an error
	token := tokenMark + hex.EncodeToString(who.GymID[:]) + "_" + base64.RawURLEncoding.EncodeToString(secret)
	now := r.Now()
	return token, r.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		added, err := tx.AddToken(ctx, gym.Token{TokenID: id, Name: name, MadeAt: now, MadeBy: who.ID()}, hashOf(token))
		if err != nil {
			return err
		}
		if !added {
			return problem.New(problem.Conflict, "This token was made already, and is shown only once. End it and make another one.")
		}
		return tx.Note(ctx, newID(), now, who.ID(), notedToken, "token", id)
	})
}

// EndToken lets a token open nothing any more, at once.
func (r *Reporting) EndToken(ctx context.Context, who gym.Who, id uuid.UUID) error {
	return r.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		now := r.Now()
		var tokens []gym.Token
		if err := tx.Read(ctx, store.Tokens(&tokens)); err != nil {
			return err
		}
		if !slices.ContainsFunc(tokens, func(t gym.Token) bool { return t.TokenID == id }) {
			return problem.New(problem.NotFound, "There is no such token in this gym.")
		}
		ended, err := tx.EndToken(ctx, id, now)
		if err != nil || !ended {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), notedTokenEnd, "token", id)
	})
}

// Enter returns the gym that a token opens; ok is false if it opens none.
func (r *Reporting) Enter(ctx context.Context, token string) (gymID uuid.UUID, ok bool, err error) {
	rest, marked := strings.CutPrefix(token, tokenMark)
	name, _, parted := strings.Cut(rest, "_")
	id, err := hex.DecodeString(name)
	if !marked || !parted || err != nil || len(id) != len(gymID) {
		return uuid.Nil, false, nil
	}
	copy(gymID[:], id)
	now := r.Now().UTC()
	_, found, err := r.Store.UseToken(ctx, gymID, hashOf(token), gym.DayIn(now, now.Location()))
	if err != nil || !found {
		return uuid.Nil, false, err
	}
	return gymID, true, nil
}

// hashOf is enough for a secret of 256 bits: there is nothing to guess.
func hashOf(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}
