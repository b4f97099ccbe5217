package ladder

// A Catch is one entry of the catch diary: what was noticed when the rope
// stopped. Whatever was not noticed is "".
type Catch struct {
	Day    Day
	Spot   Spot
	Timing Timing
	Hands  HandPlace
	Height Height
}

// A Spot is where the rope stopped.
type Spot string

// The spots.
const (
	Toes  Spot = "toes"  // in front of or under the toes
	Shins Spot = "shins" // on the shins
	Heels Spot = "heels" // behind or under the heels
	Head  Spot = "head"  // on the head, back or shoulders
	Arms  Spot = "arms"
	Floor Spot = "floor" // the rope dragged or bounced on the floor
)

// Spots lists the spots from the feet up, the floor last.
func Spots() []Spot { return []Spot{Toes, Shins, Heels, Arms, Head, Floor} }

// A Timing is when the wrists turned, against the jump.
type Timing string

// The timings.
const (
	Early  Timing = "early"
	InTime Timing = "in_time"
	Late   Timing = "late"
)

// Timings lists the timings.
func Timings() []Timing { return []Timing{Early, InTime, Late} }

// A HandPlace is where the hands were.
type HandPlace string

// The places of the hands.
const (
	HandsLevel  HandPlace = "level" // by the hips, both alike
	HandsHigh   HandPlace = "high"
	HandsWide   HandPlace = "wide"
	HandsUneven HandPlace = "uneven"
	HandsBehind HandPlace = "behind" // behind the hips
)

// HandPlaces lists the places of the hands.
func HandPlaces() []HandPlace {
	return []HandPlace{HandsLevel, HandsHigh, HandsWide, HandsUneven, HandsBehind}
}

// A Height is how high the jump was.
type Height string

// The heights.
const (
	TooLow      Height = "low"
	RightHeight Height = "right"
	TooHigh     Height = "high"
)

// Heights lists the heights.
func Heights() []Height { return []Height{TooLow, RightHeight, TooHigh} }

// A CueRule names the cue to try for catches that look like When; an empty part
// of When matches all. Its words are in the catalogue under Cue.
type CueRule struct {
	Cue  string
	When Catch
}

// CueRules lists the cues, one row each, the surest first: common practice, no
// source. Pulling early makes the rope catch; wide or high hands shorten the rope;
// as skill grows the jump gets lower and the speed comes from the wrists.
func CueRules() []CueRule {
	return []CueRule{
		{"jump_then_turn", Catch{Timing: Early}},
		{"listen_and_go", Catch{Timing: Late}},
		{"soft_spring", Catch{Spot: Toes, Height: TooLow}},
		{"soft_spring", Catch{Spot: Shins, Height: TooLow}},
		{"elbows_in", Catch{Hands: HandsWide}},
		{"hands_down", Catch{Hands: HandsHigh}},
		{"thumbs_level", Catch{Hands: HandsUneven}},
		{"hands_forward", Catch{Hands: HandsBehind}},
		{"jump_lower", Catch{Height: TooHigh}},
		{"feet_under", Catch{Spot: Heels}},
		{"check_length", Catch{Spot: Head}},
		{"rope_off_floor", Catch{Spot: Floor}},
		{"elbows_in", Catch{Spot: Arms}},
		{"listen_and_go", Catch{Spot: Toes}},
		{"soft_spring", Catch{Spot: Shins}},
	}
}

// A Suggestion is the one cue that the diary speaks for, with its reason: When
// describes Matched of the Of catches noted. Cue is "" when no cue stands out;
// Needed is then how many more notes it takes at least, 0 if the notes point
// everywhere.
type Suggestion struct {
	Cue     string
	When    Catch
	Matched int
	Of      int
	Needed  int
}

// What it takes before a cue is suggested: our caution, no source.
const (
	diaryLeast = 3  // catches noted
	diaryDays  = 28 // the newest ones that count
)

// SuggestCue returns the one cue to try from the catches noted in the four weeks
// up to today, in any order: the row of [CueRules] that describes most of them,
// the earlier row if two do, as long as it describes a third of them and two at
// least. One cue, because nobody can think of two things while jumping.
func SuggestCue(catches []Catch, today Day) Suggestion {
	var s Suggestion
	matched := make([]int, len(CueRules()))
	for _, c := range catches {
		if c.Day > today || c.Day <= today-diaryDays {
			continue
		}
		s.Of++
		for i, rule := range CueRules() {
			if c.looksLike(rule.When) {
				matched[i]++
			}
		}
	}
	if s.Of < diaryLeast {
		s.Needed = diaryLeast - s.Of
		return s
	}
	for i, rule := range CueRules() {
		if n := matched[i]; n > s.Matched && n >= 2 && 3*n >= s.Of {
			s.Cue, s.When, s.Matched = rule.Cue, rule.When, n
		}
	}
	return s
}

// looksLike reports whether c has every part that when has.
func (c Catch) looksLike(when Catch) bool {
	return (when.Spot == "" || when.Spot == c.Spot) &&
		(when.Timing == "" || when.Timing == c.Timing) &&
		(when.Hands == "" || when.Hands == c.Hands) &&
		(when.Height == "" || when.Height == c.Height)
}
