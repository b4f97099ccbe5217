package privacy

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/uuid"
)

// A tombstone is one line of a file: when, which gym, whose id. It names nobody.
// The file is kept apart from the database and is only ever added to, so that a
// backup made before an erasure cannot bring anybody back for longer than until
// the next start.

// bury adds a tombstone.
func (p *Privacy) bury(gymID, athlete uuid.UUID, at time.Time) error {
	if p.Tombstones == "" {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(p.Tombstones), 0o700); err != nil {
		return fmt.Errorf("making the folder of tombstones: %w", err)
	}
	file, err := os.OpenFile(p.Tombstones, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("opening the tombstones: %w", err)
	}
	_, err = fmt.Fprintf(file, "%s %s %s\n", at.UTC().Format(time.RFC3339), gymID, athlete)
	if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
		return fmt.Errorf("adding a tombstone: %w", err)
	}
	return nil
}

// Reapply erases once more whoever has a tombstone and is there again, as after
// restoring an older backup. It returns how many that were.
func (p *Privacy) Reapply(ctx context.Context) (int, error) {
	if p.Tombstones == "" {
		return 0, nil
	}
	file, err := os.Open(p.Tombstones)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("opening the tombstones: %w", err)
	}
	defer file.Close()
	again := 0
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		fields := strings.Fields(lines.Text())
		if len(fields) != 3 {
			continue // a line that was cut while it was written
		}
		gymID, err := uuid.Parse(fields[1])
		if err != nil {
			continue
		}
		athlete, err := uuid.Parse(fields[2])
		if err != nil {
			continue
		}
		erased, err := p.Store.Erase(ctx, gymID, athlete, uuid.New(), false, p.Now())
		if err != nil {
			return again, err
		}
		if erased.Rows["athlete"] > 0 {
			again++
		}
	}
	return again, lines.Err()
}
