package backup

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Restore reads a backup's file into the database, which must hold no gym, and
// puts what lay beside the database back where nothing is yet. A damaged or
// newer file is refused before anything is changed; where the database turns
// out other than the file says, it is emptied again.
func (b *Backups) Restore(ctx context.Context, path string) (Manifest, error) {
	tools, err := b.tools()
	if err != nil {
		return Manifest{}, err
	}
	work, err := os.MkdirTemp(b.DataDir, "restoring-")
	if err != nil {
		return Manifest{}, problem.Wrap(err, problem.Invalid, "Nothing can be written into the data folder %s. Choose another one with ROPEWALK_DATA.", b.DataDir)
	}
	defer os.RemoveAll(work)
	m, err := b.unpack(path, work)
	if err != nil {
		return m, err
	}
	if err := m.fits(path); err != nil {
		return m, err
	}
	dump := filepath.Join(work, dumpName)
	if err := tools.read(ctx, dump); err != nil {
		return m, unreadable(err, path)
	}
	if err := store.Clear(ctx, b.OwnerURL, false); err != nil {
		return m, err
	}
	if err := b.fill(ctx, tools, dump, m); err != nil {
		return m, problem.Wrap(errors.Join(err, store.Clear(context.WithoutCancel(ctx), b.OwnerURL, true)), problem.Unavailable,
			"The backup could not be restored. The database is empty again; the details say why.")
	}
	return m, b.putBeside(filepath.Join(work, besideName))
}

// fits refuses what a newer program made.
func (m Manifest) fits(path string) error {
	if m.Format > format || m.Schema > store.NewestSchema() {
		return problem.New(problem.Conflict, "The backup %s was made by a newer Ropewalk (%s, schema %d; this one knows %d). Nothing was changed. Take the newer program.",
			path, m.Program, m.Schema, store.NewestSchema())
	}
	if m.Format < 1 || m.Schema < 1 || len(m.Tables) == 0 {
		return damaged(errors.New("its manifest says nothing"), path)
	}
	return nil
}

func unreadable(err error, path string) error {
	if strings.Contains(err.Error(), "unsupported version") {
		return problem.Wrap(err, problem.Conflict, "The backup %s was made with a newer PostgreSQL than this machine has. Nothing was changed. Install that version.", path)
	}
	return damaged(err, path)
}

// fill restores, compares, and brings the schema up to date.
func (b *Backups) fill(ctx context.Context, tools tools, dump string, m Manifest) error {
	if err := store.EnsureRoles(ctx, b.OwnerURL, ""); err != nil {
		return err
	}
	if err := tools.restore(ctx, b.OwnerURL, dump); err != nil {
		return err
	}
	if err := tools.compare(ctx, b.OwnerURL, m.Census()); err != nil {
		return fmt.Errorf("after the restore: %w", err)
	}
	if err := store.Migrate(ctx, b.OwnerURL); err != nil {
		return err
	}
	return store.Settle(ctx, b.OwnerURL)
}

// putBeside puts files back into the data folder. A file that is there already
// stays as it is, but tombstones of both are kept: who was erased stays so.
func (b *Backups) putBeside(from string) error {
	return filepath.WalkDir(from, func(path string, entry fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil // the backup had none
		}
		if err != nil || entry.IsDir() {
			return err
		}
		name, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		to := filepath.Join(b.DataDir, name)
		_, err = os.Lstat(to)
		switch {
		case err == nil && name == Tombstones:
			return addLines(to, path)
		case err == nil:
			return nil
		case !errors.Is(err, fs.ErrNotExist):
			return fmt.Errorf("putting %s back: %w", name, err)
		}
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			return fmt.Errorf("putting %s back: %w", name, err)
		}
		if err := os.Rename(path, to); err != nil {
			return fmt.Errorf("putting %s back: %w", name, err)
		}
		return nil
	})
}

// addLines adds the lines of one file to another that lack there.
func addLines(to, from string) error {
	old, err := os.ReadFile(to)
	if err != nil {
		return fmt.Errorf("reading %s: %w", to, err)
	}
	more, err := os.ReadFile(from)
	if err != nil {
		return fmt.Errorf("reading %s: %w", from, err)
	}
	there := map[string]bool{}
	for line := range strings.Lines(string(old)) {
		there[strings.TrimSpace(line)] = true
	}
	var missing strings.Builder
	for line := range strings.Lines(string(more)) {
		if line = strings.TrimSpace(line); !there[line] {
			missing.WriteString(line + "\n")
		}
	}
	file, err := os.OpenFile(to, os.O_WRONLY|os.O_APPEND, 0o600)
	if err != nil {
		return fmt.Errorf("opening %s: %w", to, err)
	}
	_, err = file.WriteString(missing.String())
	return errors.Join(err, file.Sync(), file.Close())
}
