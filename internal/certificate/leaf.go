package certificate

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"time"

	"ropewalk.example/internal/problem"
)

const (
	// leafLife is 397 days, both ends counted. iPhones take at most 825
	// (support.apple.com/103769, "Requirements for trusted certificates in
	// iOS 13 and macOS 10.15", which also asks for the host in the alternative
	// names, for serverAuth and for SHA-2).
	leafLife    = 397*day - time.Second
	renewBefore = 30 * day // the end of a certificate

	clockError = day         // by which a phone's clock may be behind ours
	lookEvery  = time.Minute // at the machine's names and addresses

	day = 24 * time.Hour
)

// current returns the certificate to show on conn, which may be nil. It makes
// a new one when the present one nears its end or the machine's names or
// addresses have changed.
func (a *Authority) current(conn net.Conn) (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	if a.leaf != nil && now.Sub(a.looked).Abs() < lookEvery && !cameByNewAddress(conn, a.leaf.Leaf) {
		return a.leaf, nil
	}
	names, addresses := a.names()
	if a.leaf == nil || !a.holds(a.leaf.Leaf, now) || !speaksFor(a.leaf.Leaf, names, addresses) {
		leaf, err := a.issue(names, addresses, now)
		if err != nil {
			return nil, err
		}
		a.leaf = leaf
	}
	a.looked = now
	return a.leaf, nil
}

// cameByNewAddress says whether conn reached this machine at a local address
// that leaf does not name.
func cameByNewAddress(conn net.Conn, leaf *x509.Certificate) bool {
	if conn == nil {
		return false
	}
	end := localEnd(conn)
	return end.IsPrivate() && !slices.ContainsFunc(leaf.IPAddresses, func(ip net.IP) bool { return ip.Equal(end.AsSlice()) })
}

// holds says whether leaf is not to be renewed yet. The last one before the
// root's own end is used to its end.
func (a *Authority) holds(leaf *x509.Certificate, now time.Time) bool {
	end := leaf.NotAfter
	if end.Before(a.root.NotAfter) {
		end = end.Add(-renewBefore)
	}
	return !now.Before(leaf.NotBefore) && now.Before(end)
}

// names returns what a certificate made now speaks for. What the machine is
// called beyond the root's limits, since it was renamed, is left out.
func (a *Authority) names() ([]string, []net.IP) {
	m := a.look()
	var hosts []string
	for _, name := range append(m.names, "localhost") {
		if mayVouchFor(a.root, name) {
			hosts = append(hosts, name)
		}
	}
	addresses := append(m.addresses, netip.MustParseAddr("127.0.0.1"), netip.IPv6Loopback())
	for _, name := range a.extra {
		if address, err := netip.ParseAddr(name); err == nil {
			addresses = append(addresses, address)
		} else {
			hosts = append(hosts, name)
		}
	}
	slices.SortFunc(addresses, netip.Addr.Compare)
	var ips []net.IP
	for _, address := range slices.Compact(addresses) {
		ips = append(ips, address.AsSlice())
	}
	slices.Sort(hosts)
	return slices.Compact(hosts), ips
}

// speaksFor says whether leaf names exactly these.
func speaksFor(leaf *x509.Certificate, names []string, addresses []net.IP) bool {
	return slices.Equal(leaf.DNSNames, names) && slices.EqualFunc(leaf.IPAddresses, addresses, net.IP.Equal)
}

// issue makes a certificate, and a key that never leaves this process.
func (a *Authority) issue(names []string, addresses []net.IP, now time.Time) (*tls.Certificate, error) {
	if now.Before(a.root.NotBefore) {
		return nil, problem.New(problem.Invalid, "This machine's clock says %s, but the gym's certificate begins on %s. Set the clock, then start again.",
			now.Format(time.DateOnly), a.root.NotBefore.Format(time.DateOnly))
	}
	if now.After(a.root.NotAfter) {
		return nil, problem.New(problem.Invalid, "The gym's certificate ended on %s. "+
			"Move its folder away, start again, and let every phone trust the new one.", a.root.NotAfter.Format(time.DateOnly))
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("making the server's key: %w", err)
	}
	begin := now.Add(-clockError)
	end := begin.Add(leafLife)
	if end.After(a.root.NotAfter) {
		end = a.root.NotAfter
	}
	leaf, err := sign(&x509.Certificate{
		Subject:     pkix.Name{CommonName: "Ropewalk"},
		NotBefore:   begin,
		NotAfter:    end,
		DNSNames:    names,
		IPAddresses: addresses,
		KeyUsage:    x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}, a.root, key.Public(), a.key)
	if err != nil {
		return nil, err
	}
	return &tls.Certificate{Certificate: [][]byte{leaf.Raw}, PrivateKey: key, Leaf: leaf}, nil
}

// sign returns template as a certificate for the key pub, signed by parent.
func sign(template, parent *x509.Certificate, pub crypto.PublicKey, signer crypto.Signer) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, template, parent, pub, signer) // gives it a random serial number
	if err != nil {
		return nil, fmt.Errorf("signing the certificate of %s: %w", template.Subject.CommonName, err)
	}
	return x509.ParseCertificate(der)
}
