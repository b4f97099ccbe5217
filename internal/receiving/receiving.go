// Package receiving takes in what phones kept while they had no signal: it
// reads each entry, sets its time right, sees that the sender may say so, and
// hands it to the use case that keeps it. The same entry again changes nothing.
// It uses measuring, coaching, the store and the pure packages; it knows no
// HTTP.
package receiving

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/coaching"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/measuring"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Receiving takes entries in. All fields are required.
type Receiving struct {
	Store     *store.Store
	Measuring *measuring.Measuring
	Coaching  *coaching.Coaching
	Now       func() time.Time
}

// Word says what became of an entry.
type Word string

// The words. After any of them a phone need not send the entry again.
const (
	Accepted   Word = "accepted"
	Duplicate  Word = "duplicate"  // kept before
	Superseded Word = "superseded" // something newer stands in its place
	Refused    Word = "refused"    // a person has to look at it
)

// An Answer says what became of one entry. Said is a sentence for the person:
// why it was refused, or what is to be known about it.
type Answer struct {
	ID   uuid.UUID `json:"id"`
	Word Word      `json:"answer"`
	Said string    `json:"said,omitempty"`
}

// Receive takes in a batch that an athlete's phone sent, each entry by itself:
// one that is refused does not stop the others. The answers stand in the order
// of the entries. An error means that some entries have no answer yet; the
// phone sends all of them once more.
func (rc *Receiving) Receive(ctx context.Context, who gym.Who, batch Batch) ([]Answer, error) {
	d := &desk{Receiving: rc, who: who, now: rc.Now()}
	if err := rc.Store.Read(ctx, who.GymID, store.TheGym(&d.gym), store.Athlete(who.AthleteID, &d.athlete)); err != nil {
		return nil, err
	}
	batch.setRight(d.now)
	known, err := d.receipts(ctx, batch)
	if err != nil {
		return nil, err
	}
	answers := make([]Answer, len(batch.Entries))
	for i, e := range batch.Entries {
		answers[i] = Answer{ID: e.ID}
		if answers[i].Word, answers[i].Said, err = d.take(ctx, e, known[i]); err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// Keep takes in what an athlete typed into a form. It is an entry like any
// other, made now; what is wrong with it comes back as an error with a message
// by field. said is a sentence to know about it.
func (rc *Receiving) Keep(ctx context.Context, who gym.Who, id uuid.UUID, kind Kind, body any) (said string, err error) {
	text, err := json.Marshal(body)
	if err != nil {
		return "", fmt.Errorf("writing an entry: %w", err)
	}
	d := &desk{Receiving: rc, who: who, now: rc.Now()}
	if err := rc.Store.Read(ctx, who.GymID, store.TheGym(&d.gym), store.Athlete(who.AthleteID, &d.athlete)); err != nil {
		return "", err
	}
	_, said, err = d.keep(ctx, Entry{ID: id, Kind: kind, At: d.now, Body: text, taken: d.now})
	return said, err
}

// desk is where one batch is taken in.
type desk struct {
	*Receiving
	who     gym.Who
	athlete gym.Athlete
	gym     gym.Gym
	now     time.Time
	mates   []gym.Athlete // nil until asked for
}

// receipts keeps a receipt for each entry that can be read, and returns those
// that were there before. What is told apart by its id alone stays apart for
// good: another entry under the same id is refused.
func (d *desk) receipts(ctx context.Context, batch Batch) ([]*gym.PhoneEntry, error) {
	known := make([]*gym.PhoneEntry, len(batch.Entries))
	err := d.Store.Write(ctx, d.who.GymID, func(tx *store.Tx) error {
		for i, e := range batch.Entries {
			if e.Fault != "" {
				continue
			}
			added, err := tx.AddPhoneEntry(ctx, gym.PhoneEntry{EntryID: e.ID, Kind: string(e.Kind), SentBy: d.who.AthleteID, DeviceID: d.who.DeviceID,
				BodyHash: hashOf(e), DeviceAt: e.At, OffsetMS: e.offset.Milliseconds(), ReceivedAt: d.now})
			if err != nil {
				return err
			}
			if added {
				continue
			}
			var before []gym.PhoneEntry
			if err := tx.Read(ctx, store.PhoneEntry(e.ID, &before)); err != nil {
				return err
			}
			if len(before) == 1 {
				known[i] = &before[0]
			}
		}
		if d.who.DeviceID == uuid.Nil {
			return nil
		}
		return tx.SeeDevice(ctx, d.who.DeviceID, d.now)
	})
	return known, err
}

// hashOf tells entries apart by what they say.
func hashOf(e Entry) []byte {
	sum := sha256.Sum256(append([]byte(string(e.Kind)+"\x00"), e.Body...))
	return sum[:]
}

// take answers one entry; before is its earlier receipt, if there is one.
func (d *desk) take(ctx context.Context, e Entry, before *gym.PhoneEntry) (Word, string, error) {
	if e.Fault != "" {
		return Refused, e.Fault, nil
	}
	if before != nil && (before.SentBy != d.who.AthleteID || string(before.BodyHash) != string(hashOf(e))) {
		err := d.Store.Write(ctx, d.who.GymID, func(tx *store.Tx) error {
			return tx.Note(ctx, uuid.Must(uuid.NewV7()), d.now, d.who.ID(), "refused another entry under a known id", "entry", e.ID)
		})
		return Refused, "Another entry came under the same number before, and that one stands. Type this one anew.", err
	}
	if d.now.Sub(e.taken) > measuring.Lookback {
		return Refused, "This entry says it is over a year old. Look at the phone's date, then type it anew.", nil
	}
	added, said, err := d.keep(ctx, e)
	switch {
	case problem.KindOf(err) == problem.Conflict:
		return Superseded, problem.MessageOf(err), nil
	case err != nil:
		if sentence, final := refusal(err); final {
			return Refused, sentence, nil
		}
		return "", "", err
	case added:
		return Accepted, said, nil
	default:
		return Duplicate, "", nil
	}
}

// keep hands an entry to who keeps its kind. said is what the person is told.
func (d *desk) keep(ctx context.Context, e Entry) (added bool, said string, err error) {
	switch e.Kind {
	case Result:
		return take(ctx, e, d.result)
	case Correction:
		return take(ctx, e, d.correction)
	case Debrief:
		return take(ctx, e, d.debrief)
	case Set:
		return take(ctx, e, d.set)
	case CatchNote:
		return take(ctx, e, d.catchNote)
	default:
		return false, "", problem.New(problem.Invalid, "This gym's computer does not know this kind of entry. Open the page once more with a signal.")
	}
}

// take reads an entry's body for the one who keeps it.
func take[B any](ctx context.Context, e Entry, keep func(context.Context, Entry, B) (bool, string, error)) (bool, string, error) {
	var body B
	if err := json.Unmarshal(e.Body, &body); err != nil {
		return false, "", problem.Wrap(err, problem.Invalid, "This entry cannot be read. Type it anew.")
	}
	return keep(ctx, e, body)
}

// refusal returns the sentence of an error that trying again will not mend.
func refusal(err error) (sentence string, final bool) {
	switch problem.KindOf(err) {
	case problem.Invalid, problem.NotFound, problem.Forbidden, problem.Evidence, problem.TooLarge:
	default:
		return "", false
	}
	fields := problem.FieldsOf(err)
	for _, field := range order(fields) {
		if sentence != "" {
			sentence += " "
		}
		sentence += fields[field]
	}
	if sentence == "" {
		sentence = problem.MessageOf(err)
	}
	return sentence, true
}

// ErrUnread reports a batch that is no batch at all.
var ErrUnread = errors.New("no batch of entries")
