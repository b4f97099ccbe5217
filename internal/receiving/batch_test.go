package receiving

import (
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/planner"
)

var noon = time.Date(2026, time.November, 4, 12, 0, 0, 0, time.UTC)

func TestReadBatch(t *testing.T) {
	batch, err := ReadBatch(strings.NewReader(`{"athlete": "01930000-0000-7000-8000-000000000001", "sent_at": "2026-11-04T12:00:00Z", "entries": [
		{"id": "01930000-0000-7000-8000-000000000002", "kind": "result", "at": "2026-11-04T11:00:00.123Z", "offset_ms": -5, "body": {"rotations": 87}},
		{"id": "no id", "kind": "result", "at": "2026-11-04T11:00:00Z", "body": {}},
		{"id": "01930000-0000-7000-8000-000000000003", "kind": "", "at": "2026-11-04T11:00:00Z", "body": {}},
		7]}`))
	if err != nil {
		t.Fatal(err)
	}
	if batch.Athlete == uuid.Nil || !batch.SentAt.Equal(noon) || len(batch.Entries) != 4 {
		t.Fatalf("read %+v", batch)
	}
	if e := batch.Entries[0]; e.Fault != "" || e.Kind != Result || *e.Known != -5 || string(e.Body) != `{"rotations": 87}` {
		t.Errorf("the first entry is %+v", e)
	}
	for i, e := range batch.Entries[1:] {
		if e.Fault == "" {
			t.Errorf("entry %d has no fault", i+2)
		}
	}
}

func TestContactsDone(t *testing.T) {
	plan := planner.Plan{Sets: 4, Contacts: 480}
	for sets, want := range map[int]int{0: 0, 1: 120, 3: 360, 4: 480, 5: 600} {
		if got := ContactsDone(plan, sets); got == nil || *got != want {
			t.Errorf("%d sets are %v contacts, want %d", sets, got, want)
		}
	}
	if got := ContactsDone(planner.Plan{}, 3); got != nil {
		t.Errorf("a plan without sets has %d contacts", *got)
	}
}

// Whatever is sent, reading it ends, no entry is lost, and nothing was made in
// the future or at a time that cannot be kept.
func FuzzReadBatch(f *testing.F) {
	f.Add([]byte(`{"sent_at":"2026-11-04T12:00:00Z","entries":[{"id":"01930000-0000-7000-8000-000000000002","kind":"set","at":"2026-11-04T11:00:00Z","body":{}}]}`))
	f.Add([]byte(`{"sent_at":"0001-01-01T00:00:00Z","entries":[{"offset_ms":9223372036854775807,"at":"9999-12-31T23:59:59Z"}]}`))
	f.Add([]byte(`{"entries":[null,[],{}]}`))
	f.Add([]byte(`[]`))
	f.Fuzz(func(t *testing.T, sent []byte) {
		batch, err := ReadBatch(strings.NewReader(string(sent)))
		if err != nil {
			return
		}
		if len(batch.Entries) > MostEntries {
			t.Fatalf("%d entries were taken", len(batch.Entries))
		}
		batch.setRight(noon)
		for _, e := range batch.Entries {
			if e.Fault == "" && (e.ID == uuid.Nil || len(e.Body) == 0) {
				t.Errorf("an entry without id or body has no fault: %+v", e)
			}
			if e.taken.After(noon) {
				t.Errorf("made in the future: %s", e.taken)
			}
		}
	})
}
