// Package certificate answers how phones can know that this server is the
// gym's: by certificates from an authority of the gym's own, for a local
// network, or from a public one, for a public name. It opens no listener and
// serves no page. Of ours it imports only problem.
package certificate

import (
	"net/netip"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/net/idna"

	"ropewalk.example/internal/problem"
)

// Mode says who vouches for this server.
type Mode int

// The modes of ROPEWALK_TLS.
const (
	NoTLS           Mode = iota // "": plain HTTP, for this machine alone or behind a proxy
	OwnAuthority                // "own" or "own:NAME,NAME": see [Own]
	PublicAuthority             // "acme:NAME,NAME": see [Public]
)

// Parse reads the setting ROPEWALK_TLS. The names, lower-case and in their
// ASCII form, are those that the setting adds to the machine's own: host names
// or addresses of a local network for OwnAuthority, public host names for
// PublicAuthority. An error is a sentence that says what to write.
func Parse(setting string) (Mode, []string, error) {
	setting = strings.TrimSpace(setting)
	kind, list, hasList := strings.Cut(setting, ":")
	switch {
	case setting == "":
		return NoTLS, nil, nil
	case setting == "own":
		return OwnAuthority, nil, nil
	case kind == "own" && hasList:
		names, wrong := namesIn(list, localName)
		if wrong != nil {
			return NoTLS, nil, problem.New(problem.Invalid, "ROPEWALK_TLS names %q. "+
				"Write host names such as hall.home.arpa after own:, or local addresses such as 192.168.1.20.", *wrong)
		}
		return OwnAuthority, names, nil
	case kind == "acme" && hasList:
		names, wrong := namesIn(list, publicName)
		if wrong != nil {
			return NoTLS, nil, problem.New(problem.Invalid, "ROPEWALK_TLS names %q. "+
				"Write this server's public host name after acme:, such as hall.example.org.", *wrong)
		}
		return PublicAuthority, names, nil
	}
	return NoTLS, nil, problem.New(problem.Invalid, "ROPEWALK_TLS says %q. Write own, own:NAME or acme:NAME, or leave it out.", setting)
}

// namesIn reads a list with commas. The second result is the first part that
// read does not take, nil if it takes all.
func namesIn(list string, read func(string) (string, bool)) ([]string, *string) {
	var names []string
	for part := range strings.SplitSeq(list, ",") {
		part = strings.TrimSpace(part)
		name, ok := read(part)
		if !ok {
			return nil, &part
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names, nil
}

// localName reads a host name, or an address of a local network.
func localName(text string) (string, bool) {
	if address, err := netip.ParseAddr(text); err == nil {
		address = address.Unmap()
		return address.String(), isLocal(address)
	}
	return hostName(text)
}

// publicName reads a host name that a public authority can vouch for.
func publicName(text string) (string, bool) {
	name, ok := hostName(text)
	return name, ok && strings.Contains(name, ".") && !within(name, localDomains())
}

// hostName returns text as certificates carry host names.
func hostName(text string) (string, bool) {
	rules := idna.New(idna.MapForLookup(), idna.BidiRule(), idna.StrictDomainName(true), idna.VerifyDNSLength(true))
	name, err := rules.ToASCII(text)
	last := name[strings.LastIndexByte(name, '.')+1:]
	return name, err == nil && utf8.ValidString(text) && strings.Trim(last, "0123456789") != "" // digits alone would be read as an address
}
