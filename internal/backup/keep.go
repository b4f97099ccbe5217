package backup

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// Keep says which backups are kept.
type Keep struct {
	Days  int // older ones go, so that what was erased is gone from them too
	Least int // however old, so many of the newest stay
}

// A kept is one backup in the folder.
type kept struct {
	name string
	at   time.Time
}

// goes returns the names of those that are not kept.
func (k Keep) goes(all []kept, now time.Time) []string {
	newest := slices.SortedFunc(slices.Values(all), func(a, b kept) int { return cmp.Or(b.at.Compare(a.at), cmp.Compare(b.name, a.name)) })
	var gone []string
	for i, one := range newest {
		if i >= k.Least && now.Sub(one.at) > time.Duration(k.Days)*24*time.Hour {
			gone = append(gone, one.name)
		}
	}
	return gone
}

// Newest returns the newest backup in the folder, "" if there is none.
func (b *Backups) Newest() (at time.Time, name string, err error) {
	all, err := b.list()
	if err != nil || len(all) == 0 {
		return time.Time{}, "", err
	}
	last := all[len(all)-1]
	return last.at, last.name, nil
}

// list returns the backups in the folder, oldest first.
func (b *Backups) list() ([]kept, error) {
	files, err := os.ReadDir(b.Dir)
	if err != nil {
		return nil, fmt.Errorf("reading the folder of backups: %w", err)
	}
	var all []kept
	for _, file := range files {
		if at, ok := timeOf(file.Name()); ok && file.Type().IsRegular() {
			all = append(all, kept{file.Name(), at})
		}
	}
	slices.SortFunc(all, func(a, b kept) int { return a.at.Compare(b.at) })
	return all, nil
}

// prune removes backups that are not to be kept.
func (b *Backups) prune() error {
	all, err := b.list()
	if err != nil {
		return err
	}
	for _, name := range b.Keep.goes(all, b.Now()) {
		if err := os.Remove(filepath.Join(b.Dir, name)); err != nil {
			return fmt.Errorf("removing an old backup: %w", err)
		}
		b.Log.Info("old backup removed", "file", name)
	}
	return nil
}
