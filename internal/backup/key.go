package backup

import (
	"strings"

	"filippo.io/age"

	"ropewalk.example/internal/problem"
)

// Keys encrypt backups, and decrypt them where the secret half is known. The
// zero Keys leave backups as they are.
type Keys struct {
	recipients []age.Recipient
	identities []age.Identity
}

// ReadKeys reads keys of the age format: age1... to encrypt only, so that the
// machine itself cannot read its old backups, or AGE-SECRET-KEY-1... for both.
// Several stand with commas between.
func ReadKeys(text string) (Keys, error) {
	var keys Keys
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		if strings.HasPrefix(part, "age1") {
			recipients, err := age.ParseRecipients(strings.NewReader(part))
			if err != nil {
				return Keys{}, wrongKey()
			}
			keys.recipients = append(keys.recipients, recipients...)
			continue
		}
		identity, err := age.ParseX25519Identity(part)
		if err != nil {
			return Keys{}, wrongKey()
		}
		keys.identities = append(keys.identities, identity)
		keys.recipients = append(keys.recipients, identity.Recipient())
	}
	return keys, nil
}

// wrongKey repeats nothing of the key, which may be a secret.
func wrongKey() error {
	return problem.New(problem.Invalid, "The key of the backups cannot be read. It begins with age1 or AGE-SECRET-KEY-1; ropewalk backup key makes one.")
}

// Encrypt reports whether backups are encrypted.
func (k Keys) Encrypt() bool { return len(k.recipients) > 0 }

// NewKey returns a new pair: the public half for the server, the secret half to
// be kept somewhere else.
func NewKey() (public, secret string, err error) {
	identity, err := age.GenerateX25519Identity()
	if err != nil {
		return "", "", err
	}
	return identity.Recipient().String(), identity.String(), nil
}
