package page

import (
	"strconv"
	"strings"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
	"ropewalk.example/web/part"
)

// TestKey names a protocol with its window in one form value: "base 60", or the
// protocol alone where it has none.
func TestKey(protocol string, seconds float64) string {
	if seconds == 0 {
		return protocol
	}
	return protocol + " " + strconv.FormatFloat(seconds, 'g', -1, 64)
}

// WindowOptions lists the times that a test may take, none for one without.
func WindowOptions(p rate.Protocol) []part.Option {
	var options []part.Option
	for _, seconds := range p.Windows {
		options = append(options, part.Option{Value: TestKey(p.Key, seconds), Text: part.Seconds(seconds)})
	}
	return options
}

func windowWord(p rate.Protocol) string {
	if p.Measured == rate.Bouts {
		return "Each bout"
	}
	return "Time"
}

// testWords says what a class's test is set up as.
func testWords(setup TestSetup) string {
	p := setup.Protocol()
	words := []string{p.Name}
	for _, option := range WindowOptions(p) {
		if option.Value == setup.Test {
			words = append(words, option.Text)
		}
	}
	if FixedStep(p) == "" {
		words = append(words, stepWord(setup.Step))
	}
	if p.Key != rate.Flight {
		words = append(words, ropeWord(setup.RopeKind))
	}
	return strings.Join(append(words, surfaceWord(setup.Surface), "counted by the "+counterWord(setup.CountedBy)), " · ")
}

func stepOptions() []part.Option {
	var options []part.Option
	for _, step := range gym.Steps() {
		options = append(options, part.Option{Value: step, Text: stepWord(step)})
	}
	return options
}

func ropeOptions() []part.Option {
	options := []part.Option{{Value: "", Text: ropeWord("")}}
	for _, kind := range gym.RopeKinds() {
		options = append(options, part.Option{Value: kind, Text: ropeWord(kind)})
	}
	return options
}

func surfaceOptions() []part.Option {
	var options []part.Option
	for _, surface := range gym.Surfaces() {
		options = append(options, part.Option{Value: surface, Text: surfaceWord(surface)})
	}
	return options
}

func counterOptions() []part.Option {
	return []part.Option{{Value: "partner", Text: "partner"}, {Value: "coach", Text: "coach"}, {Value: "self", Text: "the athlete"}}
}

func enterKey(i, n int) string {
	if i == n-1 {
		return "done"
	}
	return "next"
}

func endedWord(clean bool) string {
	if clean {
		return "stopped clean"
	}
	return "the rope caught"
}

func endedOptions() []part.Option {
	return []part.Option{{Value: EndedCaught, Text: endedWord(false)}, {Value: EndedClean, Text: endedWord(true)}}
}

// slowOptions say how a clip plays: phones film at 120 or 240 pictures a second
// and play 30.
func slowOptions() []part.Option {
	return []part.Option{{Value: "1", Text: "in real time"}, {Value: "2", Text: "2 times slower"}, {Value: "4", Text: "4 times slower"}, {Value: "8", Text: "8 times slower"}}
}
