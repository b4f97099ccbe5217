package page

import (
	"fmt"
	"slices"

	"github.com/a-h/templ"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/review"
	"ropewalk.example/web/part"
)

func fileURL(r gym.Report, below string) templ.SafeURL {
	return templ.SafeURL("/files/" + r.ReportID.String() + below)
}

func commentURL(v CommentsView, line CommentLine) templ.SafeURL {
	return reportURL(v.Span.Term.TermID, "/athletes/"+line.Athlete.AthleteID.String()+"/comment")
}

// commentsWords say how the comments of a class stand.
func commentsWords(line ReportClass) string {
	words := fmt.Sprintf("%d of %d comments in the report", line.Shown, line.Of)
	switch line.Drafts {
	case 0:
		return words
	case 1:
		return words + ", 1 draft"
	default:
		return fmt.Sprintf("%s, %d drafts", words, line.Drafts)
	}
}

// commentState says where a comment stands.
func commentState(c gym.Comment) (part.State, string) {
	switch {
	case c.Revision == 0:
		return part.NotYet, "Nothing written yet"
	case c.ShownAt == nil:
		return part.SavedHere, "Draft kept. Not in the report yet"
	case c.Pending():
		return part.NeedsLook, "Draft kept. The report still shows the words before"
	default:
		return part.Finished, "In the report"
	}
}

// Values of the field that says what a file is about: the gym, a class or an
// athlete by id.
const (
	WhatGym     = "gym"
	WhatClass   = "class:"
	WhatAthlete = "athlete:"
)

func whatOptions(v ReportsView) []part.Option {
	options := []part.Option{{Value: WhatGym, Text: "Whole gym"}}
	for _, line := range v.Classes {
		options = append(options, part.Option{Value: WhatClass + line.Class.ClassID.String(), Text: line.Class.Name})
	}
	for _, a := range v.Athletes {
		options = append(options, part.Option{Value: WhatAthlete + a.AthleteID.String(), Text: a.Name})
	}
	return options
}

// formatOptions are the formats of a report: format and, for PDF, paper.
func formatOptions() []part.Option {
	return []part.Option{
		{Value: gym.FormatPDF + ":" + gym.PaperA4, Text: "PDF, A4"},
		{Value: gym.FormatPDF + ":" + gym.PaperLetter, Text: "PDF, Letter"},
		{Value: gym.FormatXLSX, Text: "Spreadsheet (XLSX)"},
		{Value: gym.FormatCSV, Text: "Tables (CSV in a ZIP)"},
	}
}

// tongueOptions are the languages of a PDF.
func tongueOptions(tongues []part.Tongue) []part.Option {
	options := make([]part.Option, len(tongues))
	for i, t := range tongues {
		options[i] = part.Option{Value: t.Tag, Text: t.Name, Lang: t.Tag}
	}
	return options
}

// tongueOf is the language of the page.
func tongueOf(tongues []part.Tongue) string {
	for _, t := range tongues {
		if t.Chosen {
			return t.Tag
		}
	}
	return ""
}

func progressWords(r gym.Report) string {
	if r.Of == 0 {
		return "Being made. You can leave this page; the file will be here."
	}
	return fmt.Sprintf("%d of %d done. You can leave this page; the file will be here.", r.Done, r.Of)
}

// figuresFor are the sentences that a coach reads while writing.
func figuresFor(a review.Athlete) []string {
	said := slices.Concat(a.Rates.Sentences(), []string{a.Rates.CatchSentence()}, a.Climb.Sentences(), []string{a.Attendance.Sentence()}, a.Load.Sentences(), a.Runs.Sentences())
	if a.LeftOut > 0 {
		said = append(said, "A result still needs a look and is left out.")
	}
	return slices.DeleteFunc(said, func(s string) bool { return s == "" })
}
