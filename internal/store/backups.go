package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

const backupColumns = `backup_id, begun_at, ended_at, host, file, bytes, rows, encrypted, verified, fault`

// Backups reads what became of the newest backups, newest first.
func Backups(most int, into *[]gym.Backup) Reading {
	return many("backups", into, `SELECT `+backupColumns+` FROM backup ORDER BY ended_at DESC LIMIT @most`, pgx.StrictNamedArgs{"most": most})
}

// LastGoodBackup reads the newest backup that was verified, none if there is none.
func LastGoodBackup(into *[]gym.Backup) Reading {
	return many("last good backup", into, `
		SELECT `+backupColumns+` FROM backup WHERE fault = '' AND verified <> '' ORDER BY ended_at DESC LIMIT 1`, pgx.StrictNamedArgs{})
}

// NoteBackup keeps what became of a backup.
func (s *Store) NoteBackup(ctx context.Context, b gym.Backup) error {
	err := s.repeat(ctx, `
		INSERT INTO backup (backup_id, begun_at, ended_at, host, file, bytes, rows, encrypted, verified, fault)
		VALUES (@id, @begun, @ended, @host, @file, @bytes, @rows, @encrypted, @verified, @fault)
		ON CONFLICT (backup_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": b.BackupID, "begun": b.BegunAt, "ended": b.EndedAt, "host": b.Host, "file": b.File, "bytes": b.Bytes,
			"rows": b.Rows, "encrypted": b.Encrypted, "verified": b.Verified, "fault": b.Fault})
	if err != nil {
		return classify(fmt.Errorf("noting a backup: %w", err))
	}
	return nil
}

// backupLock is the advisory lock under which one backup is made at a time.
const backupLock = 7412

// BackingUp calls do unless another program makes a backup of the database at
// url, opened as its owner, at this moment.
func BackingUp(ctx context.Context, url string, do func() error) error {
	conn, err := knock(ctx, url)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx)) // gives the lock back
	var mine bool
	if err := conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, backupLock).Scan(&mine); err != nil {
		return classify(fmt.Errorf("asking for the turn to back up: %w", err))
	}
	if !mine {
		return problem.New(problem.Conflict, "A backup is being made at this moment. Wait until it is done.")
	}
	// Closing alone gives it back some moments later.
	defer func() { _, _ = conn.Exec(context.WithoutCancel(ctx), `SELECT pg_advisory_unlock($1)`, backupLock) }()
	return do()
}
