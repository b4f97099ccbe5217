package account

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// CardLife is how long a card lets a phone in that nobody has used: a printed
// card is handed out within days, and a lost one shall not open anything in the
// next term.
const CardLife = 30 * 24 * time.Hour

// secretBytes of a card: 128 bits cannot be guessed, and still fit into a code
// that a phone reads from a metre away.
const secretBytes = 16

func newSecret() (secret string, hash []byte) {
	random := make([]byte, secretBytes)
	if _, err := rand.Read(random); err != nil {
		panic("account: no random numbers: " + err.Error()) // crypto/rand never returns one
	}
	secret = base64.RawURLEncoding.EncodeToString(random)
	return secret, hashSecret(secret)
}

func hashSecret(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}

// MakeCards makes a card for each of the athletes, which lets one phone in, and
// returns the secrets by athlete. They are shown this once; older cards that
// nobody has used stop working.
func (a *Accounts) MakeCards(ctx context.Context, who gym.Who, athletes []uuid.UUID) (map[uuid.UUID]string, error) {
	secrets := make(map[uuid.UUID]string, len(athletes))
	var cards []store.NewCard
	for _, athlete := range athletes {
		card, secret := a.newCard(who, athlete, uuid.Nil)
		cards, secrets[athlete] = append(cards, card), secret
	}
	return secrets, a.keepCards(ctx, who, cards)
}

func (a *Accounts) newCard(who gym.Who, athlete, guardian uuid.UUID) (store.NewCard, string) {
	secret, hash := newSecret()
	now := a.Now()
	return store.NewCard{SecretHash: hash, Card: gym.Card{CardID: uuid.Must(uuid.NewV7()), AthleteID: athlete, GuardianID: guardian,
		MadeAt: now, MadeBy: who.ID(), ExpiresAt: now.Add(CardLife)}}, secret
}

func (a *Accounts) keepCards(ctx context.Context, who gym.Who, cards []store.NewCard) error {
	if len(cards) == 0 {
		return nil
	}
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddCards(ctx, cards, a.Now()); err != nil {
			return err
		}
		for _, card := range cards {
			if err := tx.Note(ctx, uuid.Must(uuid.NewV7()), a.Now(), who.ID(), "made a card", "athlete", card.AthleteID); err != nil {
				return err
			}
		}
		return nil
	})
}

// closedCard is one answer for every card that opens nothing.
var closedCard = problem.New(problem.NotFound, "This card was used already, or a newer one took its place. Ask your coach for a new card.")

// A Holder is whom a card is for, as far as somebody may know who holds only
// the card.
type Holder struct {
	GymName  string
	Initials string
	Guardian bool // the card is for a parent or guardian
}

// WhoseCard says whom the card with that secret is for. It changes nothing.
func (a *Accounts) WhoseCard(ctx context.Context, secret string) (Holder, error) {
	found, err := a.openCard(ctx, secret)
	if err != nil {
		return Holder{}, err
	}
	return Holder{GymName: found.gym.Name, Initials: Initials(found.athlete.Name), Guardian: found.card.GuardianID != uuid.Nil}, nil
}

// foundCard is a card that opens, with what it leads to.
type foundCard struct {
	gym      gym.Gym
	card     gym.Card
	athlete  gym.Athlete
	consents []gym.Consent
	guardian gym.Guardianship
}

func (a *Accounts) openCard(ctx context.Context, secret string) (foundCard, error) {
	gymID, cardID, known, err := a.Store.CardBySecret(ctx, hashSecret(secret))
	if err != nil {
		return foundCard{}, err
	}
	if !known {
		return foundCard{}, closedCard
	}
	var found foundCard
	if err := a.Store.Read(ctx, gymID, store.TheGym(&found.gym), store.Card(cardID, &found.card)); err != nil {
		return foundCard{}, err
	}
	if !found.card.Open(a.Now()) {
		return foundCard{}, closedCard
	}
	readings := []store.Reading{store.Athlete(found.card.AthleteID, &found.athlete), store.ConsentsOf(found.card.AthleteID, &found.consents)}
	if found.card.GuardianID != uuid.Nil {
		readings = append(readings, store.Guardian(found.card.GuardianID, &found.guardian))
	}
	return found, a.Store.Read(ctx, gymID, readings...)
}

// UseCard spends a card on a phone and returns who comes in. label is the kind
// of phone. Of many at once exactly one gets in.
func (a *Accounts) UseCard(ctx context.Context, secret, label string) (gym.Who, error) {
	found, err := a.openCard(ctx, secret)
	if err != nil {
		return gym.Who{}, err
	}
	who := gym.Who{GymID: found.gym.GymID, AthleteID: found.athlete.AthleteID, Role: gym.Jumper, Name: found.athlete.Name, DeviceID: uuid.Must(uuid.NewV7())}
	if found.card.GuardianID != uuid.Nil {
		who.Role, who.PersonID, who.Name = gym.Guardian, found.guardian.GuardianID, found.guardian.Name
	} else if err := a.mayEnter(found.gym, found.athlete, found.consents); err != nil {
		return gym.Who{}, err
	}
	now := a.Now()
	err = a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		device := gym.Device{DeviceID: who.DeviceID, AthleteID: found.athlete.AthleteID, GuardianID: found.card.GuardianID, Label: label, LetInAt: now}
		if err := tx.AddDevice(ctx, device); err != nil {
			return err
		}
		ok, err := tx.UseCard(ctx, found.card.CardID, device.DeviceID, now)
		if err != nil {
			return err
		}
		if !ok {
			return closedCard
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "let a phone in by card", "device", device.DeviceID)
	})
	return who, err
}

// LetIn keeps the phone on which an athlete gave the right PIN, and returns who
// comes in. On a shared one sign-ins are short.
func (a *Accounts) LetIn(ctx context.Context, gymID uuid.UUID, athlete gym.Athlete, label string, shared bool) (gym.Who, error) {
	var g gym.Gym
	var consents []gym.Consent
	if err := a.Store.Read(ctx, gymID, store.TheGym(&g), store.ConsentsOf(athlete.AthleteID, &consents)); err != nil {
		return gym.Who{}, err
	}
	if err := a.mayEnter(g, athlete, consents); err != nil {
		return gym.Who{}, err
	}
	now := a.Now()
	who := gym.Who{GymID: gymID, AthleteID: athlete.AthleteID, Role: gym.Jumper, Name: athlete.Name, DeviceID: uuid.Must(uuid.NewV7())}
	return who, a.Store.Write(ctx, gymID, func(tx *store.Tx) error {
		device := gym.Device{DeviceID: who.DeviceID, AthleteID: athlete.AthleteID, Label: label, Shared: shared, LetInAt: now}
		if err := tx.AddDevice(ctx, device); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "let a phone in by PIN", "device", device.DeviceID)
	})
}

// CutOff shuts a phone out at once.
func (a *Accounts) CutOff(ctx context.Context, who gym.Who, device uuid.UUID) error {
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.CutOff(ctx, device, a.Now(), who.ID()); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), a.Now(), who.ID(), "cut a phone off", "device", device)
	})
}

// Initials returns the first letter of each part of a name, at most three:
// enough to know oneself by, too little to be known by.
func Initials(name string) string {
	initials, letters, inside := "", 0, false
	for i, r := range name {
		letter := unicode.IsLetter(r) || unicode.IsMark(r)
		if letter && !inside && letters < 3 {
			_, size := utf8.DecodeRuneInString(name[i:])
			initials += name[i:i+size] + "."
			letters++
		}
		inside = letter || r == '\'' || r == '’'
	}
	return initials
}
