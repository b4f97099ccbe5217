package gym

import (
	"crypto/sha256"
	"encoding/hex"

	"github.com/google/uuid"
)

// A Purpose is what a parent or guardian agrees to. Each is asked by itself.
type Purpose string

// The purposes.
const (
	ToRecord   Purpose = "records" // keep counts, plans and what the athlete says of effort and pain
	ToUsePhone Purpose = "phone"   // let the athlete use an own phone for it
)

// Purposes lists what is asked, in order.
func Purposes() []Purpose { return []Purpose{ToRecord, ToUsePhone} }

// A Basis is what keeping data of an athlete rests on: the athlete's age and
// what was agreed to.
type Basis struct {
	AthleteID  uuid.UUID
	Name       string
	Lang       string // of the name
	BirthYear  int    // 0 when unknown
	ConsentAge int    // the gym's; 0: it asks nobody
	Records    bool
	Phone      bool
}

// Asked reports whether the gym asks a guardian of the athlete, in year.
func (b Basis) Asked(year int) bool {
	return Gym{ConsentAge: b.ConsentAge}.NeedsConsent(Athlete{BirthYear: b.BirthYear}, year)
}

// Allows reports whether the gym may do that for the athlete, in year. A phone
// is for records, so it needs both.
func (b Basis) Allows(purpose Purpose, year int) bool {
	return !b.Asked(year) || b.Records && (purpose == ToRecord || b.Phone)
}

// Agreed reports whether the newest of consents, newest first, says yes to the
// purpose.
func Agreed(consents []Consent, purpose Purpose) bool {
	for _, c := range consents {
		if c.Purpose == purpose {
			return c.Given
		}
	}
	return false
}

// Version names the wording that was agreed to: the first signs of its SHA-256.
func (c Consent) Version() string {
	sum := sha256.Sum256([]byte(c.Wording))
	return hex.EncodeToString(sum[:4])
}
