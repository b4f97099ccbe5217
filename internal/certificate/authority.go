package certificate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"ropewalk.example/internal/problem"
)

// An Authority is the gym's own certificate authority. Phones trust its root
// certificate once; it makes and renews the server's certificates by itself,
// in memory, so that only the root has to be kept.
type Authority struct {
	root  *x509.Certificate
	key   *ecdsa.PrivateKey
	extra []string
	now   func() time.Time
	look  func() machine

	mu     sync.Mutex
	leaf   *tls.Certificate // what the server shows now
	looked time.Time        // when the machine was last looked at
}

// rootYears is how long phones can trust one root.
const rootYears = 10

// Own returns the authority kept in the folder dir, which it makes on the
// first start. It vouches for this machine's names and local addresses, as
// they are at the time, and for extraNames, as [Parse] returns them. It never
// replaces an authority that is there but damaged, nor uses a key that other
// accounts can read: an error is a sentence that says what to do.
func Own(dir string, extraNames []string, now func() time.Time) (*Authority, error) {
	return own(dir, extraNames, now, thisMachine)
}

func own(dir string, extraNames []string, now func() time.Time, look func() machine) (*Authority, error) {
	root, key, err := load(dir, func() (*x509.Certificate, *ecdsa.PrivateKey, error) {
		return newRoot(look().names, extraNames, now())
	})
	if err != nil {
		return nil, err
	}
	for _, name := range extraNames {
		if !mayVouchFor(root, name) {
			return nil, problem.New(problem.Invalid, "The gym's certificate was made without the name %s and cannot take it on. "+
				"Use a name that ends in .home.arpa, or move the folder %s away and let every phone trust a new certificate.", name, dir)
		}
	}
	a := &Authority{root: root, key: key, extra: extraNames, now: now, look: look}
	if _, err := a.current(nil); err != nil {
		return nil, err
	}
	return a, nil
}

// newRoot makes an authority that may vouch for names and extra names.
func newRoot(names, extra []string, now time.Time) (*x509.Certificate, *ecdsa.PrivateKey, error) {
	if now.Year() < 2026 { // as on a small computer that has not asked for the time yet
		return nil, nil, problem.New(problem.Invalid, "This machine's clock says %s. Set it, then start again.", now.Format(time.DateOnly))
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("making the authority's key: %w", err)
	}
	host := "this gym"
	if len(names) > 0 {
		host = names[0]
	}
	name := fmt.Sprintf("Ropewalk, %.30s, %s", host, now.UTC().Format(time.DateOnly)) // RFC 5280 allows 64 characters
	template := &x509.Certificate{
		Subject:               pkix.Name{CommonName: name},
		NotBefore:             now.Add(-clockError),
		NotAfter:              now.AddDate(rootYears, 0, 0),
		IsCA:                  true,
		BasicConstraintsValid: true,
		MaxPathLenZero:        true, // it vouches for servers, not for other authorities
		KeyUsage:              x509.KeyUsageCertSign,
	}
	limit(template, slices.Concat(names, extra))
	root, err := sign(template, template, key.Public(), key)
	return root, key, err
}

// TLSConfig returns a server's configuration for TLS 1.2 and later.
func (a *Authority) TLSConfig() *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		NextProtos: []string{"h2", "http/1.1"},
		GetCertificate: func(hello *tls.ClientHelloInfo) (*tls.Certificate, error) {
			return a.current(hello.Conn)
		},
	}
}

// RootDER returns the root certificate for phones to trust, as the media type
// application/x-x509-ca-cert carries it.
func (a *Authority) RootDER() []byte { return slices.Clone(a.root.Raw) }

// RootPEM returns the root certificate as text.
func (a *Authority) RootPEM() []byte { return certificatePEM(a.root) }

// Ends returns when phones stop trusting the root certificate.
func (a *Authority) Ends() time.Time { return a.root.NotAfter }

// Fingerprint returns the SHA-256 of the root certificate as 32 pairs of
// hexadecimal digits, for people to compare with what the phone shows.
func (a *Authority) Fingerprint() string {
	pairs := make([]string, 0, sha256.Size)
	for _, b := range sha256.Sum256(a.root.Raw) {
		pairs = append(pairs, fmt.Sprintf("%02X", b))
	}
	return strings.Join(pairs, ":")
}

func certificatePEM(c *x509.Certificate) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: certificateBlock, Bytes: c.Raw})
}
