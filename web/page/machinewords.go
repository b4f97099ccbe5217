package page

import (
	"fmt"
	"time"

	"ropewalk.example/internal/gym"
	"ropewalk.example/web/part"
)

// A Grade says how urgent something about the server is.
type Grade int

// The grades.
const (
	Unknown Grade = iota
	Well
	Look // before long
	Act  // now
)

// A BackupWorry is what an owner has to know about backups.
type BackupWorry int

// The worries.
const (
	NoWorry     BackupWorry = iota
	NoBackup                // there never was a good one
	OldBackup               // the last good one is over two days old
	BackupWrong             // the newest try went wrong
)

// MachineView is how the server is, for an owner.
type MachineView struct {
	Now         time.Time
	Zone        *time.Location
	Demo        bool
	Backup      BackupLine
	Room        RoomLine
	Certificate CertificateLine
	Factor      FactorLine
	Work        WorkState
	Version     string
	Schema      int
}

// BackupLine is what there is of backups.
type BackupLine struct {
	Made      bool // here, at night
	Demo      bool // none is needed
	Worry     BackupWorry
	Good      *gym.Backup // the last verified one, nil for none
	Fault     string      // why the newest try went wrong
	Encrypted bool
	Next      time.Time
}

// RoomLine is the room on the disk and what the database takes, in bytes.
type RoomLine struct {
	Free     uint64
	Database int64
	Grade    Grade
}

// CertificateLine is what keeps connections private.
type CertificateLine struct {
	Ends    time.Time
	Proxied bool
	Grade   Grade
}

// FactorLine is who put the second factor off, and who has one.
type FactorLine struct {
	Postponed bool
	By        string // empty: not known any more
	At        time.Time
	Staff     []gym.Staff
}

// WorkState is the background work of the gym.
type WorkState struct {
	Waiting int
	GivenUp int
	Kept    *time.Time // when rules on what is kept were last carried out
	Purged  time.Time  // when they last removed something
	Grade   Grade
}

// toDo counts what asks for something.
func (v MachineView) toDo() int {
	n := 0
	for _, asks := range []bool{v.Backup.Worry != NoWorry, v.Room.Grade > Well, v.Certificate.Grade > Well, v.Factor.Postponed, v.Work.Grade > Well} {
		if asks {
			n++
		}
	}
	return n
}

// BackupWarning is the sentence for an owner who has not asked.
func BackupWarning(w BackupWorry, last string) string {
	switch w {
	case NoBackup:
		return "There is no backup that was checked. If the machine breaks, everything is lost."
	case OldBackup:
		return "The last good backup is from " + last + ". If the machine breaks, what came since is lost."
	case BackupWrong:
		return "The newest backup did not work. The last good one is from " + last + "."
	}
	return ""
}

func (c CertificateLine) grade() Grade {
	if c.Ends.IsZero() && c.Proxied {
		return Well
	}
	return c.Grade
}

func (f FactorLine) grade() Grade {
	if f.Postponed {
		return Look
	}
	return Well
}

func (b BackupLine) grade() Grade {
	switch {
	case b.Worry == NoBackup || b.Worry == OldBackup:
		return Act
	case b.Worry == BackupWrong || !b.Made && !b.Demo:
		return Look
	case b.Good == nil:
		return Unknown
	}
	return Well
}

// lastBackup says what the last good backup is.
func (v MachineView) lastBackup() string {
	b := v.Backup.Good
	if b == nil {
		return "There is none yet."
	}
	how := "read again, not restored on trial"
	if b.Verified == gym.BackupRestored {
		how = "restored on trial and compared"
	}
	if b.Encrypted {
		how += ", encrypted"
	}
	return fmt.Sprintf("%s, %s. %s, %s.", moment(b.EndedAt, v.Zone), ago(v.Now.Sub(b.EndedAt)), size(b.Bytes), how)
}

// nextBackup says when the next one comes.
func (v MachineView) nextBackup() string {
	if v.Backup.Next.IsZero() {
		return ""
	}
	if !v.Backup.Next.After(v.Now) {
		return "The next one is due now and begins within ten minutes."
	}
	return "The next one comes after " + moment(v.Backup.Next, v.Zone) + "."
}

// ago says how long something is past, coarsely.
func ago(d time.Duration) string {
	switch {
	case d < 2*time.Minute:
		return "just now"
	case d < 2*time.Hour:
		return fmt.Sprintf("%d minutes ago", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d hours ago", int(d.Hours()))
	}
	return fmt.Sprintf("%d days ago", int(d.Hours()/24))
}

// room writes bytes of a disk.
func room(bytes uint64) string {
	if bytes < 10<<30 {
		return fmt.Sprintf("%.1f GB", float64(bytes)/(1<<30))
	}
	return fmt.Sprintf("%d GB", bytes>>30)
}

// who says how many people have a second factor.
func (f FactorLine) who() string {
	n := 0
	for _, s := range f.Staff {
		if s.Factor {
			n++
		}
	}
	return partOf(n, len(f.Staff)) + " people have one."
}

// state is a grade with its picture and a word.
func (g Grade) state() (part.State, string) {
	switch g {
	case Well:
		return part.Finished, "Well"
	case Look:
		return part.NeedsLook, "Needs a look"
	case Act:
		return part.NeedsCoach, "Do something now"
	}
	return part.Away, "Not known"
}
