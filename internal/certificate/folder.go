package certificate

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"ropewalk.example/internal/problem"
)

// The authority's folder holds
//
//	authority.pem  the root certificate with its key, for the owner's eyes only
//	root.crt       the root certificate alone, to hand to phones
const (
	authorityFile = "authority.pem"
	rootFile      = "root.crt"

	keyBlock         = "PRIVATE KEY"
	certificateBlock = "CERTIFICATE"
)

// load reads the authority in dir, or has one made if there never was one.
// Several starts at once end up with the same one.
func load(dir string, create func() (*x509.Certificate, *ecdsa.PrivateKey, error)) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	if err := makeFolder(dir); err != nil {
		return nil, nil, err
	}
	// root.crt is read first, since it is written last: it never stands alone
	// unless somebody took the other file away.
	rootPath := filepath.Join(dir, rootFile)
	handedOut, err := os.ReadFile(rootPath)
	isFirst := errors.Is(err, fs.ErrNotExist)
	if err != nil && !isFirst {
		return nil, nil, damaged(dir, rootFile, err)
	}
	text, err := readKeyFile(dir)
	if isFirst && errors.Is(err, fs.ErrNotExist) {
		if err := writeAuthority(dir, create); err != nil {
			return nil, nil, err
		}
		text, err = readKeyFile(dir)
	}
	if err != nil {
		return nil, nil, err
	}
	root, key, err := parseAuthority(text)
	if err != nil {
		return nil, nil, damaged(dir, authorityFile, err)
	}
	if isFirst {
		return root, key, writeOnce(rootPath, certificatePEM(root))
	}
	if !bytes.Equal(handedOut, certificatePEM(root)) {
		return nil, nil, problem.New(problem.Invalid, "The files %s and %s in %s belong to different authorities. "+
			"Put both back from one backup.", authorityFile, rootFile, dir)
	}
	return root, key, nil
}

func makeFolder(dir string) error {
	// Like the data folder elsewhere: others may pass through, to the database's account, but see nothing.
	err := os.MkdirAll(filepath.Dir(dir), 0o711)
	if err == nil {
		err = os.Mkdir(dir, 0o700)
	}
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return problem.Wrap(err, problem.Invalid, "The folder %s cannot be made here. Choose another data folder with ROPEWALK_DATA.", dir)
	}
	return nil
}

// readKeyFile returns the authority's file, unless other accounts can read it.
// The error is fs.ErrNotExist, among others, if there is none.
func readKeyFile(dir string) ([]byte, error) {
	path := filepath.Join(dir, authorityFile)
	info, err := os.Stat(path)
	if err != nil {
		return nil, damaged(dir, authorityFile, err)
	}
	if info.Mode().Perm()&0o077 != 0 {
		return nil, problem.New(problem.Forbidden, "Other accounts of this machine can read the gym's key. Run: chmod 600 %s", path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, damaged(dir, authorityFile, err)
	}
	return text, nil
}

// parseAuthority reads a key and the root certificate that goes with it.
func parseAuthority(text []byte) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	keyPart, rest := pem.Decode(text)
	rootPart, rest := pem.Decode(rest)
	if keyPart == nil || rootPart == nil || keyPart.Type != keyBlock || rootPart.Type != certificateBlock || len(bytes.TrimSpace(rest)) > 0 {
		return nil, nil, errors.New("not a key followed by a certificate")
	}
	parsed, err := x509.ParsePKCS8PrivateKey(keyPart.Bytes)
	if err != nil {
		return nil, nil, err
	}
	key, ok := parsed.(*ecdsa.PrivateKey)
	if !ok {
		return nil, nil, fmt.Errorf("a key of type %T", parsed)
	}
	root, err := x509.ParseCertificate(rootPart.Bytes)
	if err != nil {
		return nil, nil, err
	}
	if err := root.CheckSignatureFrom(root); err != nil {
		return nil, nil, err
	}
	if !key.PublicKey.Equal(root.PublicKey) {
		return nil, nil, errors.New("the key of another certificate")
	}
	return root, key, nil
}

// damaged returns the sentence for a file that cannot be used. A new authority
// would not help: phones trust the old one.
func damaged(dir, file string, err error) error {
	return problem.Wrap(err, problem.Invalid, "The gym's certificate cannot be read from %s. Put the file back from a backup. "+
		"If there is none, move the folder %s away, and let every phone trust a new certificate.", filepath.Join(dir, file), dir)
}

func writeAuthority(dir string, create func() (*x509.Certificate, *ecdsa.PrivateKey, error)) error {
	root, key, err := create()
	if err != nil {
		return err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return fmt.Errorf("encoding the authority's key: %w", err)
	}
	text := pem.EncodeToMemory(&pem.Block{Type: keyBlock, Bytes: der})
	return writeOnce(filepath.Join(dir, authorityFile), append(text, certificatePEM(root)...))
}

// writeOnce writes a file that only this account can read, whole or not at
// all. If somebody else wrote it in the meantime, theirs stays.
func writeOnce(path string, text []byte) error {
	err := writeWhole(path, text)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return problem.Wrap(err, problem.Unavailable, "The file %s cannot be written. Make room, or choose another data folder with ROPEWALK_DATA.", path)
	}
	return nil
}

func writeWhole(path string, text []byte) error {
	file, err := os.CreateTemp(filepath.Dir(path), ".unfinished-*") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(file.Name())
	_, err = file.Write(text)
	if err := errors.Join(err, file.Sync(), file.Close()); err != nil {
		return err
	}
	if err := os.Link(file.Name(), path); err != nil { // unlike a rename, it replaces nothing
		return err
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close())
}
