package gym

import (
	"time"

	"github.com/google/uuid"
)

// Rules are one setting of the numbers that a gym may change, as kept. The
// newest of a gym is in force; older ones stay.
type Rules struct {
	RulesID uuid.UUID
	Rules   []byte // JSON, as package coaching reads it
	Reason  string
	SetAt   time.Time
	SetBy   uuid.UUID
}
