package certificate

import (
	"crypto/x509"
	"net"
	"net/netip"
	"slices"
	"strings"
)

// localDomains are the domains that no public name lies in, so that the gym's
// own authority may vouch for any name in them: localhost (RFC 6761), local
// (RFC 6762), home.arpa (RFC 8375), internal (reserved by ICANN in 2024), and
// lan, home and private, which home routers use (common practice, no source).
func localDomains() []string {
	return []string{"localhost", "local", "home.arpa", "internal", "lan", "home", "private"}
}

// localNetworks are the addresses that no public server has: loopback,
// RFC 1918 and RFC 4193.
func localNetworks() []netip.Prefix {
	return []netip.Prefix{
		netip.MustParsePrefix("127.0.0.0/8"),
		netip.MustParsePrefix("10.0.0.0/8"),
		netip.MustParsePrefix("172.16.0.0/12"),
		netip.MustParsePrefix("192.168.0.0/16"),
		netip.MustParsePrefix("::1/128"),
		netip.MustParsePrefix("fc00::/7"),
	}
}

func isLocal(address netip.Addr) bool {
	return slices.ContainsFunc(localNetworks(), func(n netip.Prefix) bool { return n.Contains(address) })
}

// within says whether name is one of domains or lies in one, as name
// constraints count it (RFC 5280, 4.2.1.10).
func within(name string, domains []string) bool {
	return slices.ContainsFunc(domains, func(domain string) bool {
		return name == domain || strings.HasSuffix(name, "."+domain)
	})
}

// limit writes into root that phones which trust it trust it for nothing but
// local names and addresses and the given names. So a stolen key opens no bank:
// Apple's trust evaluation, Chrome since 112 and OpenSSL keep to the limits of
// a root; others ignore them.
func limit(root *x509.Certificate, names []string) {
	root.PermittedDNSDomainsCritical = true
	root.PermittedDNSDomains = localDomains()
	for _, name := range names {
		if _, err := netip.ParseAddr(name); err != nil && !within(name, root.PermittedDNSDomains) {
			root.PermittedDNSDomains = append(root.PermittedDNSDomains, name)
		}
	}
	for _, network := range localNetworks() {
		root.PermittedIPRanges = append(root.PermittedIPRanges, &net.IPNet{
			IP:   network.Addr().AsSlice(),
			Mask: net.CIDRMask(network.Bits(), network.Addr().BitLen()),
		})
	}
}

// mayVouchFor says whether name, a host name or an address, is within the
// limits of root.
func mayVouchFor(root *x509.Certificate, name string) bool {
	if address, err := netip.ParseAddr(name); err == nil {
		return isLocal(address)
	}
	return within(name, root.PermittedDNSDomains)
}
