package deciding

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// An Outlook is what a ladder would mean for the gym if it counted today.
type Outlook struct {
	Athletes map[string]gym.Athlete // by id, whoever is named below
	Moves    []ladder.Move          // who would stand elsewhere
	Gates    []GateOutlook
}

// A GateOutlook is who of those who stand on a stage would be ready under its
// changed gate.
type GateOutlook struct {
	Stage    ladder.Stage // as it would be
	Standing []string     // ids
	ladder.Preview
}

// Outlook returns what publishing the draft would mean. Real results count, of
// any age that the gates ask for.
func (d *Deciding) Outlook(ctx context.Context, who gym.Who, draft Draft) (Outlook, error) {
	g, err := d.whole(ctx, who)
	if err != nil {
		return Outlook{}, err
	}
	outlook := Outlook{Athletes: g.byID()}
	if draft.Kept.InUse {
		outlook.Moves = ladder.Moves(draft.Published, draft.Ladder, g.standings())
	}
	for _, change := range draft.Changes() {
		if change.Kind == ladder.GateChanged {
			outlook.Gates = append(outlook.Gates, g.gateOutlook(draft, change.Stage))
		}
	}
	return outlook, nil
}

// GateOutlook returns what the gate of one stage of the draft would mean.
func (d *Deciding) GateOutlook(ctx context.Context, who gym.Who, draft Draft, stage string) (GateOutlook, map[string]gym.Athlete, error) {
	g, err := d.whole(ctx, who)
	if err != nil {
		return GateOutlook{}, nil, err
	}
	return g.gateOutlook(draft, stage), g.byID(), nil
}

func (d *Deciding) whole(ctx context.Context, who gym.Who) (Ground, error) {
	return everything(func(readings ...store.Reading) error { return d.Store.Read(ctx, who.GymID, readings...) }, d.Now())
}

func (g Ground) gateOutlook(draft Draft, key string) GateOutlook {
	before, _ := draft.Published.Stage(key)
	now, _ := draft.Ladder.Stage(key)
	there := Ground{Today: g.Today}
	outlook := GateOutlook{Stage: now}
	for _, a := range g.Athletes {
		if a.Place.Stage == key {
			there.Athletes = append(there.Athletes, a)
			outlook.Standing = append(outlook.Standing, a.AthleteID.String())
		}
	}
	outlook.Preview = ladder.PreviewGate(before.Gate, now.Gate, casesOf(there.Athletes), dayOf(g.Today))
	return outlook
}

func (g Ground) byID() map[string]gym.Athlete {
	athletes := make(map[string]gym.Athlete, len(g.Athletes))
	for _, a := range g.Athletes {
		athletes[a.AthleteID.String()] = a.Athlete
	}
	return athletes
}

// standings returns where everybody stands whom somebody has placed.
func (g Ground) standings() []ladder.Standing {
	var standings []ladder.Standing
	for _, a := range g.Athletes {
		if a.Place.Stage != "" {
			standings = append(standings, ladder.Standing{Athlete: a.AthleteID.String(), Stage: a.Place.Stage, Since: dayOf(a.Place.Since)})
		}
	}
	return standings
}

// A Publication is a coach's word that a draft counts from now on.
type Publication struct {
	Ladder   uuid.UUID
	Revision int    // of the draft that the coach saw
	Moves    int    // athletes who move, as the coach saw
	Note     string // what changed, in the coach's words
}

// Publish makes the draft the next version of its ladder. Athletes keep their
// place; whoever stood on a retired stage is moved by a decision of its own, kept
// like any other. It is a Conflict if the draft or the moves are others than
// the coach saw.
func (d *Deciding) Publish(ctx context.Context, who gym.Who, ask Publication) (version int, err error) {
	if !mayDecide(who.Role) {
		return 0, problem.New(problem.Forbidden, "Only a coach publishes a ladder.")
	}
	now := d.Now()
	err = d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var read draftRows
		if err := tx.Read(ctx, read.readings(ask.Ladder)...); err != nil {
			return err
		}
		draft, err := read.draft()
		if err != nil {
			return err
		}
		if err := mayPublish(draft, ask); err != nil {
			return err
		}
		next := draft.Ladder
		next.Version = draft.Kept.Version + 1
		version = next.Version
		stages, err := standing.Stages(ask.Ladder, next)
		if err != nil {
			return err
		}
		if err := tx.AddLadderVersion(ctx, gym.LadderVersion{LadderID: ask.Ladder, Version: version, Note: strings.TrimSpace(ask.Note),
			PublishedAt: now, PublishedBy: who.ID()}, stages); err != nil {
			return err
		}
		if draft.Kept.InUse {
			place := func(a Athlete) string { key, _ := ladder.Place(draft.Published, next, a.Place.Stage); return key }
			reason := fmt.Sprintf("The stage was retired in version %d of the ladder.", version)
			if err := d.move(ctx, tx, who, place, gym.Ladder{LadderID: ask.Ladder, Version: version}, reason, ask.Moves); err != nil {
				return err
			}
		}
		if err := tx.NameLadder(ctx, ask.Ladder, next.Name, next.Lang); err != nil {
			return err
		}
		if err := tx.DropLadderDraft(ctx, ask.Ladder); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), now, who.ID(), fmt.Sprintf("published version %d of a ladder", version), "ladder", ask.Ladder)
	})
	return version, err
}

func mayPublish(draft Draft, ask Publication) error {
	switch {
	case !draft.Changed():
		return problem.New(problem.Conflict, "There is nothing to publish: the draft is like the ladder that counts.")
	case draft.Revision != ask.Revision:
		return problem.New(problem.Conflict, "Somebody changed the draft after you looked. Look at it once more, then publish.")
	case draft.Behind():
		return problem.New(problem.Conflict, "Another version was published meanwhile. Throw this draft away and begin from the new version.")
	case len([]rune(ask.Note)) > maxReason:
		return problem.Form(map[string]string{"note": fmt.Sprintf("Write the note in %d letters or fewer.", maxReason)})
	}
	return draft.Ladder.Check()
}

// move decides for everybody whom place puts elsewhere, and is a Conflict if
// these are not as many as the coach saw.
func (d *Deciding) move(ctx context.Context, tx *store.Tx, who gym.Who, place func(Athlete) string, to gym.Ladder, reason string, seen int) error {
	now := d.Now()
	g, err := everything(func(readings ...store.Reading) error { return tx.Read(ctx, readings...) }, now)
	if err != nil {
		return err
	}
	var made []gym.StageDecision
	for _, a := range g.Athletes {
		key := place(a)
		if a.Place.Stage == "" || key == a.Place.Stage {
			continue
		}
		made = append(made, gym.StageDecision{DecisionID: newID(), AthleteID: a.AthleteID, Verdict: standing.Moved, StageFrom: a.Place.Stage, StageTo: key,
			LadderID: to.LadderID, Version: to.Version, Reason: reason, DecidedOn: g.Today, DecidedAt: now, DecidedBy: who.ID()})
	}
	if len(made) != seen {
		return problem.New(problem.Conflict, "Other athletes would move than you saw. Look at the list once more.")
	}
	return keepDecisions(ctx, tx, who, made)
}
