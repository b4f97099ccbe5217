package certificate

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestPublicShowsTheCertificateItKeeps(t *testing.T) {
	const name = "hall.example.org"
	dir := filepath.Join(t.TempDir(), "certificate")
	config, err := Public(dir, []string{name})
	if err != nil {
		t.Fatal(err)
	}
	roots := keepCertificate(t, dir, name)
	if _, err := handshake(config, "203.0.113.7", &tls.Config{ServerName: name, RootCAs: roots}); err != nil {
		t.Error(err)
	}
	old := &tls.Config{ServerName: name, RootCAs: roots, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}
	if _, err := handshake(config, "203.0.113.7", old); err == nil {
		t.Error("TLS 1.1 was accepted")
	}
}

func TestPublicAsksForNoOtherName(t *testing.T) {
	config, err := Public(t.TempDir(), []string{"hall.example.org"})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"other.example.org", "www.hall.example.org"} {
		_, err := handshake(config, "203.0.113.7", &tls.Config{ServerName: name, RootCAs: x509.NewCertPool()})
		if err == nil || !strings.Contains(err.Error(), "not configured in HostWhitelist") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if !slices.Contains(config.NextProtos, "acme-tls/1") { // RFC 8737, 6.2
		t.Errorf("the protocols %q cannot answer the public authority", config.NextProtos)
	}
}

// keepCertificate lays a certificate for name into the folder, as if a public
// authority had given it earlier, and returns that authority's root.
func keepCertificate(t *testing.T, dir, name string) *x509.CertPool {
	t.Helper()
	now := time.Now()
	root, key, err := newRoot(nil, []string{name}, now)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := (&Authority{root: root, key: key}).issue([]string{name}, nil, now)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(leaf.PrivateKey)
	if err != nil {
		t.Fatal(err)
	}
	text := append(pem.EncodeToMemory(&pem.Block{Type: keyBlock, Bytes: der}), certificatePEM(leaf.Leaf)...)
	if err := os.WriteFile(filepath.Join(dir, name), text, 0o600); err != nil {
		t.Fatal(err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(root)
	return roots
}
