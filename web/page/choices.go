package page

import (
	"fmt"
	"strconv"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/rate"
	"ropewalk.example/web/part"
)

// TestKey names a protocol with its window in one form value: "base 60".
func TestKey(protocol string, seconds float64) string {
	return protocol + " " + strconv.FormatFloat(seconds, 'g', -1, 64)
}

// TestOptions lists the timed tests with their windows.
func TestOptions() []part.Option {
	var options []part.Option
	for _, p := range rate.Protocols() {
		if p.Measured != rate.Rotations {
			continue
		}
		for _, seconds := range p.Windows {
			options = append(options, part.Option{Value: TestKey(p.Key, seconds), Text: fmt.Sprintf("%s, %s", p.Name, part.Seconds(seconds))})
		}
	}
	return options
}

func testWords(setup TestSetup) string {
	test := setup.Test
	for _, option := range TestOptions() {
		if option.Value == setup.Test {
			test = option.Text
		}
	}
	return fmt.Sprintf("%s · %s · %s · %s · counted by the %s", test, stepWord(setup.Step), ropeWord(setup.RopeKind), surfaceWord(setup.Surface), counterWord(setup.CountedBy))
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
