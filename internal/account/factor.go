package account

import (
	"context"
	"crypto/subtle"
	"encoding/base32"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/pquerna/otp/hotp"
	"github.com/pquerna/otp/totp"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// The second factor is a code of six digits that changes every half minute, as
// common apps on phones compute it (RFC 6238). One step early or late is borne
// for clocks that differ (section 5.2 there), and no code works twice.
const (
	stepSeconds = 30
	stepsApart  = 1
)

// Recovery codes stand in for a lost phone: ten of 79 random bits, one use each.
const (
	recoveryCodes     = 10
	recoveryCodeSigns = 16
)

// A FactorOffer is what an app on a phone needs to compute codes.
type FactorOffer struct {
	URI    string // otpauth://, for the QR code
	Secret string // the same, to type
}

// HasFactor reports whether the person has proved a second factor.
func (a *Accounts) HasFactor(ctx context.Context, person uuid.UUID) (bool, error) {
	factor, found, err := a.Store.SecondFactorOf(ctx, person)
	return found && factor.ConfirmedAt != nil, err
}

// OfferFactor returns the secret that the person's app is to take, the same one
// until it is proved.
func (a *Accounts) OfferFactor(ctx context.Context, person uuid.UUID, gymName string) (FactorOffer, error) {
	p, err := a.Store.Person(ctx, person)
	if err != nil {
		return FactorOffer{}, err
	}
	factor, found, err := a.Store.SecondFactorOf(ctx, person)
	if err != nil {
		return FactorOffer{}, err
	}
	if found && factor.ConfirmedAt != nil {
		return FactorOffer{}, problem.New(problem.Conflict, "You have a second factor already. Take it off first, then set up a new one.")
	}
	options := totp.GenerateOpts{Issuer: "Ropewalk " + gymName, AccountName: p.SignInName, Period: stepSeconds}
	if found {
		if options.Secret, err = base32.StdEncoding.WithPadding(base32.NoPadding).DecodeString(factor.Secret); err != nil {
			return FactorOffer{}, fmt.Errorf("reading a second factor: %w", err)
		}
	}
	key, err := totp.Generate(options)
	if err != nil {
		return FactorOffer{}, fmt.Errorf("making a second factor: %w", err)
	}
	if !found {
		if err := a.Store.OfferSecondFactor(ctx, person, key.Secret(), a.Now()); err != nil {
			return FactorOffer{}, err
		}
	}
	return FactorOffer{URI: key.URL(), Secret: key.Secret()}, nil
}

// wrongCode is one answer for every code that proves nothing.
var wrongCode = problem.Form(map[string]string{"code": "That code does not match. Type the newest one that your app shows."})

// ConfirmFactor makes the offered factor count once its code is right, and
// returns the codes for a lost phone, shown this once.
func (a *Accounts) ConfirmFactor(ctx context.Context, door Door, who gym.Who, person uuid.UUID, code string) ([]string, error) {
	if err := a.proveCode(ctx, door, person, code, false); err != nil {
		return nil, err
	}
	codes, hashes := newRecoveryCodes()
	return codes, a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.ConfirmSecondFactor(ctx, person, a.Now(), hashes); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), a.Now(), person, setUpFactor, "person", person)
	})
}

// ProveFactor lets a person in whose password was right: code is the app's, or
// one of the codes on paper.
func (a *Accounts) ProveFactor(ctx context.Context, door Door, person uuid.UUID, code string) error {
	return a.proveCode(ctx, door, person, code, true)
}

func (a *Accounts) proveCode(ctx context.Context, door Door, person uuid.UUID, code string, paper bool) error {
	if err := a.mayTryFrom(ctx, door, bySecond); err != nil {
		return err
	}
	subject := subjectOf("second factor", person.String())
	if err := a.try(ctx, subject); err != nil {
		return err
	}
	right, err := a.rightCode(ctx, person, code, paper)
	if err != nil {
		return err
	}
	if !right {
		return a.wrong(ctx, door, bySecond, wrongCode)
	}
	return a.Store.ForgetTries(ctx, subject)
}

func (a *Accounts) rightCode(ctx context.Context, person uuid.UUID, code string, paper bool) (bool, error) {
	factor, found, err := a.Store.SecondFactorOf(ctx, person)
	if err != nil || !found {
		return false, err
	}
	digits := strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return -1
		}
		return r
	}, code)
	if len(digits) == 6 {
		step, ok, err := stepOf(factor.Secret, digits, a.realNow())
		if err != nil || !ok {
			return false, err
		}
		return a.Store.UseStep(ctx, person, step)
	}
	if !paper || len(FoldCode(code)) != recoveryCodeSigns {
		return false, nil
	}
	return a.Store.UseRecoveryCode(ctx, person, hashCode(code), a.Now())
}

// stepOf returns the half minute whose code digits are.
func stepOf(secret, digits string, now time.Time) (step int64, ok bool, err error) {
	here := now.Unix() / stepSeconds
	for step := here - stepsApart; step <= here+stepsApart; step++ {
		code, err := hotp.GenerateCode(secret, uint64(step))
		if err != nil {
			return 0, false, fmt.Errorf("computing a code: %w", err)
		}
		if subtle.ConstantTimeCompare([]byte(code), []byte(digits)) == 1 {
			return step, true, nil
		}
	}
	return 0, false, nil
}

// realNow is the world's clock, which apps on phones go by; the demo's stands
// elsewhere.
func (a *Accounts) realNow() time.Time {
	if a.Clock != nil {
		return a.Clock()
	}
	return time.Now()
}

func newRecoveryCodes() (codes []string, hashes [][]byte) {
	for range recoveryCodes {
		code := NewCode(recoveryCodeSigns)
		codes, hashes = append(codes, inFours(code)), append(hashes, hashCode(code))
	}
	return codes, hashes
}

// inFours sets a code of sixteen signs in groups that are easily copied.
func inFours(code string) string {
	var groups []string
	for len(code) > 4 {
		groups, code = append(groups, code[:4]), code[4:]
	}
	return strings.Join(append(groups, code), "-")
}

// NewRecoveryCodes replaces the codes on paper, for somebody who typed the
// password once more.
func (a *Accounts) NewRecoveryCodes(ctx context.Context, door Door, who gym.Who, person uuid.UUID, password string) ([]string, error) {
	if err := a.Again(ctx, door, person, password); err != nil {
		return nil, err
	}
	codes, hashes := newRecoveryCodes()
	return codes, a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.ReplaceRecoveryCodes(ctx, person, a.Now(), hashes); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), a.Now(), person, madeRecoveryCodes, "person", person)
	})
}

// RemoveFactor takes the own second factor off, for somebody who typed the
// password once more.
func (a *Accounts) RemoveFactor(ctx context.Context, door Door, who gym.Who, person uuid.UUID, password string) error {
	if err := a.Again(ctx, door, person, password); err != nil {
		return err
	}
	if err := a.Store.RemoveSecondFactor(ctx, person); err != nil {
		return err
	}
	return a.note(ctx, who.GymID, person, tookFactorOff, "person", person)
}

// PostponeFactors sets whether the gym's staff are asked for a second factor
// later.
func (a *Accounts) PostponeFactors(ctx context.Context, who gym.Who, postponed bool) error {
	action := "asked staff for a second factor"
	if postponed {
		action = "postponed the second factor"
	}
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.PostponeSecondFactor(ctx, postponed); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), a.Now(), who.ID(), action, "gym", who.GymID)
	})
}
