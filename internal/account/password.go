package account

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"math/big"
	"runtime"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"golang.org/x/text/unicode/norm"
)

// A Hasher hashes passwords and PINs with argon2id. It runs at most one hash
// per processor at a time, so that many sign-ins at once cost bounded memory.
type Hasher struct {
	params argon2id.Params
	turns  chan struct{}
	dummy  string
}

// NewHasher returns a Hasher at 19 MiB, two passes, one lane: OWASP Password
// Storage Cheat Sheet, one of its equal-strength settings for argon2id.
func NewHasher() (*Hasher, error) {
	return newHasher(argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32})
}

func newHasher(params argon2id.Params) (*Hasher, error) {
	dummy, err := argon2id.CreateHash("no such person", &params)
	if err != nil {
		return nil, fmt.Errorf("preparing password hashes: %w", err)
	}
	return &Hasher{params: params, turns: make(chan struct{}, runtime.NumCPU()), dummy: dummy}, nil
}

// Hash returns the PHC string of a password.
func (h *Hasher) Hash(ctx context.Context, password string) (string, error) {
	return h.hash(ctx, password, &h.params)
}

// HashPIN returns the PHC string of a PIN. It is quick on purpose: with ten
// thousand PINs in all, what guards them is the count of wrong tries, and a
// roster brings thousands at once.
func (h *Hasher) HashPIN(ctx context.Context, pin string) (string, error) {
	return h.hash(ctx, pin, &argon2id.Params{Memory: 1024, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32})
}

func (h *Hasher) hash(ctx context.Context, secret string, params *argon2id.Params) (string, error) {
	if err := h.wait(ctx); err != nil {
		return "", err
	}
	defer h.done()
	hash, err := argon2id.CreateHash(norm.NFKC.String(secret), params)
	if err != nil {
		return "", fmt.Errorf("hashing a password: %w", err)
	}
	return hash, nil
}

// Matches reports whether secret has that hash. An empty hash never matches
// but takes as long, so that time does not tell who exists.
func (h *Hasher) Matches(ctx context.Context, secret, hash string) (bool, error) {
	if err := h.wait(ctx); err != nil {
		return false, err
	}
	defer h.done()
	known := hash != ""
	if !known {
		hash = h.dummy
	}
	same, err := argon2id.ComparePasswordAndHash(norm.NFKC.String(secret), hash)
	if err != nil {
		return false, fmt.Errorf("comparing a password: %w", err)
	}
	return same && known, nil
}

// Outdated reports whether a password's hash was made with other settings than
// today's.
func (h *Hasher) Outdated(hash string) bool {
	params, _, _, err := argon2id.DecodeHash(hash)
	return err == nil && (params.Memory != h.params.Memory || params.Iterations != h.params.Iterations || params.Parallelism != h.params.Parallelism)
}

func (h *Hasher) wait(ctx context.Context) error {
	select {
	case h.turns <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (h *Hasher) done() { <-h.turns }

// The shortest and longest password: NIST SP 800-63B-4 asks for at least 8
// with a second factor and 15 without, and OWASP ASVS 4.0.3, 2.1.1 and 2.1.2, for
// 12 to 128, spaces in a row counted once. The longest bounds the work.
const (
	minPasswordRunes = 12
	maxPasswordRunes = 128
)

//go:embed common_passwords.txt
var commonPasswords string

// PasswordProblem says what is wrong with a new password, "" if nothing is.
// names are words it may not consist of, such as the gym's or the person's.
func PasswordProblem(password string, names ...string) string {
	if utf8.RuneCountInString(password) > maxPasswordRunes {
		return fmt.Sprintf("Use a password of at most %d letters and signs.", maxPasswordRunes)
	}
	if utf8.RuneCountInString(strings.Join(strings.Fields(norm.NFKC.String(password)), " ")) < minPasswordRunes {
		return fmt.Sprintf("Use at least %d letters or signs. A few words in a row are fine.", minPasswordRunes)
	}
	folded := FoldSignIn(password)
	if slices.Contains(strings.Fields(commonPasswords), folded) {
		return "Many people use that password, so it is guessed first. Choose another."
	}
	for _, name := range names {
		if name = FoldSignIn(name); name != "" && strings.Trim(strings.ReplaceAll(folded, name, ""), " 0123456789!.-_") == "" {
			return "That password is made of your own or the gym's name. Choose another."
		}
	}
	if len(slices.Compact(slices.Sorted(slices.Values([]rune(folded))))) < 4 {
		return "That password repeats the same few signs. Choose another."
	}
	return ""
}

// codeAlphabet leaves out signs that are read wrongly from a card: 0 O 1 I L.
const codeAlphabet = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

// NewCode returns n random signs that are easily read and typed.
func NewCode(n int) string { return pick(codeAlphabet, n) }

// NewPIN returns four random digits.
func NewPIN() string { return pick("0123456789", 4) }

func pick(alphabet string, n int) string {
	var b strings.Builder
	for range n {
		i, err := rand.Int(rand.Reader, big.NewInt(int64(len(alphabet))))
		if err != nil {
			panic("account: no random numbers: " + err.Error()) // crypto/rand never returns one
		}
		b.WriteByte(alphabet[i.Int64()])
	}
	return b.String()
}

// FoldCode returns the form in which a typed code is looked up.
func FoldCode(code string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(codeAlphabet, r) {
			return r
		}
		return -1
	}, strings.ToUpper(code))
}

// hashCode hashes a one-time code of enough random signs to need no salt.
func hashCode(code string) []byte {
	sum := sha256.Sum256([]byte(FoldCode(code)))
	return sum[:]
}

// subjectOf names what is tried, without keeping it readable.
func subjectOf(kind, what string) string {
	sum := sha256.Sum256([]byte(kind + "\x00" + what))
	return kind + ":" + hex.EncodeToString(sum[:12])
}
