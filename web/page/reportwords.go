package page

import (
	"fmt"
	"slices"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/review"
	"ropewalk.example/web/part"
)

func reportURL(term uuid.UUID, below string) templ.SafeURL {
	return templ.SafeURL("/reports/" + term.String() + below)
}

// spanWords say what part of a term a report looks at.
func spanWords(s review.Span) string {
	until := s.Term.Name + ", " + s.Term.StartsOn.Format("2 Jan") + " to " + s.Term.EndsOn.Format("2 Jan 2006")
	if s.Over() {
		return until
	}
	return until + " · as of " + s.AsOf.Format("2 Jan")
}

// endFigure writes a level as "88 ± 7", or "–".
func endFigure(e review.End) string {
	if !e.Known() {
		return "–"
	}
	return part.Whole(e.RPM) + " ± " + part.Whole((e.High-e.Low)/2)
}

func endNote(e review.End) string {
	switch e.Tests {
	case 0:
		return ""
	case 1:
		return "1 test"
	default:
		return fmt.Sprintf("%d tests", e.Tests)
	}
}

func gainFigure(m review.Movement) string {
	if !m.Judged() {
		return "–"
	}
	return part.Signed(m.Gain())
}

// movementLine is one row of the table of rates.
type movementLine struct {
	Name string
	On   string // step and rope, where they are not those of the table
	review.Movement
}

func movementLines(r review.Rates) []movementLine {
	var lines []movementLine
	if len(r.Tests) > 0 {
		lines = append(lines, movementLine{"Whole test", "", r.Whole}, movementLine{"Rope turning", "", r.Turning})
	}
	if len(r.Bursts) > 0 {
		burst := movementLine{"Burst", "", r.Burst}
		if r.BurstStep != r.Step || r.BurstRope != r.Rope {
			burst.On = review.On(r.BurstStep, r.BurstRope)
		}
		lines = append(lines, burst)
	}
	return lines
}

// movementCaption says what the rates were measured on.
func movementCaption(r review.Rates) string {
	if len(r.Tests) == 0 {
		return "Rates in rpm"
	}
	return "Rates in rpm, " + review.On(r.Step, r.Rope)
}

// spreadLine is one row of the table of a group.
type spreadLine struct {
	Name              string
	N                 string
	Low, Middle, High string
}

func spreadLines(g review.Group) []spreadLine {
	var lines []spreadLine
	add := func(name string, s review.Spread, text func(float64) string) {
		if s.Shown() {
			lines = append(lines, spreadLine{name, fmt.Sprint(s.N), text(s.Low), text(s.Middle), text(s.High)})
		}
	}
	tenth := func(v float64) string { return fmt.Sprintf("%.1f", v) }
	add("Catches a minute, start", g.PerMinute.Start, tenth)
	add("Catches a minute, end", g.PerMinute.End, tenth)
	add("Change of the whole test, rpm", g.Gain, part.Signed)
	add("Longest stretch without a catch, jumps", g.BestRun, part.Whole)
	add("Meetings come to", g.Attendance, part.Percent)
	return lines
}

// FileWords say what a file is, for a list.
func FileWords(r gym.Report, of FileOf) string {
	what := map[string]string{gym.ReportAthlete: "Report of " + of.Athlete, gym.ReportClass: "Reports of " + of.Class, gym.ReportGym: "Report of the whole gym",
		gym.ReportAthleteData: "Data of " + of.Athlete, gym.ReportGymData: "All data of the gym"}[r.Kind]
	if of.Term != "" {
		what += ", " + of.Term
	}
	switch r.Format {
	case gym.FormatPDF:
		what += map[string]string{gym.PaperLetter: " · PDF, Letter"}[r.Paper] + map[string]string{gym.PaperA4: " · PDF, A4"}[r.Paper]
		if of.Language != "" {
			what += " · " + of.Language
		}
		return what
	case gym.FormatXLSX:
		return what + " · spreadsheet (XLSX)"
	case gym.FormatCSV:
		return what + " · tables (CSV)"
	default:
		return what + " · ZIP"
	}
}

// size writes a number of bytes for people.
func size(bytes int64) string {
	switch {
	case bytes >= 10<<20:
		return fmt.Sprintf("%d MB", bytes>>20)
	case bytes >= 1<<20:
		return fmt.Sprintf("%.1f MB", float64(bytes)/(1<<20))
	default:
		return fmt.Sprintf("%d kB", (bytes+1023)>>10)
	}
}

// FileOf are the names that a file's words need.
type FileOf struct{ Term, Class, Athlete, Language string }

// joined makes a paragraph of sentences; "" is none.
func joined(sentences ...string) string {
	return strings.Join(slices.DeleteFunc(slices.Clone(sentences), func(s string) bool { return s == "" }), " ")
}

// rungName names a stage as the stages' own page does: "4 · Steady minute".
func rungName(r review.Rung) string {
	if !r.Known() || r.Number == 0 {
		return r.String()
	}
	return stageName(ladder.Stage{Number: r.Number, Title: r.Title})
}
