package leading

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// screenFor is how long a hall's screen stays open: a long afternoon.
const screenFor = 8 * time.Hour

// NewLink makes a link and returns its secret, which is shown this once: the
// store keeps only what it hashes to. A screen closes by itself; a calendar
// stays until somebody ends it.
func (lead *Leading) NewLink(ctx context.Context, who gym.Who, l gym.Link) (secret string, err error) {
	l.LinkID, l.MadeAt, l.MadeBy = newID(), lead.Now(), who.ID()
	if l.Kind == gym.ScreenLink {
		expires := l.MadeAt.Add(screenFor)
		l.ExpiresAt = &expires
	}
	secret = rand.Text() // 128 bits or more
	err = lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := subjectOf(ctx, tx, l); err != nil {
			return err
		}
		if err := tx.AddLink(ctx, l, hashOf(secret)); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), l.MadeAt, who.ID(), "made a link", "link", l.LinkID)
	})
	return secret, err
}

// subjectOf reads what a link is to show, which must be there.
func subjectOf(ctx context.Context, tx *store.Tx, l gym.Link) error {
	var class gym.Class
	var athlete gym.Athlete
	var session gym.Session
	var readings []store.Reading
	if l.ClassID != uuid.Nil {
		readings = append(readings, store.Class(l.ClassID, &class))
	}
	if l.AthleteID != uuid.Nil {
		readings = append(readings, store.Athlete(l.AthleteID, &athlete))
	}
	if l.SessionID != uuid.Nil {
		readings = append(readings, store.Session(l.SessionID, &session))
	}
	if len(readings) == 0 {
		return problem.New(problem.Invalid, "Choose what the link is to show.")
	}
	return tx.Read(ctx, readings...)
}

// EndLink makes a link lead nowhere, at once.
func (lead *Leading) EndLink(ctx context.Context, who gym.Who, link uuid.UUID) error {
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.EndLink(ctx, link, lead.Now()); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "ended a link", "link", link)
	})
}

// FollowLink returns the gym and the link behind a secret. A secret that leads
// nowhere, or not any more, is not found.
func (lead *Leading) FollowLink(ctx context.Context, secret string, kind gym.LinkKind) (gymID uuid.UUID, l gym.Link, err error) {
	gymID, id, found, err := lead.Store.LinkBySecret(ctx, hashOf(secret))
	if err != nil {
		return uuid.Nil, l, err
	}
	if !found {
		return uuid.Nil, l, goneLink()
	}
	if err := lead.Store.Read(ctx, gymID, store.Link(id, &l)); err != nil {
		return uuid.Nil, l, err
	}
	if l.Kind != kind || !l.Open(lead.Now()) {
		return uuid.Nil, l, goneLink()
	}
	return gymID, l, nil
}

func goneLink() error {
	return problem.New(problem.NotFound, "This link is not in use any more. Ask your coach for a new one.")
}

func hashOf(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}
