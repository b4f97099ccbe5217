package account

import (
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
)

// fast makes hashing quick enough for tests; the settings are not under test.
var fast = argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}

func TestPasswordProblem(t *testing.T) {
	tests := []struct {
		name, password string
		names          []string
		fine           bool
	}{
		{"four words", "copper lantern tuesday fig", nil, true},
		{"no composition rules", "onlysmallletterswithnumbersleftout", nil, true},
		{"other script", "верёвка под потолком", nil, true},
		{"eleven signs", "elevensigns", nil, false},
		{"little but spaces", "rope      rack", nil, false},
		{"signs of any kind", "🪢 ねこ O'Hara ß…", nil, true},
		{"64 signs", strings.Repeat("wxyz", 16), nil, true},
		{"128 signs", strings.Repeat("wxyz", 32), nil, true},
		{"129 signs", strings.Repeat("wxyz", 32) + "a", nil, false},
		{"common", "passwordpassword", nil, false},
		{"common with capitals", "PasswordPassword", nil, false},
		{"the gym's name", "Tallowmere Rope Hall 2026", []string{"Tallowmere Rope Hall"}, false},
		{"one letter over and over", "aaaaaaaaaaaaaaaa", nil, false},
		{"too long to hash", string(make([]byte, 300)), nil, false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := PasswordProblem(test.password, test.names...); (got == "") != test.fine {
				t.Errorf("PasswordProblem(%q) = %q, fine should be %t", test.password, got, test.fine)
			}
		})
	}
}

func TestHasher(t *testing.T) {
	h, err := newHasher(fast)
	if err != nil {
		t.Fatal(err)
	}
	hash, err := h.Hash(t.Context(), "copper lantern")
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, secret, hash string
		want               bool
	}{
		{"right", "copper lantern", hash, true},
		{"wrong", "copper lamp", hash, false},
		{"nobody has it", "copper lantern", "", false},
		{"the stand-in for nobody", "no such person", "", false},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := h.Matches(t.Context(), test.secret, test.hash)
			if err != nil || got != test.want {
				t.Errorf("Matches = %t, %v; want %t", got, err, test.want)
			}
		})
	}
}

// The settings are at least what OWASP's Password Storage Cheat Sheet asks of
// argon2id, and a hash made with others is made anew.
func TestPasswordsAreHashedSlowly(t *testing.T) {
	h, err := NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	hash, err := h.Hash(t.Context(), "copper lantern")
	if err != nil {
		t.Fatal(err)
	}
	params, salt, key, err := argon2id.DecodeHash(hash)
	if err != nil || params.Memory < 19*1024 || params.Iterations < 2 || params.Parallelism < 1 || len(salt) < 16 || len(key) < 32 {
		t.Errorf("hashed with %+v, a salt of %d and a key of %d bytes, %v", params, len(salt), len(key), err)
	}
	old, err := argon2id.CreateHash("copper lantern", &fast)
	if err != nil {
		t.Fatal(err)
	}
	if !h.Outdated(old) || h.Outdated(hash) {
		t.Errorf("Outdated = %t for other settings, %t for these", h.Outdated(old), h.Outdated(hash))
	}
}

func TestWaitAfter(t *testing.T) {
	tests := []struct {
		tries int
		want  time.Duration
	}{
		{1, 0}, {4, 0}, {5, time.Second}, {6, 2 * time.Second}, {10, 32 * time.Second}, {17, time.Hour}, {5000, time.Hour},
	}
	for _, test := range tests {
		if got := waitAfter(test.tries); got != test.want {
			t.Errorf("waitAfter(%d) = %s, want %s", test.tries, got, test.want)
		}
	}
}

func TestFoldCode(t *testing.T) {
	code := NewCode(6)
	if len(code) != 6 || FoldCode(" "+code[:3]+"-"+code[3:]+" ") != code {
		t.Errorf("FoldCode does not find %q again", code)
	}
	if got := FoldCode("ab-23 c"); got != "AB23C" {
		t.Errorf("FoldCode = %q", got)
	}
}

func TestSignInNameProblem(t *testing.T) {
	for name, fine := range map[string]bool{"coach@gym.example": true, "Ｃoach@gym.example": true, "coach": false, "@gym": false, "a b@gym": false} {
		if got := SignInNameProblem(name); (got == "") != fine {
			t.Errorf("SignInNameProblem(%q) = %q", name, got)
		}
	}
}
