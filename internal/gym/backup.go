package gym

import (
	"time"

	"github.com/google/uuid"
)

// A Backup is what became of one backup of the whole database. Verified says
// how it was checked: restored into an empty server, read, or "" where it was
// not; Fault is a sentence, "" for a good one.
type Backup struct {
	BackupID  uuid.UUID
	BegunAt   time.Time
	EndedAt   time.Time
	Host      string
	File      string
	Bytes     int64
	Rows      int64
	Encrypted bool
	Verified  string
	Fault     string
}

// How a backup was checked.
const (
	BackupRestored = "restored"
	BackupRead     = "read"
)

// Good reports whether the backup can be relied on.
func (b Backup) Good() bool { return b.Fault == "" && b.Verified != "" }
