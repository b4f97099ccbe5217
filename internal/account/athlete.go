package account

import (
	"context"
	"strings"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// wrongPIN is one answer for every way in which a PIN does not open the door.
var wrongPIN = problem.New(problem.Invalid, "That PIN does not match. Check your card, or ask your coach for a new one.")

// EnterClass returns the class behind a typed code. Who guesses at codes is not in
// the way of the gym's own phones.
func (a *Accounts) EnterClass(ctx context.Context, door Door, code string) (gymID, classID uuid.UUID, err error) {
	gymID, classID, found, err := a.Store.ClassByCode(ctx, FoldCode(code))
	if err != nil {
		return uuid.Nil, uuid.Nil, err
	}
	if found {
		if _, known, err := a.phoneAt(ctx, door, gymID); err != nil || known {
			return gymID, classID, err
		}
	}
	if err := a.mayTryFrom(ctx, door, byClassCode); err != nil {
		return uuid.Nil, uuid.Nil, err
	}
	if !found {
		return uuid.Nil, uuid.Nil, a.wrong(ctx, door, byClassCode, problem.New(problem.Invalid, "No class has that code. Look at the card or ask your coach."))
	}
	return gymID, classID, nil
}

// SignInAthlete returns the athlete of the class who has that PIN. On the
// athlete's own phone neither class-mates who guess nor the rest of the network
// are in the way.
func (a *Accounts) SignInAthlete(ctx context.Context, door Door, gymID, classID, athleteID uuid.UUID, pin string) (gym.Athlete, error) {
	home, err := a.homeOf(ctx, door, gymID, athleteID)
	if err != nil {
		return gym.Athlete{}, err
	}
	if home == "" {
		if err := a.mayTryFrom(ctx, door, byPIN+classID.String()); err != nil {
			return gym.Athlete{}, err
		}
	}
	subject := pinSubject(gymID, athleteID, home)
	if err := a.try(ctx, subject); err != nil {
		return gym.Athlete{}, err
	}
	var athletes []gym.Athlete
	if err := a.Store.Read(ctx, gymID, store.AthletesOf(classID, &athletes)); err != nil {
		return gym.Athlete{}, err
	}
	var found gym.Athlete
	for _, athlete := range athletes {
		if athlete.AthleteID == athleteID {
			found = athlete
		}
	}
	hash, err := a.Store.PINHash(ctx, gymID, found.AthleteID)
	if err != nil {
		return gym.Athlete{}, err
	}
	matches, err := a.Hasher.Matches(ctx, strings.TrimSpace(pin), hash)
	if err != nil {
		return gym.Athlete{}, err
	}
	if !matches {
		return gym.Athlete{}, a.wrong(ctx, door, byPIN+classID.String(), wrongPIN)
	}
	return found, a.Store.ForgetTries(ctx, subject)
}

func pinSubject(gymID, athlete uuid.UUID, home string) string {
	return subjectAt("pin", gymID.String()+athlete.String(), home)
}

// phoneAt returns the door's phone if an athlete of the gym came in on it alone and
// it was not cut off.
func (a *Accounts) phoneAt(ctx context.Context, door Door, gymID uuid.UUID) (device gym.Device, known bool, err error) {
	id, err := uuid.Parse(door.Phone)
	if err != nil {
		return gym.Device{}, false, nil
	}
	err = a.Store.Read(ctx, gymID, store.Device(id, &device))
	if problem.KindOf(err) == problem.NotFound {
		return gym.Device{}, false, nil
	}
	return device, device.GuardianID == uuid.Nil && !device.Shared && device.CutOffAt == nil, err
}

// homeOf returns the door's phone if it is the athlete's own, "" otherwise. Whoever signs in on a phone of one's own gets
// no new tries at others by it. A phone that was wrong too often is like any.
func (a *Accounts) homeOf(ctx context.Context, door Door, gymID, athlete uuid.UUID) (string, error) {
	device, known, err := a.phoneAt(ctx, door, gymID)
	if err != nil || !known || device.AthleteID != athlete {
		return "", err
	}
	wrong, err := a.Store.TryCount(ctx, pinSubject(gymID, athlete, door.Phone))
	if err != nil || wrong >= mostTries {
		return "", err
	}
	return door.Phone, nil
}

// GivePINs sets the PIN of each athlete by id, and ends the sign-ins made with
// the old one.
func (a *Accounts) GivePINs(ctx context.Context, who gym.Who, pins map[string]string) error {
	hashes := make(map[uuid.UUID]string, len(pins))
	for id, pin := range pins {
		athlete, err := uuid.Parse(id)
		if err != nil {
			return problem.New(problem.NotFound, "There is no such athlete in this gym.")
		}
		if hashes[athlete], err = a.Hasher.HashPIN(ctx, pin); err != nil {
			return err
		}
	}
	for athlete := range hashes { // a new PIN opens a door that was tried too often
		if err := a.Store.ForgetTries(ctx, pinSubject(who.GymID, athlete, "")); err != nil {
			return err
		}
	}
	return a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		for athlete, hash := range hashes {
			if err := tx.SetPIN(ctx, athlete, hash); err != nil {
				return err
			}
			if err := tx.Note(ctx, uuid.Must(uuid.NewV7()), a.Now(), who.ID(), "gave a new PIN", "athlete", athlete); err != nil {
				return err
			}
		}
		return nil
	})
}
