// Package backup makes backups of the whole database, proves each by restoring
// it into an empty server, keeps some, and restores one whole or not at all. It
// calls pg_dump and pg_restore; of ours it imports store, localpg, gym and
// problem.
package backup

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Backups makes and keeps the backups of one installation.
type Backups struct {
	Dir      string            // the folder they are kept in
	DataDir  string            // the folder of what lies beside the database
	OwnerURL string            // the database, as the owner of its schema
	Programs *localpg.Programs // of the private server; nil: those on this machine
	Keys     Keys
	Keep     Keep
	Program  string // version of this program
	Log      *slog.Logger
	Now      func() time.Time
}

// Beside are the files and folders of the data folder that a backup holds: the
// gym's certificate, which phones trust, and who is to stay forgotten.
func Beside() []string { return []string{"certificate", Tombstones} }

// Tombstones is the file that says who was erased.
const Tombstones = "erased"

// Make makes a backup now, unless another is being made, and returns what
// became of it. A backup that cannot be verified is not kept.
func (b *Backups) Make(ctx context.Context) (gym.Backup, error) {
	done := gym.Backup{BackupID: uuid.Must(uuid.NewV7()), BegunAt: b.Now(), Encrypted: b.Keys.Encrypt()}
	done.Host, _ = os.Hostname() // empty where the system does not say
	err := store.BackingUp(ctx, b.OwnerURL, func() error { return b.make(ctx, &done) })
	done.EndedAt = b.Now()
	if err != nil {
		done.Fault, done.Verified = problem.MessageOf(err), ""
		return done, err
	}
	b.Log.InfoContext(ctx, "backup made", "file", done.File, "bytes", done.Bytes, "rows", done.Rows, "verified", done.Verified,
		"encrypted", done.Encrypted, "seconds", done.EndedAt.Sub(done.BegunAt).Seconds())
	return done, b.prune()
}

func (b *Backups) make(ctx context.Context, done *gym.Backup) error {
	tools, err := b.tools()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(b.Dir, 0o700); err != nil {
		return problem.Wrap(err, problem.Invalid, "The folder of backups %s cannot be made. Choose another one with ROPEWALK_BACKUPS.", b.Dir)
	}
	work, err := b.workFolder()
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	dump := filepath.Join(work, "dump")
	manifest := Manifest{Format: format, Program: b.Program, MadeAt: done.BegunAt.UTC()}
	var counted store.Census
	err = store.TakeCensus(ctx, b.OwnerURL, func(c store.Census, snapshot, role string) error {
		counted = c
		return tools.dump(ctx, b.OwnerURL, dump, snapshot, role)
	})
	if err != nil {
		return err
	}
	manifest.count(counted)
	archive := filepath.Join(work, "archive")
	if done.Bytes, err = b.write(archive, dump, &manifest); err != nil {
		return err
	}
	if done.Verified, err = tools.verify(ctx, work, dump, counted); err != nil {
		return err
	}
	done.Rows, done.File = counted.Rows(), nameAt(done.BegunAt, done.Encrypted)
	return putInPlace(archive, filepath.Join(b.Dir, done.File))
}

// workFolder makes a folder for what is not finished, and removes what a
// program left that was killed.
func (b *Backups) workFolder() (string, error) {
	left, _ := filepath.Glob(filepath.Join(b.Dir, "making-*")) // an error is a bad pattern only
	for _, folder := range left {
		if err := os.RemoveAll(folder); err != nil {
			return "", fmt.Errorf("removing an unfinished backup: %w", err)
		}
	}
	work, err := os.MkdirTemp(b.Dir, "making-")
	if err != nil {
		return "", problem.Wrap(err, problem.Invalid, "Nothing can be written into the folder of backups %s. Choose another one with ROPEWALK_BACKUPS.", b.Dir)
	}
	return work, nil
}

const (
	namePrefix = "ropewalk-"
	nameLayout = "20060102T150405Z"
	plainEnd   = ".tar"
	ageEnd     = ".tar.age"
)

func nameAt(at time.Time, encrypted bool) string {
	end := plainEnd
	if encrypted {
		end = ageEnd
	}
	return namePrefix + at.UTC().Format(nameLayout) + end
}

// timeOf reads when a backup was begun from its file's name.
func timeOf(name string) (time.Time, bool) {
	text, found := strings.CutPrefix(name, namePrefix)
	if !found {
		return time.Time{}, false
	}
	if cut, found := strings.CutSuffix(text, ageEnd); found {
		text = cut
	} else if text, found = strings.CutSuffix(text, plainEnd); !found {
		return time.Time{}, false
	}
	at, err := time.Parse(nameLayout, text)
	return at, err == nil
}

// putInPlace gives a finished file its name, so that a name always means a
// whole file, even after a power cut.
func putInPlace(from, to string) error {
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("putting the backup in its place: %w", err)
	}
	folder, err := os.Open(filepath.Dir(to))
	if err != nil {
		return fmt.Errorf("opening the folder of backups: %w", err)
	}
	defer folder.Close()
	if err := folder.Sync(); err != nil {
		return fmt.Errorf("writing the folder of backups: %w", err)
	}
	return nil
}
