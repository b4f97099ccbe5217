package certificate

import (
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
)

// Addresses returns this machine's addresses on local networks, first the one
// that leads to other networks, which is the one to show to people. It is
// empty on a machine without a network.
func Addresses() []netip.Addr {
	interfaces, err := net.Interfaces()
	if err != nil {
		return nil
	}
	var all []netip.Addr
	for _, i := range interfaces {
		if i.Flags&net.FlagUp == 0 || i.Flags&net.FlagRunning == 0 {
			continue
		}
		addresses, err := i.Addrs()
		if err != nil {
			continue // the interface is just going away
		}
		for _, address := range addresses {
			if prefix, err := netip.ParsePrefix(address.String()); err == nil {
				all = append(all, prefix.Addr())
			}
		}
	}
	return onLocalNetworks(all, wayOut())
}

// onLocalNetworks keeps the addresses of local networks, each once, IPv4
// before IPv6, but first of all.
func onLocalNetworks(all []netip.Addr, first netip.Addr) []netip.Addr {
	var kept []netip.Addr
	for _, address := range all {
		if address = address.Unmap(); address.IsPrivate() {
			kept = append(kept, address)
		}
	}
	slices.SortFunc(kept, func(a, b netip.Addr) int {
		if (a == first) != (b == first) {
			if a == first {
				return -1
			}
			return 1
		}
		return a.Compare(b)
	})
	return slices.Compact(kept)
}

// wayOut returns the address from which this machine would reach other
// networks, the zero Addr if it has none. Nothing is sent: the system only
// looks into its routes. 192.0.2.1 belongs to nobody (RFC 5737).
func wayOut() netip.Addr {
	conn, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return netip.Addr{}
	}
	defer conn.Close()
	return localEnd(conn)
}

// localEnd returns the address at which conn reaches this machine, the zero
// Addr if it has none.
func localEnd(conn net.Conn) netip.Addr {
	end, err := netip.ParseAddrPort(conn.LocalAddr().String())
	if err != nil {
		return netip.Addr{}
	}
	return end.Addr().Unmap()
}

// A machine is what phones on the local network may call this server.
type machine struct {
	names     []string // host names, the host's own first
	addresses []netip.Addr
}

// thisMachine looks at names and addresses as they are now.
func thisMachine() machine {
	name, err := os.Hostname()
	if err != nil {
		name = ""
	}
	return machine{names: namesOf(name), addresses: Addresses()}
}

// namesOf returns the names by which others may call a machine that calls
// itself host: host itself, without its domain, and by multicast DNS (RFC 6762).
func namesOf(host string) []string {
	full, ok := hostName(host)
	if !ok || full == "localhost" {
		return nil
	}
	short, _, _ := strings.Cut(full, ".")
	names := []string{full}
	if short != full {
		names = append(names, short)
	}
	if local := short + ".local"; local != full {
		names = append(names, local)
	}
	return names
}
