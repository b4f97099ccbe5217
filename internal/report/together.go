package report

import "ropewalk.example/internal/review"

// togetherRows are a group's figures.
func togetherRows(s Subject, g review.Group) []row {
	rows := []row{{s.title(), "Athletes", "Lowest", "Middle", "Highest"}}
	for _, line := range spreads(g) {
		if line.spread.Shown() {
			rows = append(rows, row{line.name, line.spread.N, line.spread.Low, line.spread.Middle, line.spread.High})
		}
	}
	rows = append(rows, row{}, row{"Athletes", g.Athletes}, row{"Tested", g.Tested}, row{"Really faster", g.Real.Faster}, row{"Really slower", g.Real.Slower},
		row{"May be chance", g.Real.WithinError}, row{"Too few tests", g.Real.TooFew}, row{"Athletes who moved up", g.Movers}, row{"Stages up together", g.Moves},
		row{"Attendances", g.Here}, row{"Attendances noted", g.Noted}, row{}, row{"Athletes on each stage", "Start", "End"})
	for _, stage := range g.Stages {
		rows = append(rows, row{stage.Rung.String(), stage.AtStart, stage.AtEnd})
	}
	return rows
}

// A spreadLine is one quantity of a group with its name.
type spreadLine struct {
	name   string
	spread review.Spread
}

func spreads(g review.Group) []spreadLine {
	share := g.Attendance
	share.Low, share.Middle, share.High = 100*share.Low, 100*share.Middle, 100*share.High
	return []spreadLine{
		{"Whole test, start, rpm", g.Whole.Start}, {"Whole test, end, rpm", g.Whole.End},
		{"Turning, start, rpm", g.Turning.Start}, {"Turning, end, rpm", g.Turning.End},
		{"Burst, start, rpm", g.Burst.Start}, {"Burst, end, rpm", g.Burst.End},
		{"Catches a minute, start", g.PerMinute.Start}, {"Catches a minute, end", g.PerMinute.End},
		{"Change of the whole test, rpm", g.Gain}, {"Longest clean stretch, jumps", g.BestRun},
		{"Meetings come to, %", share},
	}
}
