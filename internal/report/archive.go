package report

import (
	"archive/zip"
	"bytes"
	"cmp"
	"compress/flate"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"io/fs"
	"slices"
)

// An archive is a ZIP file whose members stand in the order of their names,
// whatever the order they come in: excelize hands over the sheets of a workbook
// in an order that changes from one time to the next, and the same data are to
// give the same bytes. Members wait packed.
type archive struct {
	to      io.Writer
	members []*member
}

// A member is one file of an archive.
type member struct {
	name   string
	packed bytes.Buffer
	press  *flate.Writer
	sum    hash.Hash32
	size   uint64
}

// Create begins a member and ends the one before.
func (a *archive) Create(name string) (io.Writer, error) {
	if err := a.end(); err != nil {
		return nil, err
	}
	m := &member{name: name, sum: crc32.NewIEEE()}
	var err error
	if m.press, err = flate.NewWriter(&m.packed, 5); err != nil { // the level of archive/zip
		return nil, fmt.Errorf("packing %s: %w", name, err)
	}
	a.members = append(a.members, m)
	return m, nil
}

func (m *member) Write(body []byte) (int, error) {
	m.size += uint64(len(body))
	_, _ = m.sum.Write(body) // a checksum takes everything
	return m.press.Write(body)
}

// end packs what is left of the last member.
func (a *archive) end() error {
	if len(a.members) == 0 {
		return nil
	}
	m := a.members[len(a.members)-1]
	if m.press == nil {
		return nil
	}
	if err := m.press.Close(); err != nil {
		return fmt.Errorf("packing %s: %w", m.name, err)
	}
	m.press = nil
	return nil
}

// AddFS is asked for by excelize's interface; a workbook holds no folders.
func (a *archive) AddFS(fs.FS) error { return fmt.Errorf("a workbook takes no folder") }

// Close writes the archive.
func (a *archive) Close() error {
	if err := a.end(); err != nil {
		return err
	}
	slices.SortFunc(a.members, func(x, y *member) int { return cmp.Compare(x.name, y.name) })
	w := zip.NewWriter(a.to)
	for _, m := range a.members {
		head := &zip.FileHeader{Name: m.name, Method: zip.Deflate, CRC32: m.sum.Sum32(),
			CompressedSize64: uint64(m.packed.Len()), UncompressedSize64: m.size}
		into, err := w.CreateRaw(head)
		if err != nil {
			return fmt.Errorf("packing %s: %w", m.name, err)
		}
		if _, err := m.packed.WriteTo(into); err != nil {
			return fmt.Errorf("packing %s: %w", m.name, err)
		}
	}
	if err := w.Close(); err != nil {
		return fmt.Errorf("closing a workbook: %w", err)
	}
	return nil
}
