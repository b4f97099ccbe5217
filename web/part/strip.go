package part

// Strip is which of some meetings somebody came to, in order: a full square for
// here, an open one with a stroke for away, a dot where nobody noted it.
type Strip struct {
	ID      string
	Title   string
	Finding string
	Marks   []StripMark
}

// StripMark is one meeting.
type StripMark struct {
	When  string // "Tue 3 Nov"
	State Presence
}

// Presence says whether somebody was there.
type Presence int

// The presences.
const (
	NotNoted Presence = iota
	WasHere
	WasAway
)

// Text is the presence in words.
func (p Presence) Text() string {
	switch p {
	case WasHere:
		return "Here"
	case WasAway:
		return "Away"
	default:
		return "Not noted"
	}
}

// shape draws the presence around the origin.
func (p Presence) shape() string {
	switch p {
	case WasHere:
		return "M-7-7h14v14h-14z"
	case WasAway:
		return "M-6-6h12v12h-12zM-6 6L6-6"
	default:
		return "M-2 0a2 2 0 1 0 4 0a2 2 0 1 0-4 0"
	}
}

func (p Presence) class() string {
	switch p {
	case WasHere:
		return "strip-here"
	case WasAway:
		return "strip-away"
	default:
		return "strip-none"
	}
}

// at is where mark i stands, as a share of the width.
func (s Strip) at(i int) float64 { return (float64(i) + 0.5) / float64(len(s.Marks)) }
