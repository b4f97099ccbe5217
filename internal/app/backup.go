package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/backup"
	"ropewalk.example/internal/config"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/localpg"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// leastBackups stay however old they are.
const leastBackups = 3

// backupsOf returns the backups of a database. There is no folder for them
// where somebody wants none.
func backupsOf(conf config.Config, db *database, log *slog.Logger) (*backup.Backups, error) {
	keys, err := backup.ReadKeys(conf.BackupKey)
	if err != nil {
		return nil, err
	}
	b := &backup.Backups{Dir: conf.Backups, DataDir: conf.DataDir, OwnerURL: db.owner, Keys: keys,
		Keep: backup.Keep{Days: conf.BackupDays, Least: leastBackups}, Program: version(), Log: log, Now: time.Now}
	if db.cluster != nil {
		programs := db.cluster.Programs()
		b.Programs = &programs
	}
	return b, nil
}

// nightly makes backups at night until ctx ends.
func nightly(ctx context.Context, conf config.Config, db *database, log *slog.Logger) error {
	if conf.Backups == "" {
		log.WarnContext(ctx, "no backups are made here, by ROPEWALK_BACKUPS=no")
		return nil
	}
	b, err := backupsOf(conf, db, log)
	if err != nil {
		return err
	}
	go b.Nightly(ctx, backup.Book{Note: db.store.NoteBackup, Last: func(ctx context.Context) (time.Time, error) {
		var last []gym.Backup
		err := db.store.Read(ctx, uuid.Nil, store.LastGoodBackup(&last))
		if err != nil || len(last) == 0 {
			return time.Time{}, err
		}
		return last[0].EndedAt, nil
	}})
	return nil
}

// makeBackup makes one backup by hand, also beside a running server.
func makeBackup(ctx context.Context, conf config.Config, log *slog.Logger, args []string, stdout io.Writer) error {
	if len(args) == 1 && args[0] == "key" {
		public, secret, err := backup.NewKey()
		if err != nil {
			return err
		}
		fmt.Fprintf(stdout, "For the server:  ROPEWALK_BACKUP_KEY=%s\nKeep elsewhere:  %s\n\nWithout the second line nobody can read an encrypted backup, not even you.\n", public, secret)
		return nil
	}
	if len(args) > 0 {
		return problem.New(problem.Invalid, "Write: ropewalk backup, or ropewalk backup key for a new pair of keys.")
	}
	if conf.Backups == "" {
		return problem.New(problem.Invalid, "ROPEWALK_BACKUPS says no. Name a folder there.")
	}
	db, err := besideOrOpen(ctx, conf, log)
	if err != nil {
		return err
	}
	defer db.close()
	b, err := backupsOf(conf, db, log)
	if err != nil {
		return err
	}
	done, err := b.Make(ctx)
	if problem.KindOf(err) == problem.Conflict {
		return err
	}
	if err := errors.Join(err, db.store.NoteBackup(context.WithoutCancel(ctx), done)); err != nil {
		return err
	}
	fmt.Fprintf(stdout, "%s\n%d rows, %d bytes, %s. Copy it to another machine.\n", filepath.Join(conf.Backups, done.File), done.Rows, done.Bytes, verifiedWords(done))
	return nil
}

func verifiedWords(b gym.Backup) string {
	words := "read again, but not restored on trial, since no server's programs are here"
	if b.Verified == gym.BackupRestored {
		words = "restored on trial and compared"
	}
	if b.Encrypted {
		return words + ", encrypted"
	}
	return words
}

// restore reads a backup into an empty database.
func restore(ctx context.Context, conf config.Config, log *slog.Logger, args []string, stdout io.Writer) error {
	if len(args) != 1 {
		return problem.New(problem.Invalid, "Write: ropewalk restore FILE, with a backup's file.")
	}
	db, err := startDatabase(ctx, conf, log)
	if err != nil {
		return err
	}
	defer db.close()
	b, err := backupsOf(conf, db, log)
	if err != nil {
		return err
	}
	m, err := b.Restore(ctx, args[0])
	if err != nil {
		return err
	}
	fmt.Fprintf(stdout, "Restored %d rows of %s, made by %s. Everybody signs in anew. Start ropewalk serve.\n",
		m.Census().Rows(), m.MadeAt.Format("2 Jan 2006 15:04 UTC"), m.Program)
	return nil
}

// besideOrOpen opens the database of a running server, or else as serve does.
func besideOrOpen(ctx context.Context, conf config.Config, log *slog.Logger) (*database, error) {
	if conf.DatabaseURL != "" {
		return openDatabase(ctx, conf, log)
	}
	cluster, err := localpg.Attach(ctx, filepath.Join(conf.DataDir, "postgres"))
	if errors.Is(err, localpg.ErrNotRunning) {
		return openDatabase(ctx, conf, log)
	}
	if err != nil {
		return nil, err
	}
	db := &database{cluster: cluster, owner: cluster.URL(databaseName), endKeep: func() {}}
	return db, db.step(ctx, store.Addresses{Main: db.owner})
}
