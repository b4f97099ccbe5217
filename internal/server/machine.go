package server

import (
	"net/http"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
	"ropewalk.example/web/page"
)

// Machine is what the program knows of where it runs. The zero Machine knows
// nothing.
type Machine struct {
	Version     string
	Free        uint64    // bytes of disk, 0: not known
	Certificate time.Time // its end, zero: none of this server's own
	Proxied     bool      // a proxy in front keeps connections private
	Backups     bool      // this program makes them at night
	Encrypted   bool
	NextBackup  func(last, now time.Time) time.Time // nil where there are none
}

// machineNow looks at the machine.
func (s *Server) machineNow() Machine {
	if s.Machine == nil {
		return Machine{}
	}
	return s.Machine()
}

// What an owner should look at.
const (
	oldBackup   = 2 * 24 * time.Hour
	lowRoom     = 5 << 30
	leastRoom   = 1 << 30
	soonEnds    = 30 * 24 * time.Hour
	lateKeeping = 3 * time.Hour
)

// getMachine says how the server is and what to do, in one round trip.
func (s *Server) getMachine(w http.ResponseWriter, r *http.Request) error {
	var g gym.Gym
	var newest, good []gym.Backup
	var bytes int64
	var work store.WorkHere
	var postponed bool
	var staff []gym.Staff
	var log []gym.AuditLine
	var purges []gym.Purge
	err := s.Store.Read(r.Context(), who(r.Context()).GymID, store.TheGym(&g), store.Backups(1, &newest), store.LastGoodBackup(&good), store.DatabaseSize(&bytes),
		store.TheWorkHere(&work), store.SecondFactorPostponed(&postponed), store.StaffList(&staff), store.Purges(&purges),
		store.AuditLines(store.AuditFilter{Action: "postponed the second factor"}, store.Page{Most: 1}, &log))
	if err != nil {
		return err
	}
	now, m := s.realNow(), s.machineNow()
	view := page.MachineView{Now: now, Zone: g.Zone(), Version: m.Version, Schema: store.NewestSchema(), Demo: len(s.Demo) > 0,
		Backup:      page.BackupLine{Made: m.Backups, Demo: len(s.Demo) > 0, Encrypted: m.Encrypted},
		Room:        page.RoomLine{Free: m.Free, Database: bytes, Grade: gradeRoom(m.Free)},
		Certificate: page.CertificateLine{Ends: m.Certificate, Proxied: m.Proxied, Grade: gradeEnd(m.Certificate, now)},
		Work:        page.WorkState{Waiting: work.Waiting, GivenUp: work.GivenUp, Kept: work.Kept, Grade: gradeWork(work, now)},
		Factor:      page.FactorLine{Postponed: postponed, Staff: staff},
	}
	view.Backup.Worry, view.Backup.Good, view.Backup.Fault = worry(m, g, newest, good, now)
	if m.NextBackup != nil {
		var last time.Time
		if len(good) > 0 {
			last = good[0].EndedAt
		}
		view.Backup.Next = m.NextBackup(last, now)
	}
	if postponed && len(log) > 0 {
		view.Factor.By, view.Factor.At = log[0].ByName, log[0].At
	}
	if len(purges) > 0 {
		view.Work.Purged = purges[0].At
	}
	return render(w, r, http.StatusOK, page.Machine(s.meta(r, "The server"), view))
}

// worry says whether an owner has to be told about backups: the newest try went
// wrong, or no verified one is younger than two days. A gym that is younger
// itself waits for its first.
func worry(m Machine, g gym.Gym, newest, good []gym.Backup, now time.Time) (w page.BackupWorry, last *gym.Backup, fault string) {
	if len(good) > 0 {
		last = &good[0]
	}
	if len(newest) > 0 && !newest[0].Good() {
		fault = newest[0].Fault
	}
	switch {
	case !m.Backups:
		return page.NoWorry, last, fault
	case last == nil && now.Sub(g.CreatedAt) > oldBackup:
		return page.NoBackup, last, fault
	case last != nil && now.Sub(last.EndedAt) > oldBackup:
		return page.OldBackup, last, fault
	case len(newest) > 0 && !newest[0].Good():
		return page.BackupWrong, last, fault
	}
	return page.NoWorry, last, fault
}

func gradeRoom(free uint64) page.Grade {
	switch {
	case free == 0:
		return page.Unknown
	case free < leastRoom:
		return page.Act
	case free < lowRoom:
		return page.Look
	}
	return page.Well
}

func gradeEnd(ends, now time.Time) page.Grade {
	switch {
	case ends.IsZero():
		return page.Unknown
	case ends.Before(now):
		return page.Act
	case ends.Sub(now) < soonEnds:
		return page.Look
	}
	return page.Well
}

// gradeWork expects the gym's own rules to have been looked at within the last
// hours.
func gradeWork(work store.WorkHere, now time.Time) page.Grade {
	if work.GivenUp > 0 || work.Kept != nil && now.Sub(*work.Kept) > lateKeeping {
		return page.Look
	}
	return page.Well
}
