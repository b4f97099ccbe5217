package leading

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// longestTerm bounds a term's days, as the planner does.
const longestTerm = 400

const longestName = 80

// SetTerm makes a term, or changes the one with its id.
func (lead *Leading) SetTerm(ctx context.Context, who gym.Who, t gym.Term) error {
	t.Name = strings.TrimSpace(t.Name)
	outlooks, err := lead.ForeseeTerm(ctx, who, t)
	if err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var terms []gym.Term
		if err := tx.Read(ctx, store.Terms(&terms)); err != nil {
			return err
		}
		if err := checkTerm(terms, t); err != nil {
			return err
		}
		set := tx.AddTerm
		if slices.ContainsFunc(terms, func(other gym.Term) bool { return other.TermID == t.TermID }) {
			set = tx.SetTerm
		}
		if err := set(ctx, t); err != nil {
			return err
		}
		if err := withdraw(ctx, tx, outlooks...); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "set a term", "term", t.TermID)
	})
}

// checkTerm looks at a term beside the gym's others.
func checkTerm(terms []gym.Term, t gym.Term) error {
	wrong := span(t.Name, t.StartsOn, t.EndsOn, "Give the term a name, like “Autumn 2026”.")
	if t.EndsOn.Sub(t.StartsOn) > longestTerm*24*time.Hour {
		wrong["ends_on"] = "A term lasts at most 400 days."
	}
	for _, other := range terms {
		if len(wrong) == 0 && other.TermID != t.TermID && !t.StartsOn.After(other.EndsOn) && !t.EndsOn.Before(other.StartsOn) {
			wrong["starts_on"] = fmt.Sprintf("%s has some of these days. Terms may not overlap.", other.Name)
		}
	}
	return problem.Form(wrong)
}

// DropTerm removes a term. What happened in it stays.
func (lead *Leading) DropTerm(ctx context.Context, who gym.Who, term uuid.UUID) error {
	outlooks, err := lead.ForeseeWithout(ctx, who, term)
	if err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.DropTerm(ctx, term); err != nil {
			return err
		}
		if err := withdraw(ctx, tx, outlooks...); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "removed a term", "term", term)
	})
}

// SetHoliday makes a span of days without classes, or changes the one with its id.
func (lead *Leading) SetHoliday(ctx context.Context, who gym.Who, h gym.Holiday) error {
	h.Name = strings.TrimSpace(h.Name)
	outlooks, err := lead.ForeseeHoliday(ctx, who, h)
	if err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.SetHoliday(ctx, h); err != nil {
			return err
		}
		if err := withdraw(ctx, tx, outlooks...); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "set a holiday", "holiday", h.HolidayID)
	})
}

func checkHoliday(h gym.Holiday) error {
	return problem.Form(span(h.Name, h.StartsOn, h.EndsOn, "Give the holiday a name, like “Half term”."))
}

// DropHoliday removes a holiday.
func (lead *Leading) DropHoliday(ctx context.Context, who gym.Who, holiday uuid.UUID) error {
	outlooks, err := lead.ForeseeWithout(ctx, who, holiday)
	if err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.DropHoliday(ctx, holiday); err != nil {
			return err
		}
		if err := withdraw(ctx, tx, outlooks...); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "removed a holiday", "holiday", holiday)
	})
}

// span returns a message for each part of a named run of days that needs mending.
func span(name string, from, to time.Time, askName string) map[string]string {
	wrong := map[string]string{}
	switch {
	case name == "":
		wrong["name"] = askName
	case utf8.RuneCountInString(name) > longestName:
		wrong["name"] = "This name is too long. Shorten it to 80 characters."
	}
	switch {
	case from.IsZero():
		wrong["starts_on"] = "Choose the first day."
	case to.IsZero():
		wrong["ends_on"] = "Choose the last day."
	case to.Before(from):
		wrong["ends_on"] = "The last day must not be before the first."
	}
	return wrong
}
