package certificate

import (
	"crypto/x509"
	"encoding/pem"
	"os"
	"path/filepath"
	"time"
)

// Ends returns when the certificate in the folder dir ends that mode and names
// ask for, as [Parse] returns them: the authority's own, or the first of the
// public ones. It is the zero time where there is none yet. It changes nothing.
func Ends(dir string, mode Mode, names []string) time.Time {
	var files []string
	switch mode {
	case OwnAuthority:
		files = []string{rootFile}
	case PublicAuthority:
		for _, name := range names {
			files = append(files, name, name+"+rsa") // as autocert names them
		}
	}
	var first time.Time
	for _, file := range files {
		ends := endsIn(filepath.Join(dir, file))
		if !ends.IsZero() && (first.IsZero() || ends.Before(first)) {
			first = ends
		}
	}
	return first
}

// endsIn returns when the first certificate in a file ends, zero without one.
func endsIn(path string) time.Time {
	text, err := os.ReadFile(path)
	if err != nil {
		return time.Time{}
	}
	for block, rest := pem.Decode(text); block != nil; block, rest = pem.Decode(rest) {
		if block.Type != certificateBlock {
			continue
		}
		if leaf, err := x509.ParseCertificate(block.Bytes); err == nil {
			return leaf.NotAfter
		}
	}
	return time.Time{}
}
