package leading

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// SetTimes gives a class other weekly times.
func (lead *Leading) SetTimes(ctx context.Context, who gym.Who, class uuid.UUID, times []gym.ClassTime) error {
	outlook, err := lead.ForeseeTimes(ctx, who, class, times)
	if err != nil {
		return err
	}
	return lead.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.SetClassTimes(ctx, class, times); err != nil {
			return err
		}
		if err := withdraw(ctx, tx, outlook); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), lead.Now(), who.ID(), "set weekly times", "class", class)
	})
}

// ForeseeTimes returns what other weekly times do to a class.
func (lead *Leading) ForeseeTimes(ctx context.Context, who gym.Who, id uuid.UUID, times []gym.ClassTime) (Outlook, error) {
	if err := checkTimes(times); err != nil {
		return Outlook{}, err
	}
	year, class, err := lead.yearOf(ctx, who, id, lead.Now())
	if err != nil {
		return Outlook{}, err
	}
	shift, err := year.Foresee(calendar.SetTimes(id, times), id, lead.Now())
	outlook := []Outlook{{Class: class, Shift: shift}}
	if err != nil {
		return outlook[0], err
	}
	err = lead.countPlans(ctx, who, outlook)
	return outlook[0], err
}

// checkTimes returns a message for each part of a time that needs mending, under
// its name and number from 1, such as "starts_at-2".
func checkTimes(times []gym.ClassTime) error {
	wrong := map[string]string{}
	days := map[int]bool{}
	for i, t := range times {
		set := func(field, message string) { wrong[fmt.Sprintf("%s-%d", field, i+1)] = message }
		switch {
		case t.Weekday < 1 || t.Weekday > 7:
			set("weekday", "Choose the day of the week.")
		case days[t.Weekday]:
			set("weekday", "The class has a time on that day already. Make it a class of its own.")
		}
		days[t.Weekday] = true
		if t.StartsAt < 0 || t.StartsAt >= 24*time.Hour {
			set("starts_at", "Type when the class starts, like 17:00.")
		}
		if t.Minutes < 10 || t.Minutes > 240 {
			set("minutes", "Minutes must be a whole number from 10 to 240.")
		}
	}
	return problem.Form(wrong)
}
