package page

import (
	"fmt"
	"strconv"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/web/part"
)

func ladderOptions(ladders []LadderLine) []part.Option {
	var options []part.Option
	for _, line := range ladders {
		options = append(options, part.Option{Value: line.Ladder.LadderID.String(), Text: line.Ladder.Name})
	}
	return options
}

// placeInLadder lists where a new stage may go; the end comes first.
func placeInLadder(l ladder.Ladder) []part.Option {
	options := []part.Option{{Value: strconv.Itoa(len(l.Stages) + 1), Text: "at the end"}}
	for i, s := range l.Stages {
		options = append(options, part.Option{Value: strconv.Itoa(i + 1), Text: "before " + stageName(s)})
	}
	return options
}

// disabledAt keeps a button in the order of focus but says that it does nothing.
func disabledAt(end bool) string { return strconv.FormatBool(end) }

func readyOf(g GateLook) string {
	return fmt.Sprintf("%d of %s here would be ready today.", len(g.Ready), part.Count(g.Standing, "athlete", "athletes"))
}
