package page

import (
	"strings"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/web/part"
)

// unnoticed is the answer for whatever nobody saw.
const unnoticed = "not noticed"

func catchSpots() []part.Option {
	options := []part.Option{{Text: unnoticed}}
	for _, spot := range ladder.Spots() {
		options = append(options, part.Option{Value: string(spot), Text: SpotWord(spot)})
	}
	return options
}

// SpotWord names a spot in a word or two.
func SpotWord(spot ladder.Spot) string {
	switch spot {
	case ladder.Head:
		return "head or back"
	case ladder.Floor:
		return "dragged on the floor"
	}
	return string(spot)
}

func timingOptions() []part.Option {
	return []part.Option{{Text: unnoticed}, {Value: string(ladder.Early), Text: "too early"}, {Value: string(ladder.InTime), Text: "in time"},
		{Value: string(ladder.Late), Text: "too late"}}
}

func handOptions() []part.Option {
	return []part.Option{{Text: unnoticed}, {Value: string(ladder.HandsLevel), Text: "level, by the hips"}, {Value: string(ladder.HandsHigh), Text: "high"},
		{Value: string(ladder.HandsWide), Text: "wide"}, {Value: string(ladder.HandsUneven), Text: "uneven"}, {Value: string(ladder.HandsBehind), Text: "behind the hips"}}
}

func heightOptions() []part.Option {
	return []part.Option{{Text: unnoticed}, {Value: string(ladder.TooLow), Text: "too low"}, {Value: string(ladder.RightHeight), Text: "right"},
		{Value: string(ladder.TooHigh), Text: "too high"}}
}

// CatchSentence says what was noticed of one catch.
func CatchSentence(c ladder.Catch, words ladder.Words) string {
	var said []string
	for _, text := range []string{words.Spots[c.Spot], words.Timings[c.Timing], words.HandPlaces[c.Hands], words.Heights[c.Height]} {
		if text != "" {
			said = append(said, text)
		}
	}
	return upperFirst(strings.Join(said, ", ")) + "."
}
