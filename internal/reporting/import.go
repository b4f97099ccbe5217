package reporting

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/google/uuid"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Bounds of an import: a gym of a million results is well under them, and no file
// that pretends to be one fills a disk.
const (
	mostUnpacked = 8 << 30 // bytes of one table
	mostLine     = 8 << 20 // bytes of one row
	mostManifest = 4 << 20
	mostPacked   = 200 // bytes that one byte of the file may unpack to; ours come to 20
	smallArchive = 64 << 20
)

// An Imported is a gym that was brought in.
type Imported struct {
	GymID uuid.UUID
	Name  string
	Rows  int
}

// errNotOurs is one sentence for everything that is no export.
func errNotOurs(err error) error {
	return problem.Wrap(err, problem.Invalid, "This file is not an export of all data of a gym. Choose the ZIP file that the data page made.")
}

// errDamaged is one sentence for an export whose parts do not fit together.
func errDamaged(err error) error {
	return problem.Wrap(err, problem.Invalid, "This export is damaged: a part of it is not as it was written. Nothing was brought in. Copy the file once more.")
}

// Import makes a gym of an export of all its data, whole or not at all. Every
// part is checked against the manifest before anything is written. Athletes and
// staff need new PINs, passwords and class codes, since none are in an export.
// also, if it is not nil, happens in the same transaction, after the last row.
func (r *Reporting) Import(ctx context.Context, gymID uuid.UUID, file io.ReaderAt, size int64, also func(tx *store.Tx) error) (Imported, error) {
	archive, err := zip.NewReader(file, size)
	if err != nil {
		return Imported{}, errNotOurs(err)
	}
	if err := unpacks(archive, size); err != nil {
		return Imported{}, err
	}
	manifest, err := readManifest(archive)
	if err != nil {
		return Imported{}, err
	}
	for _, t := range manifest.Tables {
		for name, want := range map[string]string{t.JSON: t.JSONSHA256, t.CSV: t.CSVSHA256} {
			if err := checkSum(archive, name, want); err != nil {
				return Imported{}, err
			}
		}
	}
	done := Imported{GymID: gymID, Name: manifest.Gym}
	err = r.Store.Refill(ctx, gymID, func(refill *store.Refill) error {
		if err := known(manifest, refill.Shapes); err != nil {
			return err
		}
		for _, s := range refill.Shapes {
			at := slices.IndexFunc(manifest.Tables, func(t ManifestTable) bool { return t.Name == s.Table })
			if at < 0 {
				continue // newer than the export
			}
			n, err := addTable(ctx, refill, archive, manifest.Tables[at])
			if err != nil {
				return err
			}
			done.Rows += n
		}
		if also != nil {
			if err := also(refill.Tx()); err != nil {
				return err
			}
		}
		return refill.Note(ctx, newID(), gymID, store.NotedImport)
	})
	return done, err
}

// unpacks refuses an archive that says that it unpacks to far more than an
// export would. The reader of archives holds each part to what it says.
func unpacks(archive *zip.Reader, size int64) error {
	whole := uint64(0)
	for _, f := range archive.File {
		if whole += f.UncompressedSize64; f.UncompressedSize64 > mostUnpacked || whole > uint64(max(smallArchive, mostPacked*size)) {
			return problem.New(problem.TooLarge, "This file would unpack to more than any gym has. Nothing was brought in. Choose the ZIP file that the data page made.")
		}
	}
	return nil
}

func readManifest(archive *zip.Reader) (Manifest, error) {
	f, err := archive.Open(manifestFile)
	if err != nil {
		return Manifest{}, errNotOurs(err)
	}
	defer f.Close()
	var m Manifest
	if err := json.NewDecoder(io.LimitReader(f, mostManifest)).Decode(&m); err != nil {
		return Manifest{}, errNotOurs(err)
	}
	switch {
	case m.Format == FormatAthlete:
		return Manifest{}, problem.New(problem.Invalid, "This file holds the data of one athlete. Only an export of all data of a gym can be brought in.")
	case m.Format != FormatGym:
		return Manifest{}, errNotOurs(fmt.Errorf("format %q", m.Format))
	case m.Version > FormatVersion:
		return Manifest{}, problem.New(problem.Conflict, "This export was made by a newer Ropewalk. Bring it in with that one.")
	}
	return m, nil
}

// known refuses an export with tables or columns that this program does not have.
func known(m Manifest, shapes []store.Shape) error {
	for _, t := range m.Tables {
		at := slices.IndexFunc(shapes, func(s store.Shape) bool { return s.Table == t.Name })
		if at < 0 || slices.ContainsFunc(t.Columns, func(c string) bool { return !shapes[at].Has(c) }) {
			return problem.New(problem.Conflict, "This export was made by a newer Ropewalk: its table %q is not known here. Bring it in with that one.", t.Name)
		}
	}
	return nil
}

// checkSum reads a part of the archive and compares it with the manifest.
func checkSum(archive *zip.Reader, name, want string) error {
	f, err := archive.Open(name)
	if err != nil {
		return errDamaged(err)
	}
	defer f.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, io.LimitReader(f, mostUnpacked+1))
	switch {
	case err != nil:
		return errDamaged(err)
	case n > mostUnpacked:
		return problem.New(problem.TooLarge, "A part of this file is larger than any gym's. It was not brought in.")
	case hex.EncodeToString(sum.Sum(nil)) != want:
		return errDamaged(fmt.Errorf("checksum of %s", name))
	}
	return nil
}

// addTable adds the rows of one table and checks how many there are.
func addTable(ctx context.Context, refill *store.Refill, archive *zip.Reader, t ManifestTable) (int, error) {
	f, err := archive.Open(t.JSON)
	if err != nil {
		return 0, errDamaged(err)
	}
	defer f.Close()
	next, columns := lines(f), t.Columns
	codes := map[uuid.UUID]string{}
	if t.Name == "class" {
		columns = append(slices.Clone(columns), "code")
		next = withCodes(next, codes)
	}
	n, err := refill.Add(ctx, t.Name, columns, next)
	if err == nil && n != t.Rows {
		err = errDamaged(fmt.Errorf("%d rows of %s, the manifest says %d", n, t.Name, t.Rows))
	}
	if err != nil {
		return 0, err
	}
	for class, code := range codes {
		if err := refill.AddCode(ctx, class, account.FoldCode(code)); err != nil {
			return 0, err
		}
	}
	return n, nil
}

// lines returns the rows of a table's JSON file, one a call: it is an array with
// a row a line.
func lines(r io.Reader) func() ([]byte, error) {
	scanner := bufio.NewScanner(r)
	scanner.Buffer(nil, mostLine)
	return func() ([]byte, error) {
		for scanner.Scan() {
			line := bytes.TrimSuffix(bytes.TrimSpace(scanner.Bytes()), []byte(","))
			if len(line) > 0 && line[0] == '{' {
				if !json.Valid(line) {
					return nil, errDamaged(errors.New("a row is no JSON"))
				}
				return line, nil
			}
		}
		if err := scanner.Err(); err != nil {
			return nil, errDamaged(err)
		}
		return nil, nil
	}
}

// withCodes gives each class a new code to come in by, and keeps it in codes.
func withCodes(next func() ([]byte, error), codes map[uuid.UUID]string) func() ([]byte, error) {
	const signs = 6
	return func() ([]byte, error) {
		row, err := next()
		if err != nil || row == nil {
			return row, err
		}
		var class struct {
			ID uuid.UUID `json:"class_id"`
		}
		var cells map[string]json.RawMessage
		if err := errors.Join(json.Unmarshal(row, &class), json.Unmarshal(row, &cells)); err != nil {
			return nil, errDamaged(err)
		}
		code := account.NewCode(signs)
		codes[class.ID] = code
		cells["code"] = json.RawMessage(`"` + code + `"`)
		return json.Marshal(cells)
	}
}
