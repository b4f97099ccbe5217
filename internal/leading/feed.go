package leading

import (
	"context"
	"slices"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/calendar"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// mostCalendars bounds the open calendar links of one class or athlete.
const mostCalendars = 10

// NewCalendar makes a link to the calendar of a class or of an athlete's classes
// and returns its secret, which is shown this once.
func (lead *Leading) NewCalendar(ctx context.Context, who gym.Who, class, athlete uuid.UUID) (secret string, err error) {
	open, err := lead.Calendars(ctx, who, class, athlete)
	if err != nil {
		return "", err
	}
	if len(open) >= mostCalendars {
		return "", problem.New(problem.Conflict, "There are ten links already. End one that nobody needs, then make another.")
	}
	return lead.NewLink(ctx, who, gym.Link{Kind: gym.CalendarLink, ClassID: class, AthleteID: athlete})
}

// Calendars returns the open calendar links of a class or an athlete, newest
// first.
func (lead *Leading) Calendars(ctx context.Context, who gym.Who, class, athlete uuid.UUID) ([]gym.Link, error) {
	var all []gym.Link
	if err := lead.Store.Read(ctx, who.GymID, store.Links(gym.CalendarLink, &all)); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(l gym.Link) bool { return l.ClassID != class || l.AthleteID != athlete }), nil
}

// EndOwnCalendar ends a link to the calendar of the athlete whom who is about;
// another one is not found.
func (lead *Leading) EndOwnCalendar(ctx context.Context, who gym.Who, link uuid.UUID) error {
	open, err := lead.Calendars(ctx, who, uuid.Nil, who.AthleteID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(open, func(l gym.Link) bool { return l.LinkID == link }) {
		return problem.New(problem.NotFound, "There is no such link, or it has ended.")
	}
	return lead.EndLink(ctx, who, link)
}

// Feed returns the calendar behind a secret as an iCalendar file: what a class
// meets, or each class that an athlete is in. It names classes and no person.
// words says what a meeting holds. The same calendar gives the same bytes.
func (lead *Leading) Feed(ctx context.Context, secret string, words func(calendar.Meeting) string) (string, error) {
	gymID, link, err := lead.FollowLink(ctx, secret, gym.CalendarLink)
	if err != nil {
		return "", err
	}
	var y calendar.Year
	var g gym.Gym
	var class gym.Class
	var athlete gym.Athlete
	var classes []gym.Class
	readings := append(YearReadings(lead.Now(), &y), store.TheGym(&g))
	if link.ClassID != uuid.Nil {
		readings = append(readings, store.Class(link.ClassID, &class))
	} else {
		readings = append(readings, store.Athlete(link.AthleteID, &athlete), store.ClassesOf(link.AthleteID, &classes))
	}
	if err := lead.Store.Read(ctx, gymID, readings...); err != nil {
		if problem.KindOf(err) == problem.NotFound { // archived since
			return "", goneLink()
		}
		return "", err
	}
	y.Zone = g.Zone()
	name := g.Name
	if link.ClassID != uuid.Nil {
		classes, name = []gym.Class{class}, class.Name
	}
	var entries []calendar.Entry
	for _, c := range classes {
		more, err := y.Entries(c, words)
		if err != nil {
			return "", err
		}
		entries = append(entries, more...)
	}
	return calendar.Feed(name, y.Zone, entries, changedAt(y, link)), nil
}

// changedAt returns when what a link shows was last changed on purpose.
func changedAt(y calendar.Year, link gym.Link) time.Time {
	at := link.MadeAt
	for _, c := range y.Changes {
		if c.MadeAt.After(at) {
			at = c.MadeAt
		}
	}
	return at
}
