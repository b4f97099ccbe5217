package privacy

import (
	"context"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Questions are the keys of what is asked before the first session. They clear
// nobody: a yes means that a coach talks first.
func Questions() []string { return []string{"limited", "pain", "injury", "breath", "other"} }

// Health is what few may see of an athlete.
type Health struct {
	Athlete   gym.Athlete
	Answers   []gym.HealthAnswer // newest first
	Talks     []gym.HealthTalk
	Debriefs  []gym.Debrief // those that speak of pain
	Holds     []gym.Hold
	Incidents []gym.Incident
	Told      []gym.Told
	Guardians []gym.Guardianship
}

// lookback is how far back pain is shown.
const lookback = 366 * 24 * time.Hour

// Look returns what is kept of an athlete's health, and writes into the log
// that who looked.
func (p *Privacy) Look(ctx context.Context, who gym.Who, athlete uuid.UUID) (Health, error) {
	var h Health
	err := p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		h = Health{}
		var debriefs []gym.Debrief
		if err := tx.Read(ctx, store.Athlete(athlete, &h.Athlete), store.HealthAnswersOf(athlete, &h.Answers), store.HealthTalksOf(athlete, &h.Talks),
			store.DebriefsOf(athlete, p.Now().Add(-lookback), &debriefs), store.HoldsOf(athlete, &h.Holds),
			store.IncidentsOf(athlete, &h.Incidents), store.ToldOf(athlete, &h.Told), store.GuardiansOf(athlete, &h.Guardians)); err != nil {
			return err
		}
		h.Debriefs = slices.DeleteFunc(debriefs, func(d gym.Debrief) bool { return d.Pain == 0 && len(d.PainSigns) == 0 })
		return tx.Note(ctx, newID(), p.Now(), who.ID(), "looked at health notes", "athlete", athlete)
	})
	return h, err
}

// Answer keeps the answers to the questions before the first session, from an
// athlete, a guardian, or a coach who asked.
func (p *Privacy) Answer(ctx context.Context, who gym.Who, a gym.HealthAnswer) error {
	wrong := map[string]string{}
	for _, key := range a.Yes {
		if !slices.Contains(Questions(), key) {
			wrong["yes"] = "Choose from the questions on the page."
		}
	}
	a.Note = strings.TrimSpace(a.Note)
	if utf8.RuneCountInString(a.Note) > 500 {
		wrong["note"] = "Use at most 500 letters."
	}
	if err := problem.Form(wrong); err != nil {
		return err
	}
	a.AnsweredAt, a.AnsweredBy = p.Now(), who.ID()
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddHealthAnswer(ctx, a); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), a.AnsweredAt, who.ID(), "answered questions on health", "athlete", a.AthleteID)
	})
}

// Talk keeps that a coach talked about the answers.
func (p *Privacy) Talk(ctx context.Context, who gym.Who, t gym.HealthTalk) error {
	t.Note = strings.TrimSpace(t.Note)
	if utf8.RuneCountInString(t.Note) > 500 {
		return problem.Form(map[string]string{"talk": "Use at most 500 letters."})
	}
	t.At, t.By = p.Now(), who.ID()
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		if err := tx.AddHealthTalk(ctx, t); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), t.At, who.ID(), "talked about health", "athlete", t.AthleteID)
	})
}

// Tell keeps that a guardian learned of a hold or an incident of the athlete.
func (p *Privacy) Tell(ctx context.Context, who gym.Who, t gym.Told) error {
	t.At, t.By = p.Now(), who.ID()
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var athlete gym.Athlete
		var holds []gym.Hold
		var incidents []gym.Incident
		if err := tx.Read(ctx, store.Athlete(t.AthleteID, &athlete), store.HoldsOf(t.AthleteID, &holds), store.IncidentsOf(t.AthleteID, &incidents)); err != nil {
			return err
		}
		isHold := t.About == "hold" && slices.ContainsFunc(holds, func(h gym.Hold) bool { return h.HoldID == t.AboutID })
		isIncident := t.About == "incident" && slices.ContainsFunc(incidents, func(i gym.Incident) bool { return i.IncidentID == t.AboutID })
		if !isHold && !isIncident {
			return problem.New(problem.Invalid, "Choose a hold or an incident from the athlete's health notes.")
		}
		if err := tx.AddTold(ctx, t); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), t.At, who.ID(), "a guardian learned of "+aOrAn(t.About), "athlete", t.AthleteID)
	})
}

func aOrAn(what string) string {
	if what == "incident" {
		return "an incident"
	}
	return "a hold"
}

// News is what a guardian is to learn today: holds that stand and incidents,
// newest first.
type News struct {
	Holds     []gym.Hold
	Incidents []gym.Incident
}

// newsDays is how long an incident stays on a guardian's page.
const newsDays = 14

// NewsFor returns what a guardian of the athlete is to learn, and keeps that it
// was shown to her, once for each.
func (p *Privacy) NewsFor(ctx context.Context, who gym.Who, athlete uuid.UUID) (News, error) {
	var holds []gym.Hold
	var incidents []gym.Incident
	var told []gym.Told
	if err := p.Store.Read(ctx, who.GymID, store.HoldsOf(athlete, &holds), store.IncidentsOf(athlete, &incidents), store.ToldOf(athlete, &told)); err != nil {
		return News{}, err
	}
	var news News
	if len(holds) > 0 && holds[0].Opened {
		news.Holds = holds[:1]
	}
	now := p.Now()
	for _, i := range incidents {
		if now.Sub(i.HappenedAt) <= newsDays*24*time.Hour {
			news.Incidents = append(news.Incidents, i)
		}
	}
	var fresh []gym.Told
	show := func(about string, id uuid.UUID) {
		known := slices.ContainsFunc(told, func(t gym.Told) bool { return t.About == about && t.AboutID == id && t.GuardianID == who.PersonID })
		if !known {
			fresh = append(fresh, gym.Told{ToldID: uuid.NewSHA1(who.PersonID, id[:]), AthleteID: athlete, About: about, AboutID: id, GuardianID: who.PersonID,
				How: "page", At: now, By: who.PersonID})
		}
	}
	for _, h := range news.Holds {
		show("hold", h.HoldID)
	}
	for _, i := range news.Incidents {
		show("incident", i.IncidentID)
	}
	if len(fresh) == 0 {
		return news, nil
	}
	return news, p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		for _, t := range fresh {
			if err := tx.AddTold(ctx, t); err != nil {
				return err
			}
		}
		return nil
	})
}

// Looked writes into the log that who looked at what is kept of an athlete's
// health, for pages that show it beside something else.
func (p *Privacy) Looked(ctx context.Context, who gym.Who, athlete uuid.UUID) error {
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		return tx.Note(ctx, newID(), p.Now(), who.ID(), "looked at health notes", "athlete", athlete)
	})
}

// Took writes into the log that somebody took along all that is kept of an
// athlete.
func (p *Privacy) Took(ctx context.Context, who gym.Who, athlete uuid.UUID) error {
	return p.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		return tx.Note(ctx, newID(), p.Now(), who.ID(), "took an athlete's data along", "athlete", athlete)
	})
}
