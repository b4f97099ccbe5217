package certificate

import (
	"path/filepath"
	"testing"
	"time"
)

func TestWhenCertificatesEnd(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "certificate")
	if ends := Ends(dir, OwnAuthority, nil); !ends.IsZero() {
		t.Errorf("one that is not there ends %s", ends)
	}
	authority, err := Own(dir, nil, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if ends := Ends(dir, OwnAuthority, nil); !ends.Equal(authority.Ends()) {
		t.Errorf("the authority's own ends %s, want %s", ends, authority.Ends())
	}
	const name = "hall.example.org"
	public := filepath.Join(t.TempDir(), "certificate")
	if _, err := Public(public, []string{name}); err != nil {
		t.Fatal(err)
	}
	keepCertificate(t, public, name)
	if ends := Ends(public, PublicAuthority, []string{name, "other.example.org"}); time.Until(ends) <= 0 {
		t.Errorf("the public one ends %s", ends)
	}
	if ends := Ends(public, NoTLS, nil); !ends.IsZero() {
		t.Errorf("without TLS there is one that ends %s", ends)
	}
}
