// Package account decides who somebody is: first owner, sign-in of staff by
// name and password, of athletes by class code, name and PIN, and how many
// wrong tries are borne. It uses the store; it knows no HTTP.
package account

import (
	"context"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"
	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Accounts answers sign-ins. All fields but Clock are required.
type Accounts struct {
	Store  *store.Store
	Hasher *Hasher
	Now    func() time.Time
	Clock  func() time.Time // the world's, by which phones compute codes; nil: this machine's
}

// FoldSignIn returns the form under which a sign-in name is kept and compared.
func FoldSignIn(name string) string {
	return cases.Fold().String(norm.NFKC.String(strings.TrimSpace(name)))
}

// wrongSignIn is one answer for an unknown name and a wrong password alike.
var wrongSignIn = problem.New(problem.Invalid, "That name and password do not match. Check both and try again.")

// SignIn returns the person and her memberships, or a problem: wrong name or
// password (one sentence for both), too many tries, or no gym. Who has a second
// factor is not in yet: ProveFactor.
func (a *Accounts) SignIn(ctx context.Context, door Door, name, password string) (gym.Person, []gym.Membership, error) {
	folded := FoldSignIn(name)
	person, _, err := a.Store.PersonBySignIn(ctx, folded)
	if err != nil {
		return gym.Person{}, nil, err
	}
	if err := a.matches(ctx, door, folded, person, password, wrongSignIn); err != nil {
		return gym.Person{}, nil, err
	}
	memberships, err := a.Store.MembershipsOf(ctx, person.PersonID)
	if err != nil {
		return gym.Person{}, nil, err
	}
	if len(memberships) == 0 {
		return gym.Person{}, nil, problem.New(problem.Forbidden, "You belong to no gym at the moment. Ask the owner of your gym to let you in again.")
	}
	return person, memberships, nil
}

// matches returns answer unless password is the person's. It takes its time for
// nobody, too, and counts the tries at the name, and those from the address
// unless the browser knows the person.
func (a *Accounts) matches(ctx context.Context, door Door, folded string, person gym.Person, password string, answer error) error {
	known, err := a.knows(ctx, door, person.PersonID)
	if err != nil {
		return err
	}
	home := ""
	if known {
		home = door.Browser
	} else if err := a.mayTryFrom(ctx, door, byPassword); err != nil {
		return err
	}
	subject := subjectAt("password", folded, home)
	if err := a.try(ctx, subject); err != nil {
		return err
	}
	matches, err := a.Hasher.Matches(ctx, password, person.PasswordHash)
	if err != nil {
		return err
	}
	if !matches {
		return a.wrong(ctx, door, byPassword, answer)
	}
	if a.Hasher.Outdated(person.PasswordHash) {
		hash, err := a.Hasher.Hash(ctx, password)
		if err != nil {
			return err
		}
		if err := a.Store.SetPassword(ctx, person.PersonID, hash); err != nil {
			return err
		}
	}
	return a.Store.ForgetTries(ctx, subject)
}

// knows reports whether the person came in before in the door's browser.
func (a *Accounts) knows(ctx context.Context, door Door, person uuid.UUID) (bool, error) {
	if door.Browser == "" || person == uuid.Nil {
		return false, nil
	}
	return a.Store.BrowserKnows(ctx, person, door.Browser)
}

// browserLife is how long a browser is remembered in which somebody came in.
const browserLife = 180 * 24 * time.Hour

// KnowBrowser remembers that the person came in here and returns the token that
// the browser keeps; "" if it has one that does.
func (a *Accounts) KnowBrowser(ctx context.Context, door Door, person uuid.UUID) (token string, err error) {
	known, err := a.knows(ctx, door, person)
	if err != nil || known {
		return "", err
	}
	token, _ = newSecret()
	return token, a.Store.KnowBrowser(ctx, person, token, time.Now().Add(browserLife)) // the real clock, like the cookie
}

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

// wrongPIN is one answer for every way in which a PIN does not open the door.
var wrongPIN = problem.New(problem.Invalid, "That PIN does not match. Check your card, or ask your coach for a new one.")

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

// FirstOwner is what the first page of an empty install asks for.
type FirstOwner struct {
	Code, GymName, TimeZone, Name, SignInName, Password string
	ConsentAge                                          int // under which a guardian agrees first; 0: nobody is asked
}

// Problems returns a message per field that needs mending.
func (f FirstOwner) Problems() map[string]string {
	problems := map[string]string{}
	if strings.TrimSpace(f.Code) == "" {
		problems["code"] = "Type the one-time code that the program printed when it started."
	}
	if strings.TrimSpace(f.GymName) == "" {
		problems["gym"] = "Type the name of your gym."
	}
	if _, err := time.LoadLocation(f.TimeZone); err != nil || f.TimeZone == "" || f.TimeZone == "Local" {
		problems["zone"] = "Choose a time zone from the list, like Europe/London."
	}
	if strings.TrimSpace(f.Name) == "" {
		problems["name"] = "Type your name."
	}
	if message := SignInNameProblem(f.SignInName); message != "" {
		problems["sign_in"] = message
	}
	if message := PasswordProblem(f.Password, f.GymName, f.Name, f.SignInName); message != "" {
		problems["password"] = message
	}
	if f.ConsentAge < 0 || f.ConsentAge > 21 {
		problems["consent_age"] = "Choose an age from the list."
	}
	return problems
}

// SignInNameProblem says what is wrong with a sign-in name, "" if nothing is.
func SignInNameProblem(name string) string {
	folded := FoldSignIn(name)
	before, after, at := strings.Cut(folded, "@")
	if !at || before == "" || after == "" || strings.ContainsAny(folded, " \t\r\n") || utf8.RuneCountInString(folded) > 200 {
		return "Type a name shaped like an e-mail address, like coach@gym.example. No mail is sent to it."
	}
	return ""
}

// MakeFirstOwner spends the one-time code and makes the gym and its owner.
func (a *Accounts) MakeFirstOwner(ctx context.Context, door Door, f FirstOwner) (gym.Who, error) {
	if err := problem.Form(f.Problems()); err != nil {
		return gym.Who{}, err
	}
	if err := a.mayTryFrom(ctx, door, byFirstCode); err != nil {
		return gym.Who{}, err
	}
	who := gym.Who{GymID: uuid.Must(uuid.NewV7()), PersonID: uuid.Must(uuid.NewV7()), Role: gym.Owner, Name: strings.TrimSpace(f.Name)}
	hash, err := a.Hasher.Hash(ctx, f.Password)
	if err != nil {
		return gym.Who{}, err
	}
	now := a.Now()
	err = a.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		ok, err := tx.UseFirstCode(ctx, hashCode(f.Code), now)
		if err != nil {
			return err
		}
		if !ok {
			return errFirstCode()
		}
		if err := tx.AddGym(ctx, gym.Gym{Name: strings.TrimSpace(f.GymName), TimeZone: f.TimeZone, AdultAge: 16, CreatedAt: now}); err != nil {
			return err
		}
		person := gym.Person{PersonID: who.PersonID, SignInName: FoldSignIn(f.SignInName), Name: who.Name, PasswordHash: hash, CreatedAt: now}
		if err := tx.SetConsentAge(ctx, f.ConsentAge); err != nil {
			return err
		}
		if err := tx.AddPerson(ctx, person); err != nil {
			return err
		}
		if err := tx.AddMembership(ctx, gym.Membership{PersonID: who.PersonID, Role: gym.Owner, Since: now}); err != nil {
			return err
		}
		if err := useShippedLadder(ctx, tx, now); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.PersonID, "made the gym", "gym", who.GymID)
	})
	if problem.KindOf(err) == problem.Invalid && problem.FieldsOf(err)["code"] != "" {
		return gym.Who{}, a.wrong(ctx, door, byFirstCode, err)
	}
	return who, err
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
