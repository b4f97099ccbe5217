package certificate

import (
	"slices"
	"strings"
	"testing"

	"ropewalk.example/internal/problem"
)

func TestParse(t *testing.T) {
	tests := []struct {
		setting string
		mode    Mode
		names   []string
	}{
		{"", NoTLS, nil},
		{"  ", NoTLS, nil},
		{"own", OwnAuthority, nil},
		{" own ", OwnAuthority, nil},
		{"own:hall.home.arpa", OwnAuthority, []string{"hall.home.arpa"}},
		{"own: Hall.LAN , 192.168.1.20,hall.lan", OwnAuthority, []string{"hall.lan", "192.168.1.20"}},
		{"own:fd00::7", OwnAuthority, []string{"fd00::7"}},
		{"own:::ffff:10.0.0.7", OwnAuthority, []string{"10.0.0.7"}},
		{"own:größe.lan", OwnAuthority, []string{"xn--gre-6ka8i.lan"}},
		{"acme:hall.example.org", PublicAuthority, []string{"hall.example.org"}},
		{"acme:hall.example.org,rope.example.org", PublicAuthority, []string{"hall.example.org", "rope.example.org"}},
	}
	for _, test := range tests {
		mode, names, err := Parse(test.setting)
		if mode != test.mode || !slices.Equal(names, test.names) || err != nil {
			t.Errorf("Parse(%q) = %v, %q, %v; want %v, %q", test.setting, mode, names, err, test.mode, test.names)
		}
	}
}

func TestParseOfAWrongSetting(t *testing.T) {
	const (
		kinds  = "Write own, own:NAME or acme:NAME, or leave it out."
		local  = "Write host names such as hall.home.arpa after own:, or local addresses such as 192.168.1.20."
		public = "Write this server's public host name after acme:, such as hall.example.org."
	)
	tests := []struct{ name, setting, says string }{
		{"a switch", "yes", `says "yes". ` + kinds},
		{"another spelling", "Own", kinds},
		{"a name alone", "hall.example.org", kinds},
		{"no names after the colon", "own:", `names "". ` + local},
		{"a gap in the list", "own:hall.lan,,rope.lan", `names "". ` + local},
		{"a space in a name", "own:jump hall", `names "jump hall". ` + local},
		{"an underscore", "own:jump_hall", local},
		{"a web address", "own:https://hall.lan", local},
		{"a public address", "own:203.0.113.7", local},
		{"half an address", "own:192.168.1", local},
		{"an address with an interface", "own:fd00::7%eth0", local},
		{"a port", "own:hall.lan:8443", local},
		{"a label that is too long", "own:" + strings.Repeat("x", 64) + ".lan", local},
		{"acme without a name", "acme", kinds},
		{"acme with nothing", "acme:", public},
		{"acme for an address", "acme:203.0.113.7", public},
		{"acme for a name without a dot", "acme:hall", public},
		{"acme for a local name", "acme:hall.local", `names "hall.local". ` + public},
		{"acme for any name", "acme:*.example.org", public},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			mode, names, err := Parse(test.setting)
			if mode != NoTLS || names != nil || problem.KindOf(err) != problem.Invalid {
				t.Fatalf("Parse(%q) = %v, %q, %v", test.setting, mode, names, err)
			}
			if got := problem.MessageOf(err); !strings.HasPrefix(got, "ROPEWALK_TLS ") || !strings.HasSuffix(got, test.says) {
				t.Errorf("Parse(%q) says: %s", test.setting, got)
			}
		})
	}
}

// Names that were taken are taken again, unchanged, and fit into a certificate.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{"", "own", "own:hall.lan,10.0.0.7", "acme:hall.example.org", "own:größe.lan", "own:::1", "own:１０.0.0.7", "own:0\x9f"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, setting string) {
		mode, names, err := Parse(setting)
		if err != nil || len(names) == 0 {
			return
		}
		kind := map[Mode]string{OwnAuthority: "own:", PublicAuthority: "acme:"}[mode]
		again, namesAgain, err := Parse(kind + strings.Join(names, ","))
		if again != mode || !slices.Equal(namesAgain, names) || err != nil {
			t.Fatalf("Parse(%q) gave %q, which gave %v, %q, %v", setting, names, again, namesAgain, err)
		}
		if _, _, err := newRoot(nil, names, start); err != nil {
			t.Fatalf("an authority for %q: %v", names, err)
		}
	})
}
