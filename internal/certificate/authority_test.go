package certificate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"ropewalk.example/internal/problem"
)

// start is the time of the first start.
var start = time.Date(2026, 9, 7, 9, 0, 0, 0, time.UTC)

// A hall is a gym's server on a machine and at a time that a test moves.
type hall struct {
	*Authority
	machine machine
	time    time.Time
	looks   int // at the machine, so far
}

func newHall(t *testing.T, dir string, extra ...string) *hall {
	t.Helper()
	h := &hall{time: start, machine: machine{names: namesOf("ropehall"), addresses: addresses("192.168.1.20", "fd00::7")}}
	var err error
	h.Authority, err = own(dir, extra, func() time.Time { return h.time }, func() machine {
		h.looks++
		return h.machine
	})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// greet lets a phone open host on the server's address, and returns the
// certificate that it was shown.
func (h *hall) greet(host, address string, phone *tls.Config) (*x509.Certificate, error) {
	phone.ServerName = host
	if phone.Time == nil {
		phone.Time = func() time.Time { return h.time }
	}
	return handshake(h.TLSConfig(), address, phone)
}

// trusting returns a phone that trusts nothing but the gym's root.
func (h *hall) trusting() *tls.Config {
	roots := x509.NewCertPool()
	roots.AppendCertsFromPEM(h.RootPEM())
	return &tls.Config{RootCAs: roots}
}

// mustGreet is greet for a phone that trusts the gym.
func (h *hall) mustGreet(t *testing.T, host, address string) *x509.Certificate {
	t.Helper()
	leaf, err := h.greet(host, address, h.trusting())
	if err != nil {
		t.Fatalf("%s at %s: %v", host, address, err)
	}
	return leaf
}

func TestPhoneThatTrustsTheRoot(t *testing.T) {
	h := newHall(t, t.TempDir(), "hall.home.arpa", "10.1.2.3", "ropes.example.org")
	for _, host := range []string{"localhost", "ropehall", "ropehall.local", "127.0.0.1", "::1", "192.168.1.20", "fd00::7",
		"hall.home.arpa", "10.1.2.3", "ropes.example.org"} {
		if _, err := h.greet(host, "192.168.1.20", h.trusting()); err != nil {
			t.Errorf("https://%s: %v", host, err)
		}
	}
	for _, host := range []string{"elsewhere.local", "192.168.1.21", "example.org"} {
		if _, err := h.greet(host, "192.168.1.20", h.trusting()); err == nil {
			t.Errorf("https://%s was trusted", host)
		}
	}
}

func TestPhoneThatDoesNotTrustTheRoot(t *testing.T) {
	h, other := newHall(t, t.TempDir()), newHall(t, t.TempDir())
	for name, phone := range map[string]*tls.Config{"new phone": {RootCAs: x509.NewCertPool()}, "another gym's phone": other.trusting()} {
		_, err := h.greet("ropehall.local", "192.168.1.20", phone)
		if _, is := errors.AsType[x509.UnknownAuthorityError](err); !is {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestOldTLSIsRefused(t *testing.T) {
	h := newHall(t, t.TempDir())
	for version, refused := range map[uint16]bool{tls.VersionTLS10: true, tls.VersionTLS11: true, tls.VersionTLS12: false, tls.VersionTLS13: false} {
		phone := h.trusting()
		phone.MinVersion, phone.MaxVersion = version, version
		if _, err := h.greet("ropehall", "192.168.1.20", phone); (err != nil) != refused {
			t.Errorf("%s: %v", tls.VersionName(version), err)
		}
	}
}

// The rules are Apple's, for iOS 13 and later: support.apple.com/103769.
func TestCertificateIsOneThatPhonesTake(t *testing.T) {
	h := newHall(t, t.TempDir())
	leaf := h.mustGreet(t, "ropehall.local", "192.168.1.20")
	if life := leaf.NotAfter.Sub(leaf.NotBefore) + time.Second; life > 397*day {
		t.Errorf("it is good for %v, more than 397 days", life)
	}
	if !slices.Contains(leaf.ExtKeyUsage, x509.ExtKeyUsageServerAuth) {
		t.Errorf("its uses are %v, without serverAuth", leaf.ExtKeyUsage)
	}
	if key, is := leaf.PublicKey.(*ecdsa.PublicKey); !is || key.Curve != elliptic.P256() || leaf.SignatureAlgorithm != x509.ECDSAWithSHA256 {
		t.Errorf("its key is a %T, signed by %v", leaf.PublicKey, leaf.SignatureAlgorithm)
	}
	if leaf.IsCA {
		t.Error("it may vouch for others")
	}
	if root := h.root; !root.IsCA || !root.MaxPathLenZero || root.NotAfter != start.AddDate(10, 0, 0) {
		t.Errorf("the root: authority %v, path %d, until %v", root.IsCA, root.MaxPathLen, root.NotAfter)
	}
}

// A stolen key must not open what else people do on their phones.
func TestAuthorityCannotVouchForTheWorld(t *testing.T) {
	h := newHall(t, t.TempDir(), "ropes.example.org")
	roots := x509.NewCertPool()
	roots.AddCert(h.root)
	tests := []struct {
		host string
		want bool
	}{
		{"other.local", true}, {"10.9.9.9", true}, {"ropes.example.org", true},
		{"bank.example.com", false}, {"example.org", false}, {"203.0.113.7", false}, {"2001:db8::7", false},
	}
	for _, test := range tests {
		var names []string
		var ips []net.IP
		if ip := net.ParseIP(test.host); ip != nil {
			ips = append(ips, ip)
		} else {
			names = append(names, test.host)
		}
		forged, err := h.issue(names, ips, start)
		if err != nil {
			t.Fatal(err)
		}
		_, err = forged.Leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: test.host, CurrentTime: start})
		if (err == nil) != test.want {
			t.Errorf("%s: trusted %v, want %v: %v", test.host, err == nil, test.want, err)
		}
	}
}

func TestRenewal(t *testing.T) {
	h := newHall(t, t.TempDir())
	first := h.mustGreet(t, "ropehall", "192.168.1.20")

	h.time = first.NotAfter.Add(-renewBefore - time.Minute)
	if same := h.mustGreet(t, "ropehall", "192.168.1.20"); !same.Equal(first) {
		t.Error("renewed more than 30 days before the end")
	}
	h.time = first.NotAfter.Add(-renewBefore + time.Minute)
	second := h.mustGreet(t, "ropehall", "192.168.1.20")
	if second.Equal(first) || second.NotAfter.Sub(h.time) < 395*day {
		t.Errorf("30 days before the end the phone sees a certificate until %v", second.NotAfter)
	}
	h.time = second.NotAfter.Add(day) // the server slept through the renewal
	if third := h.mustGreet(t, "ropehall", "192.168.1.20"); third.Equal(second) {
		t.Error("not renewed after its end")
	}
}

func TestClockThatGoesBack(t *testing.T) {
	h := newHall(t, t.TempDir())
	h.time = start.AddDate(2, 0, 0)
	h.mustGreet(t, "ropehall", "192.168.1.20")
	h.time = start
	h.mustGreet(t, "ropehall", "192.168.1.20")
}

func TestPhoneWhoseClockIsBehind(t *testing.T) {
	h := newHall(t, t.TempDir())
	phone := h.trusting()
	phone.Time = func() time.Time { return start.Add(-23 * time.Hour) }
	if _, err := h.greet("ropehall", "192.168.1.20", phone); err != nil {
		t.Error(err)
	}
}

func TestLastYearOfTheRoot(t *testing.T) {
	dir := t.TempDir()
	h := newHall(t, dir)
	h.time = h.Ends().Add(-20 * day)
	last := h.mustGreet(t, "ropehall", "192.168.1.20")
	if !last.NotAfter.Equal(h.Ends()) {
		t.Errorf("the last certificate ends %v, the root %v", last.NotAfter, h.Ends())
	}
	h.time = h.Ends().Add(-10 * day)
	if same := h.mustGreet(t, "ropehall", "192.168.1.20"); !same.Equal(last) {
		t.Error("made anew, although it cannot last longer")
	}
	h.time = h.Ends().Add(time.Second)
	if _, err := h.greet("ropehall", "192.168.1.20", h.trusting()); err == nil {
		t.Error("trusted beyond the end of the root")
	}
	_, err := Own(dir, nil, func() time.Time { return h.time })
	if got := problem.MessageOf(err); !strings.Contains(got, "ended on 2036-09-07. Move its folder away, start again") {
		t.Errorf("start after the end: %s", got)
	}
}

func TestWrongClock(t *testing.T) {
	dir := t.TempDir()
	early := func() time.Time { return time.Date(1970, 1, 1, 0, 1, 0, 0, time.UTC) }
	_, err := Own(dir, nil, early)
	if got := problem.MessageOf(err); got != "This machine's clock says 1970-01-01. Set it, then start again." {
		t.Errorf("first start in 1970: %s", got)
	}
	newHall(t, dir)
	_, err = Own(dir, nil, early)
	if got := problem.MessageOf(err); !strings.Contains(got, "begins on 2026-09-06. Set the clock") {
		t.Errorf("later start in 1970: %s", got)
	}
}

func TestMachineMovesToAnotherAddress(t *testing.T) {
	h := newHall(t, t.TempDir())
	first := h.mustGreet(t, "ropehall", "192.168.1.20")
	h.machine.addresses = addresses("192.168.7.30")

	h.time = start.Add(time.Second) // a phone that comes by the new address need not wait
	second := h.mustGreet(t, "192.168.7.30", "192.168.7.30")
	if second.Equal(first) {
		t.Error("not made anew")
	}
	if _, err := h.greet("192.168.1.20", "192.168.7.30", h.trusting()); err == nil {
		t.Error("the old address is still vouched for")
	}
	if same := h.mustGreet(t, "ropehall", "127.0.0.1"); !same.Equal(second) {
		t.Error("made anew without need")
	}
}

func TestMachineIsRenamed(t *testing.T) {
	h := newHall(t, t.TempDir())
	h.mustGreet(t, "ropehall", "192.168.1.20")
	h.machine.names = namesOf("jumphall")
	h.time = start.Add(lookEvery)
	h.mustGreet(t, "jumphall.local", "192.168.1.20")
	if _, err := h.greet("ropehall.local", "192.168.1.20", h.trusting()); err == nil {
		t.Error("the old name is still vouched for")
	}
	if _, err := h.greet("jumphall", "192.168.1.20", h.trusting()); err == nil {
		t.Error("a bare name beyond the root's limits is vouched for")
	}
}

func TestCertificateIsMadeOnlyWhenNeeded(t *testing.T) {
	h := newHall(t, t.TempDir())
	first := h.mustGreet(t, "ropehall", "192.168.1.20")
	if same := h.mustGreet(t, "ropehall", "10.5.5.5"); !same.Equal(first) { // forwarded: the system does not list it
		t.Error("made anew for nothing")
	}
	before := h.looks
	for _, address := range []string{"192.168.1.20", "fd00::7", "203.0.113.7", "2001:db8::7"} {
		h.mustGreet(t, "ropehall", address)
	}
	if h.looks != before {
		t.Errorf("looked at the machine %d times within a minute", h.looks-before)
	}
}

func TestFingerprint(t *testing.T) {
	h, other := newHall(t, t.TempDir()), newHall(t, t.TempDir())
	if pairs := strings.Split(h.Fingerprint(), ":"); len(pairs) != 32 || len(pairs[0]) != 2 {
		t.Errorf("fingerprint %s is not 32 pairs", h.Fingerprint())
	}
	if h.Fingerprint() == other.Fingerprint() {
		t.Error("two gyms have one fingerprint")
	}
	if root, err := x509.ParseCertificate(h.RootDER()); err != nil || !root.Equal(h.root) {
		t.Errorf("the root to download: %v", err)
	}
}
