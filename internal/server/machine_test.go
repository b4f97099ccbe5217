package server

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
)

// backedUp notes a backup that ended so long ago.
func (h *hall) backedUp(ago time.Duration, change func(*gym.Backup)) {
	h.t.Helper()
	at := time.Now().Add(-ago)
	b := gym.Backup{BackupID: uuid.New(), BegunAt: at.Add(-time.Minute), EndedAt: at, Host: "hall", File: "ropewalk-1.tar", Bytes: 4 << 20, Rows: 9000, Verified: gym.BackupRestored}
	if change != nil {
		change(&b)
	}
	if err := h.server.Store.NoteBackup(h.t.Context(), b); err != nil {
		h.t.Fatal(err)
	}
}

func broken(b *gym.Backup) {
	b.Verified, b.Fault, b.Bytes = "", "The disk is full. Make room for backups.", 0
}

// What owners are told of the server, and on Today without having asked.
func TestTheServerForOwners(t *testing.T) {
	well := Machine{Version: "v0.9", Free: 40 << 30, Certificate: time.Now().AddDate(1, 0, 0), Backups: true, Encrypted: true,
		NextBackup: func(_, now time.Time) time.Time { return now.Add(5 * time.Hour) }}
	for _, test := range []struct {
		name   string
		set    func(h *hall, m *Machine)
		says   []string
		lacks  []string
		strip  string // on Today, "" for none
		factor bool   // is asked for
	}{
		{"all well", func(h *hall, _ *Machine) { h.backedUp(9*time.Hour, nil) },
			[]string{"All is well.", "9 hours ago", "4.0 MB, restored on trial and compared", "The next one comes after", "40 GB are left.", "Ropewalk v0.9", "Asked for at every sign-in"},
			[]string{"Needs a look", "Do something now"}, "", true},
		{"old backup", func(h *hall, _ *Machine) { h.backedUp(80*time.Hour, nil) },
			[]string{"1 thing asks for you.", "Do something now", "3 days ago", "type ropewalk backup there"}, nil, "If the machine breaks, what came since is lost.", true},
		{"the newest did not work", func(h *hall, _ *Machine) { h.backedUp(20*time.Hour, nil); h.backedUp(time.Hour, broken) },
			[]string{"Needs a look", "20 hours ago", "The newest try did not work: The disk is full."}, nil, "The newest backup did not work.", true},
		{"never one, in an old gym", func(*hall, *Machine) {}, []string{"There is none yet.", "Do something now"}, nil, "There is no backup that was checked.", true},
		{"not by this server", func(_ *hall, m *Machine) { m.Backups, m.NextBackup = false, nil },
			[]string{"This server makes none.", "Needs a look"}, nil, "", true},
		{"only read again, not encrypted", func(h *hall, m *Machine) {
			m.Encrypted = false
			h.backedUp(time.Hour, func(b *gym.Backup) { b.Verified = gym.BackupRead })
		}, []string{"read again, not restored on trial", "Not encrypted: whoever gets the file can read it."}, nil, "", true},
		{"little room", func(h *hall, m *Machine) { m.Free = 600 << 20; h.backedUp(time.Hour, nil) },
			[]string{"0.6 GB are left.", "Do something now", "make room"}, nil, "", true},
		{"a certificate that ends", func(h *hall, m *Machine) { m.Certificate = time.Now().AddDate(0, 0, 9); h.backedUp(time.Hour, nil) },
			[]string{"Needs a look", "Without it phones cannot sign in."}, nil, "", true},
		{"behind a proxy", func(h *hall, m *Machine) {
			m.Certificate, m.Proxied = time.Time{}, true
			h.backedUp(time.Hour, nil)
		}, []string{"Kept by the proxy"}, []string{"None. Only"}, "", true},
		{"no second factor", func(h *hall, _ *Machine) { h.backedUp(time.Hour, nil) },
			[]string{"1 thing asks for you.", "Put off by Mara on", "0 of 3 people have one."}, nil, "", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := newHall(t)
			h.ownerDoes(`UPDATE gym SET created_at = now() - interval '30 days'`)
			m := well
			h.server.Machine = func() Machine { return m }
			test.set(h, &m)
			if err := h.server.Accounts.PostponeFactors(t.Context(), h.owner, !test.factor); err != nil {
				t.Fatal(err)
			}
			owner := h.as(h.owner)
			owner.get("/gym/server").is(200).says(test.says...).lacks(test.lacks...)
			today := owner.get("/today").is(200)
			if test.strip == "" {
				today.lacks("See what to do")
			} else {
				today.says(test.strip, "See what to do")
			}
			h.as(h.coach).get("/today").is(200).lacks("See what to do")
		})
	}
}

// A gym of today waits for its first backup, and background work shows.
func TestTheServerOfAFreshGym(t *testing.T) {
	h := newHall(t)
	h.ownerDoes(`UPDATE gym SET created_at = now()`)
	h.server.Machine = func() Machine { return Machine{Backups: true} }
	owner := h.as(h.owner)
	owner.get("/today").is(200).lacks("See what to do")
	owner.get("/gym/server").is(200).says("There is none yet.", "Nothing waits.", "were not carried out yet")
	h.ownerDoes(`INSERT INTO river.river_job (kind, args, state, max_attempts, attempt, finalized_at) VALUES
		('make_file', jsonb_build_object('gym', $1::text), 'discarded', 3, 3, now()),
		('make_file', jsonb_build_object('gym', gen_random_uuid()), 'discarded', 3, 3, now()),
		('keep_promises', '{}', 'completed', 3, 1, now() - interval '20 minutes')`, h.id.String())
	owner.get("/gym/server").is(200).says("1 task of the last days did not work out.", "Make the file once more", "carried out 20 minutes ago")
	h.ownerDoes(`DELETE FROM river.river_job WHERE state = 'discarded'`)
	h.ownerDoes(`UPDATE river.river_job SET finalized_at = now() - interval '5 hours'`)
	owner.get("/gym/server").is(200).says("carried out 5 hours ago", "Needs a look")
	owner.get("/gym").is(200).says("The server")
}
