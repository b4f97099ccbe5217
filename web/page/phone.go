package page

import (
	"encoding/json"
	"strconv"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/planner"
	"ropewalk.example/web/part"
)

// A Phone says for whom an athlete's page is. The zero Phone is the empty page
// that a phone keeps for a hall without a signal: it names nobody, and the phone
// fills it from its own store.
type Phone struct{ Athlete uuid.UUID }

// Stored reports whether it is the empty page.
func (p Phone) Stored() bool { return p.Athlete == uuid.Nil }

// Choice is one answer to choose on a phone, as its pages and its store have it.
type Choice struct {
	Value string `json:"value"`
	Text  string `json:"text"`
	Adult bool   `json:"adult,omitempty"` // for minors only while an adult is there
}

func choiceOptions(choices []Choice) []part.Option {
	list := make([]part.Option, len(choices))
	for i, c := range choices {
		list[i] = part.Option{Value: c.Value, Text: c.Text}
	}
	return list
}

// PhoneSetup is what a test on a phone starts from.
type PhoneSetup struct {
	Test      string `json:"test"`
	Step      string `json:"step"`
	RopeKind  string `json:"rope"`
	Surface   string `json:"surface"`
	CountedBy string `json:"counted_by"`
}

// A Block is a stretch of a plan as a phone plays it: beats of work, or a rest.
type Block struct {
	Set     int     `json:"set"` // a rest counts to the set before it
	Kind    string  `json:"kind"`
	Seconds float64 `json:"seconds"`
	Beats   int     `json:"beats"` // jumps; 0 for a rest
}

// BlocksOf lists a plan's stretches for a phone.
func BlocksOf(p planner.Plan) []Block {
	treads := planner.Outline(p)
	blocks := make([]Block, len(treads))
	for i, t := range treads {
		blocks[i] = Block{Set: t.Set, Kind: string(t.Kind), Seconds: t.Seconds, Beats: t.Reps}
	}
	return blocks
}

// StillLine is the step line of a session before it begins.
func StillLine(p planner.Plan) part.StepLine {
	return part.StepLine{ID: "still", Title: "This session", Sentence: PlanSentence(p), Treads: TreadsOf(p)}
}

// LiveLine is the step line of a session that goes on.
func LiveLine(p planner.Plan) part.StepLine {
	return part.StepLine{ID: "line", Title: "This session", Sentence: PlanSentence(p), Treads: TreadsOf(p), Live: true}
}

// scriptWords hands words to a page's script.
func scriptWords(words map[string]string) string {
	text, err := json.Marshal(words)
	if err != nil {
		panic(err) // strings always marshal
	}
	return string(text)
}

func sessionWords() string {
	return scriptWords(map[string]string{
		"none":        "There is no plan on this phone. Open Today once with a signal.",
		"held":        "No jumping now: you told us about pain. Your coach lets you go on.",
		"lead":        "Get ready",
		"steady":      "Steady",
		"burst":       "Burst",
		"double":      "Double under",
		"rest":        "Rest",
		"seconds":     "seconds",
		"left":        "to go",
		"rpm":         "{rpm} rpm",
		"doubles":     "{jumps} jumps a minute · {rpm} rpm",
		"sets":        "Set {set} of {sets}",
		"last":        "Then you are done.",
		"then_rest":   "Then rest {seconds} s.",
		"then_steady": "Then {reps} at {rate}.",
		"then_burst":  "Then a burst: {reps} at {rate}.",
		"then_double": "Then double under: {reps} at {rate}.",
		"pause":       "Pause",
		"paused":      "Paused",
		"carry_on":    "Carry on",
		"ask":         "Set {set}",
		"told":        "{n} caught",
		"told_burst":  "{n} caught, {burst} in the bursts",
		"set_entry":   "Set {set}",
		"spot_entry":  "Where the rope stopped",
		"pain_entry":  "It hurts",
	})
}

func testScriptWords() string {
	return scriptWords(map[string]string{
		"adult":     "This test needs an adult in charge in the hall. Tick the box when there is one.",
		"chosen":    "The one you chose at {time}",
		"ready":     "Get ready",
		"left":      "seconds left",
		"over":      "Time. Stop tapping.",
		"going":     "seconds so far",
		"pad1":      "Tap at every rotation",
		"pad2":      "Tap at every second rotation",
		"catches":   "Catches: {n}",
		"filled":    "{n} taps were missed and filled in.",
		"no_taps":   "No taps, so the time lost to catches is not known.",
		"entry":     "{n} rotations in {seconds} s",
		"run_entry": "{n} clean in a row",
		"full":      "This phone's storage is full. Your count is still here: write it down, or make room and save again.",
		"not_kept":  "This phone did not keep the count. It is still here: write it down, then try again.",
	})
}

func unsentWords() string {
	return scriptWords(map[string]string{
		"result":     "Test",
		"correction": "Changed test",
		"debrief":    "How it went",
		"set":        "Set",
		"catch_note": "Catch",
		"sure":       "Yes, throw it away",
		"other":      "1 entry of somebody else waits here. It is sent when that person signs in.",
		"others":     "{n} entries of somebody else wait here. They are sent when that person signs in.",
		"no_signal":  "No answer from the gym. Your entries stay here and are sent later.",
	})
}

// spotOptions are the places where a rope stops, in our words.
func spotOptions() []part.Option {
	words := map[ladder.Spot]string{ladder.Toes: "Toes", ladder.Shins: "Shins", ladder.Heels: "Heels", ladder.Arms: "Arms", ladder.Head: "Head", ladder.Floor: "Floor"}
	var list []part.Option
	for _, spot := range ladder.Spots() {
		list = append(list, part.Option{Value: string(spot), Text: words[spot]})
	}
	return list
}

// hurtPlaces are the places that jumping hurts most often, largest first.
func hurtPlaces() []part.Option { return placeOptions()[1:] }

// strongerPain are the answers for who stopped because of pain: it is clearly
// felt at least.
func strongerPain() []part.Option { return painOptions()[3:] }

// mateOptions are the class-mates whom one may count for.
func mateOptions(mates []gym.Athlete) []part.Option {
	list := []part.Option{{Text: "Choose"}}
	for _, mate := range mates {
		list = append(list, part.Option{Value: mate.AthleteID.String(), Text: mate.Name})
	}
	return list
}

func catchCounts() []int { return []int{0, 1, 2, 3, 4, 5} }

func number(n int) string { return strconv.Itoa(n) }

// CorrectableResult is a result that an athlete may correct on the phone.
type CorrectableResult struct {
	Result gym.Result
	Text   string // "Base rate, 60 s"
}

func countOf(r gym.Result) string {
	if r.Rotations == nil {
		return ""
	}
	return number(*r.Rotations)
}

// wrongNumber tells a page's script what to say of a field that is no whole
// number up to most.
func wrongNumber(most int, text string) templ.Attributes {
	return templ.Attributes{"data-wrong": text, "data-most": number(most)}
}
