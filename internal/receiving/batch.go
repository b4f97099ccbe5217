package receiving

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/problem"
)

// Kind is what an entry is about.
type Kind string

// The kinds.
const (
	Result     Kind = "result"
	Correction Kind = "correction" // of a result
	Debrief    Kind = "debrief"
	Set        Kind = "set"
	CatchNote  Kind = "catch_note"
)

// Known reports whether k is one of the kinds.
func (k Kind) Known() bool {
	return slices.Contains([]Kind{Result, Correction, Debrief, Set, CatchNote}, k)
}

// MostEntries is how many entries a batch may hold.
const MostEntries = 50

// A Batch is what a phone sends at once.
type Batch struct {
	Athlete uuid.UUID // who made the entries; uuid.Nil where the phone does not say
	SentAt  time.Time // by the phone's clock
	Entries []Entry
}

// An Entry is one thing that a phone kept. Its id is made on the phone.
type Entry struct {
	ID    uuid.UUID
	Kind  Kind
	At    time.Time // by the phone's clock
	Known *int64    // ms to add to that clock, as the phone knew when it kept the entry
	Body  json.RawMessage
	Fault string // why the entry cannot be read, for the person

	offset time.Duration // what was added to At
	taken  time.Time     // At, set right
}

// ReadBatch reads a batch of at most [MostEntries] entries as JSON. An entry
// that cannot be read has a Fault and does not stop the others; an error means
// that there is nothing to answer to.
func ReadBatch(r io.Reader) (Batch, error) {
	var sent struct {
		Athlete uuid.UUID         `json:"athlete"`
		SentAt  time.Time         `json:"sent_at"`
		Entries []json.RawMessage `json:"entries"`
	}
	if err := json.NewDecoder(r).Decode(&sent); err != nil {
		return Batch{}, problem.Wrap(fmt.Errorf("%w: %w", ErrUnread, err), problem.Invalid, "The entries did not arrive whole. They are still on the phone.")
	}
	if len(sent.Entries) > MostEntries {
		return Batch{}, problem.New(problem.TooLarge, "More than %d entries came at once. Send them in parts.", MostEntries)
	}
	batch := Batch{Athlete: sent.Athlete, SentAt: sent.SentAt, Entries: make([]Entry, len(sent.Entries))}
	for i, raw := range sent.Entries {
		batch.Entries[i] = readEntry(raw)
	}
	return batch, nil
}

func readEntry(raw json.RawMessage) Entry {
	var e struct {
		ID    uuid.UUID       `json:"id"`
		Kind  Kind            `json:"kind"`
		At    time.Time       `json:"at"`
		Known *int64          `json:"offset_ms"`
		Body  json.RawMessage `json:"body"`
	}
	err := json.Unmarshal(raw, &e)
	entry := Entry{ID: e.ID, Kind: e.Kind, At: e.At, Known: e.Known, Body: e.Body}
	switch {
	case err != nil || e.Kind == "" || len(e.Body) == 0:
		entry.Fault = "This entry cannot be read. Type it anew."
	case e.ID == uuid.Nil:
		entry.Fault = "This entry has no number of its own. Type it anew."
	case e.At.Year() < 1970 || e.At.Year() > 9000:
		entry.Fault = "This entry has no usable time. Look at the phone's date, then type it anew."
	}
	return entry
}

// setRight works out when each entry was made, by the server's clock. A clock
// that the phone compared with ours when it kept the entry is trusted most;
// else the clock is as far off as it was when the batch was sent. Nothing was
// made in the future.
func (b *Batch) setRight(now time.Time) {
	offset := now.Sub(b.SentAt)
	if b.SentAt.IsZero() {
		offset = 0
	}
	for i := range b.Entries {
		e := &b.Entries[i]
		e.offset = offset
		if most := mostOffset.Milliseconds(); e.Known != nil && *e.Known > -most && *e.Known < most {
			e.offset = time.Duration(*e.Known) * time.Millisecond
		}
		e.taken = e.At.Add(e.offset)
		if e.taken.After(now) {
			e.taken = now
		}
	}
}

// mostOffset is how far off a phone's clock is believed to be: a phone without
// a battery for long starts decades back.
const mostOffset = 100 * 365 * 24 * time.Hour

// order returns the fields that have messages, always in the same order.
func order(fields map[string]string) []string { return slices.Sorted(maps.Keys(fields)) }
