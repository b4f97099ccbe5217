package certificate

import (
	"net"
	"net/netip"
	"slices"
	"testing"
)

func TestAddressesToShow(t *testing.T) {
	tests := []struct {
		name  string
		all   []string
		first string
		want  []string
	}{
		{"none", nil, "", nil},
		{"loopback and a public address only", []string{"127.0.0.1", "::1", "203.0.113.7", "2001:db8::7"}, "203.0.113.7", nil},
		{"the way out before a bridge", []string{"127.0.0.1", "172.17.0.1", "192.168.1.20"}, "192.168.1.20", []string{"192.168.1.20", "172.17.0.1"}},
		{"no way out", []string{"192.168.1.20", "10.0.0.7"}, "", []string{"10.0.0.7", "192.168.1.20"}},
		{"IPv4 before IPv6", []string{"fd00::7", "192.168.1.20"}, "", []string{"192.168.1.20", "fd00::7"}},
		{"an address on two interfaces", []string{"10.0.0.7", "192.168.1.20", "10.0.0.7"}, "192.168.1.20", []string{"192.168.1.20", "10.0.0.7"}},
		{"link-local, which browsers cannot open", []string{"169.254.3.4", "fe80::7"}, "", nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			first, _ := netip.ParseAddr(test.first)
			if got := onLocalNetworks(addresses(test.all...), first); !slices.Equal(got, addresses(test.want...)) {
				t.Errorf("shown are %v, want %v", got, test.want)
			}
		})
	}
}

func TestAddressesAreThisMachines(t *testing.T) {
	for _, address := range Addresses() {
		listener, err := net.Listen("tcp", netip.AddrPortFrom(address, 0).String())
		if err != nil {
			t.Errorf("%v is not an address of this machine: %v", address, err)
			continue
		}
		listener.Close()
	}
}

func TestNamesOfTheHost(t *testing.T) {
	tests := []struct {
		host string
		want []string
	}{
		{"Hall", []string{"hall", "hall.local"}},
		{"hall.local", []string{"hall.local", "hall"}},
		{"hall.club.example", []string{"hall.club.example", "hall", "hall.local"}},
		{"localhost", nil},
		{"jump_hall", nil}, // certificates cannot carry it
		{"", nil},
	}
	for _, test := range tests {
		if got := namesOf(test.host); !slices.Equal(got, test.want) {
			t.Errorf("names of %q are %q, want %q", test.host, got, test.want)
		}
	}
}

func addresses(texts ...string) []netip.Addr {
	var all []netip.Addr
	for _, text := range texts {
		all = append(all, netip.MustParseAddr(text))
	}
	return all
}
