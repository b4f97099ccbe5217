package roster

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Details are what staff may mend about an athlete.
type Details struct {
	Name      string
	SortName  string // empty: the name sorts by itself
	BirthYear string // empty: not known
	Classes   []uuid.UUID
}

// read checks the details as the roster's file is checked; year is this one.
func (d Details) read(a *gym.Athlete, year int) error {
	wrong := map[string]string{}
	note := func(field, fault string) {
		if fault != "" {
			wrong[field] = strings.ReplaceAll(fault, "This line says", "You typed")
		}
	}
	var fault string
	if clean(d.Name) == "" {
		note("name", "Type the name.")
	} else {
		a.Name, fault = CleanName(d.Name)
		note("name", fault)
	}
	if a.SortName = ""; clean(d.SortName) != "" {
		a.SortName, fault = CleanName(d.SortName)
		note("sort_name", fault)
	}
	a.BirthYear, fault = birthYear(d.BirthYear, year)
	note("birth_year", fault)
	return problem.Form(wrong)
}

// EditAthlete changes an athlete's name and birth year, and which classes the
// athlete is in. Results, plans and stages stay with the athlete.
func (ro *Roster) EditAthlete(ctx context.Context, who gym.Who, id uuid.UUID, d Details) error {
	now := ro.Now()
	err := ro.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var g gym.Gym
		var athlete gym.Athlete
		if err := tx.Read(ctx, store.TheGym(&g), store.Athlete(id, &athlete)); err != nil {
			return err
		}
		day := g.DayOf(now)
		if err := d.read(&athlete, day.Year()); err != nil {
			return err
		}
		if err := tx.SetAthlete(ctx, athlete, NameKey(athlete.Name)); err != nil {
			return err
		}
		if err := tx.LeaveOtherClasses(ctx, id, d.Classes, day); err != nil {
			return err
		}
		for _, class := range d.Classes {
			if _, err := tx.Enrol(ctx, class, []uuid.UUID{id}, day); err != nil {
				return err
			}
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "changed an athlete", "athlete", id)
	})
	if problem.KindOf(err) == problem.Conflict {
		return problem.Form(map[string]string{"name": problem.MessageOf(err)})
	}
	if err != nil {
		return fmt.Errorf("changing athlete %s: %w", id, err)
	}
	return nil
}

// RenameClass gives a class another name. Its code stays.
func (ro *Roster) RenameClass(ctx context.Context, who gym.Who, id uuid.UUID, name string) error {
	if fault := classNameFault(name); fault != "" {
		return problem.Form(map[string]string{"name": fault})
	}
	now, name := ro.Now(), clean(name)
	err := ro.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.RenameClass(ctx, id, name, NameKey(name)); err != nil {
			return err
		}
		return tx.Note(ctx, uuid.Must(uuid.NewV7()), now, who.ID(), "renamed a class", "class", id)
	})
	if problem.KindOf(err) == problem.Conflict {
		return problem.Form(map[string]string{"name": problem.MessageOf(err)})
	}
	if err != nil {
		return fmt.Errorf("renaming class %s: %w", id, err)
	}
	return nil
}

// classNameFault returns what is wrong with a class's name, empty if nothing is.
func classNameFault(name string) string {
	switch name = strings.TrimSpace(name); {
	case name == "":
		return "Type a name for the class, like Tuesday Starters."
	case utf8.RuneCountInString(name) > 80:
		return "Use a name of at most 80 letters."
	}
	return ""
}
