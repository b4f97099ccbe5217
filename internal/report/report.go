// Package report writes the files of a term's report: PDF pages for people,
// spreadsheets and tables for whoever goes on with the numbers. It writes athlete
// by athlete, so that a gym of any size needs little memory, and the same data
// give the same bytes. It is pure of HTTP and SQL and imports package review, the
// pure packages, and paper.
package report

import (
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/review"
)

// A Subject is what a report is about.
type Subject struct {
	Gym   gym.Gym
	Span  review.Span
	Class string // name; "" for the whole gym or a single athlete
	Alone bool   // one athlete: no page about all of them
	Count int    // athletes that will come
	Voice Voice  // of the PDF; spreadsheets and tables are English
}

// name is what the report of several is called.
func (s Subject) name() string {
	if s.Class == "" {
		return s.Voice.said("Whole gym")
	}
	return s.Class
}

// title is the title of the whole file.
func (s Subject) title() string {
	if s.Alone {
		return s.Gym.Name + ", " + s.Span.Term.Name
	}
	return s.Gym.Name + ", " + s.name() + ", " + s.Span.Term.Name
}

// A Writer takes athletes one by one and then what they are together.
type Writer interface {
	Add(a review.Athlete, f review.Facts) error
	Close(g review.Group) error
}
