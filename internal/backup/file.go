package backup

import (
	"archive/tar"
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"filippo.io/age"

	"ropewalk.example/internal/problem"
)

// A backup's file is a tar archive, encrypted with age where there is a key:
//
//	manifest.json  what it holds
//	dump           pg_dump's custom format, for pg_restore
//	beside/...     files that lie beside the database
//	SHA256SUMS     of all entries before it, as sha256sum writes them
//
// Without this program: tar xf FILE, sha256sum -c SHA256SUMS, pg_restore dump.
const (
	manifestName = "manifest.json"
	dumpName     = "dump"
	besideName   = "beside/"
	sumsName     = "SHA256SUMS"
)

// write writes a backup's file and returns its size.
func (b *Backups) write(path, dump string, m *Manifest) (size int64, err error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return 0, fmt.Errorf("making the backup's file: %w", err)
	}
	defer file.Close()
	buffered := bufio.NewWriterSize(file, 1<<20)
	to, seal := io.Writer(buffered), io.Closer(io.NopCloser(nil))
	if b.Keys.Encrypt() {
		sealed, err := age.Encrypt(buffered, b.Keys.recipients...)
		if err != nil {
			return 0, fmt.Errorf("encrypting the backup: %w", err)
		}
		to, seal = sealed, sealed
	}
	if err := b.writeEntries(to, dump, m); err != nil {
		return 0, problem.Wrap(err, problem.Unavailable, "The backup could not be written into %s. Look whether the disk is full.", b.Dir)
	}
	if err := errors.Join(seal.Close(), buffered.Flush(), file.Sync()); err != nil {
		return 0, problem.Wrap(err, problem.Unavailable, "The backup could not be written into %s. Look whether the disk is full.", b.Dir)
	}
	info, err := file.Stat()
	if err != nil {
		return 0, fmt.Errorf("looking at the backup's file: %w", err)
	}
	return info.Size(), nil
}

// entries writes an archive and the sums of what is in it.
type entries struct {
	tar  *tar.Writer
	sums bytes.Buffer
}

func (b *Backups) writeEntries(to io.Writer, dump string, m *Manifest) error {
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return fmt.Errorf("writing the manifest: %w", err)
	}
	e := entries{tar: tar.NewWriter(to)}
	if err := e.add(manifestName, int64(len(text)), bytes.NewReader(text)); err != nil {
		return err
	}
	if err := e.addFile(dumpName, dump); err != nil {
		return err
	}
	for _, name := range Beside() {
		if err := e.addTree(b.DataDir, name); err != nil {
			return err
		}
	}
	sums := e.sums.Bytes()
	if err := e.add(sumsName, int64(len(sums)), bytes.NewReader(bytes.Clone(sums))); err != nil {
		return err
	}
	return e.tar.Close()
}

func (e *entries) add(name string, size int64, from io.Reader) error {
	if err := e.tar.WriteHeader(&tar.Header{Name: name, Mode: 0o600, Size: size, Format: tar.FormatPAX}); err != nil {
		return fmt.Errorf("adding %s: %w", name, err)
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(e.tar, sum), from); err != nil {
		return fmt.Errorf("adding %s: %w", name, err)
	}
	fmt.Fprintf(&e.sums, "%s  %s\n", hex.EncodeToString(sum.Sum(nil)), name)
	return nil
}

func (e *entries) addFile(name, path string) error {
	file, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("adding %s: %w", name, err)
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return fmt.Errorf("adding %s: %w", name, err)
	}
	return e.add(name, info.Size(), io.LimitReader(file, info.Size()))
}

// addTree adds a file of the data folder, or all files below a folder of it.
func (e *entries) addTree(dataDir, name string) error {
	root := filepath.Join(dataDir, name)
	return filepath.WalkDir(root, func(path string, entry fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil // there is none, or it went meanwhile
		}
		if err != nil || !entry.Type().IsRegular() {
			return err
		}
		below, err := filepath.Rel(dataDir, path)
		if err != nil {
			return err
		}
		return e.addFile(besideName+filepath.ToSlash(below), path)
	})
}

// damaged is what is said of a file that is not a whole backup.
func damaged(err error, path string) error {
	return problem.Wrap(err, problem.Invalid, "The file %s is damaged or is no backup. Nothing was changed. Take another one.", path)
}

// unpack reads a backup's file into the folder to, and returns what it holds
// once every byte of it was looked at.
func (b *Backups) unpack(path, to string) (Manifest, error) {
	file, err := os.Open(path)
	if err != nil {
		return Manifest{}, problem.Wrap(err, problem.NotFound, "The file %s cannot be read. Check its name.", path)
	}
	defer file.Close()
	from, err := b.open(file, path)
	if err != nil {
		return Manifest{}, err
	}
	sums, err := unpackEntries(from, to)
	if err != nil {
		return Manifest{}, damaged(err, path)
	}
	if err := compareSums(filepath.Join(to, sumsName), sums); err != nil {
		return Manifest{}, damaged(err, path)
	}
	text, err := os.ReadFile(filepath.Join(to, manifestName))
	if err != nil {
		return Manifest{}, damaged(err, path)
	}
	var m Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return Manifest{}, damaged(err, path)
	}
	return m, nil
}

// open decrypts a file that is encrypted.
func (b *Backups) open(file *os.File, path string) (io.Reader, error) {
	buffered := bufio.NewReaderSize(file, 1<<20)
	const mark = "age-encryption.org/v1"
	begin, err := buffered.Peek(len(mark))
	if err != nil {
		return nil, damaged(err, path)
	}
	if string(begin) != mark {
		return buffered, nil
	}
	if len(b.Keys.identities) == 0 {
		return nil, problem.New(problem.Invalid, "The backup is encrypted. Give the secret key, AGE-SECRET-KEY-1..., as ROPEWALK_BACKUP_KEY.")
	}
	plain, err := age.Decrypt(buffered, b.Keys.identities...)
	if _, other := errors.AsType[*age.NoIdentityMatchError](err); other {
		return nil, problem.Wrap(err, problem.Invalid, "The backup was encrypted with another key. Give that one's secret half as ROPEWALK_BACKUP_KEY.")
	}
	if err != nil {
		return nil, damaged(err, path)
	}
	return plain, nil
}

// unpackEntries writes all entries below to and returns their sums by name.
func unpackEntries(from io.Reader, to string) (map[string]string, error) {
	sums := map[string]string{}
	archive := tar.NewReader(from)
	for {
		header, err := archive.Next()
		if errors.Is(err, io.EOF) {
			_, err := io.Copy(io.Discard, from) // up to the end, so that a cut is seen
			return sums, err
		}
		if err != nil {
			return nil, err
		}
		name := filepath.FromSlash(header.Name)
		if !filepath.IsLocal(name) || header.Typeflag != tar.TypeReg {
			return nil, fmt.Errorf("entry %q does not belong into a backup", header.Name)
		}
		if sums[header.Name], err = unpackEntry(archive, filepath.Join(to, name)); err != nil {
			return nil, err
		}
	}
}

func unpackEntry(from io.Reader, path string) (sum string, err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return "", err
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", err
	}
	hash := sha256.New()
	_, err = io.Copy(io.MultiWriter(file, hash), from)
	return hex.EncodeToString(hash.Sum(nil)), errors.Join(err, file.Close())
}

// compareSums compares the sums of what was read with those in the file.
func compareSums(path string, sums map[string]string) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	delete(sums, sumsName)
	for line := range strings.Lines(string(text)) {
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if sums[name] != sum {
			return fmt.Errorf("entry %q is other than it was", name)
		}
		delete(sums, name)
	}
	if len(sums) > 0 {
		return fmt.Errorf("%d entries have no sum", len(sums))
	}
	return nil
}
