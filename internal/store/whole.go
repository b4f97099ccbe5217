package store

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/golang-migrate/migrate/v4/database"
)

// whole runs each migration and the note that it is done as one transaction, so
// that a program killed in between leaves both or neither. golang-migrate notes
// a version as "dirty" before it runs a migration: what is dirty left nothing.
type whole struct{ database.Driver }

// A migration gives way to whoever uses a table, and tries again.
const (
	mostLockTries = 12
	lockPause     = 2 * time.Second
)

// Run runs one migration.
func (w whole) Run(migration io.Reader) error {
	text, err := io.ReadAll(migration)
	if err != nil {
		return fmt.Errorf("reading a migration: %w", err)
	}
	work, isTransaction := strings.CutSuffix(strings.TrimSpace(string(text)), "COMMIT;")
	if !isTransaction {
		return errors.New("a migration must be one transaction, from BEGIN; to COMMIT;")
	}
	work += "UPDATE schema_migrations SET dirty = false;\nCOMMIT;"
	for try := 1; ; try++ {
		err := w.Driver.Run(strings.NewReader(work))
		if err == nil {
			return nil
		}
		if broken, ok := errors.AsType[database.Error](err); ok && broken.OrigErr != nil {
			err = broken.OrigErr
		}
		if rollback := w.Driver.Run(strings.NewReader("ROLLBACK")); rollback != nil || !hasCode(err, lockNotAvailable) || try == mostLockTries {
			return err
		}
		time.Sleep(lockPause)
	}
}
