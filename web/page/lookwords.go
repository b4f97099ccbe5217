package page

import (
	"ropewalk.example/internal/ladder"
	"ropewalk.example/web/part"
)

// allPoints lists the points that a coach judges.
func allPoints(words ladder.Words) []part.Option {
	var options []part.Option
	for _, p := range ladder.Points() {
		options = append(options, part.Option{Value: string(p), Text: words.Points[p]})
	}
	return options
}

func lookIcon(look ladder.Look) part.IconName {
	if look == ladder.LooksGood {
		return part.IconDone
	}
	return part.IconNotYet
}

func lookWord(look ladder.Look) string {
	if look == ladder.LooksGood {
		return "Good"
	}
	return "Not yet"
}
