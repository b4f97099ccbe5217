package deciding

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// A Draft is a ladder while it is changed. Without a change yet, Revision is 0
// and Ladder is the published one.
type Draft struct {
	Kept      gym.Ladder // as published, with the newest version
	Published ladder.Ladder
	Ladder    ladder.Ladder
	Revision  int
	BasedOn   int
	Saved     *gym.LadderDraft // nil without a change yet
}

// Changed reports whether the draft differs from what is published.
func (d Draft) Changed() bool {
	return d.Revision > 0 && (len(d.Changes()) > 0 || d.Ladder.Name != d.Published.Name)
}

// Changes are the changes of stages against what is published.
func (d Draft) Changes() []ladder.Change { return ladder.Diff(d.Published, d.Ladder) }

// Behind reports whether another version was published after the draft was begun.
func (d Draft) Behind() bool { return d.Revision > 0 && d.BasedOn != d.Kept.Version }

// Draft reads a ladder with what was changed of it.
func (d *Deciding) Draft(ctx context.Context, who gym.Who, id uuid.UUID, extra ...store.Reading) (Draft, error) {
	var read draftRows
	if err := d.Store.Read(ctx, who.GymID, append(read.readings(id), extra...)...); err != nil {
		return Draft{}, err
	}
	return read.draft()
}

type draftRows struct {
	kept   gym.Ladder
	stages []gym.Stage
	drafts []gym.LadderDraft
}

func (r *draftRows) readings(id uuid.UUID) []store.Reading {
	return []store.Reading{store.Ladder(id, &r.kept), store.StagesOf(id, 0, &r.stages), store.LadderDraft(id, &r.drafts)}
}

func (r *draftRows) draft() (Draft, error) {
	published, err := standing.Ladder(r.kept, r.stages)
	if err != nil {
		return Draft{}, err
	}
	draft := Draft{Kept: r.kept, Published: published, Ladder: published, BasedOn: r.kept.Version}
	if len(r.drafts) == 0 {
		return draft, nil
	}
	saved := r.drafts[0]
	draft.Saved, draft.Revision, draft.BasedOn = &saved, saved.Revision, saved.BasedOn
	draft.Ladder = ladder.Ladder{}
	if err := json.Unmarshal(saved.Body, &draft.Ladder); err != nil {
		return Draft{}, fmt.Errorf("draft of ladder %s: %w", r.kept.Key, err)
	}
	draft.Ladder = draft.Ladder.Numbered()
	return draft, nil
}

// Change applies one change to the draft of a ladder and keeps it, if the ladder
// could still be published. revision is what the coach saw; if somebody changed
// the draft meanwhile it is a Conflict.
func (d *Deciding) Change(ctx context.Context, who gym.Who, id uuid.UUID, revision int, change func(l ladder.Ladder) (ladder.Ladder, error)) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach changes a ladder.")
	}
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var read draftRows
		if err := tx.Read(ctx, read.readings(id)...); err != nil {
			return err
		}
		draft, err := read.draft()
		if err != nil {
			return err
		}
		if draft.Revision != revision {
			return problem.New(problem.Conflict, "Somebody else changed this ladder meanwhile. Open it again, then make your change.")
		}
		next, err := change(draft.Ladder)
		if err != nil {
			return err
		}
		return d.saveDraft(ctx, tx, who, draft, next)
	})
}

func (d *Deciding) saveDraft(ctx context.Context, tx *store.Tx, who gym.Who, draft Draft, next ladder.Ladder) error {
	next.Version = draft.BasedOn
	if err := next.Check(); err != nil {
		return err // a *ladder.FileError: what to mend, by part
	}
	body, err := next.Encode()
	if err != nil {
		return err
	}
	return tx.SaveLadderDraft(ctx, gym.LadderDraft{LadderID: draft.Kept.LadderID, BasedOn: draft.BasedOn, Revision: draft.Revision + 1,
		Body: body, ChangedAt: d.Now(), ChangedBy: who.ID()})
}

// Discard throws the changes of a ladder away.
func (d *Deciding) Discard(ctx context.Context, who gym.Who, id uuid.UUID) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach changes a ladder.")
	}
	return d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var there gym.Ladder
		if err := tx.Read(ctx, store.Ladder(id, &there)); err != nil {
			return err
		}
		if err := tx.DropLadderDraft(ctx, id); err != nil {
			return err
		}
		return tx.Note(ctx, newID(), d.Now(), who.ID(), "threw a ladder draft away", "ladder", id)
	})
}

// CopyLadder adds a ladder of the gym's own, like the newest version of another,
// and returns its id. It is not in use.
func (d *Deciding) CopyLadder(ctx context.Context, who gym.Who, id uuid.UUID, name string) (uuid.UUID, error) {
	name = strings.TrimSpace(name)
	if name == "" || len([]rune(name)) > 80 {
		return uuid.Nil, problem.Form(map[string]string{"name": "Type a name of 1 to 80 letters for the copy."})
	}
	var added uuid.UUID
	err := d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var read draftRows
		var all []gym.Ladder
		if err := tx.Read(ctx, append(read.readings(id), store.Ladders(&all))...); err != nil {
			return err
		}
		draft, err := read.draft()
		if err != nil {
			return err
		}
		added, err = d.addLadder(ctx, tx, who, draft.Published.Copy(freeKey(all, name), name))
		return err
	})
	return added, err
}

// freeKey returns a key for a ladder called name that no ladder of the gym has.
func freeKey(all []gym.Ladder, name string) string {
	var taken ladder.Ladder // keys of ladders follow the rules for keys of stages
	for _, l := range all {
		taken.Stages = append(taken.Stages, ladder.Stage{Key: l.Key})
	}
	return taken.NewKey(name)
}

// addLadder adds l as a ladder that is not in use, at version 1.
func (d *Deciding) addLadder(ctx context.Context, tx *store.Tx, who gym.Who, l ladder.Ladder) (uuid.UUID, error) {
	if !mayDecide(who.Role) {
		return uuid.Nil, problem.New(problem.Forbidden, "Only a coach adds a ladder.")
	}
	id, now := newID(), d.Now()
	l.Version = 1
	if err := l.Check(); err != nil {
		return uuid.Nil, err
	}
	stages, err := standing.Stages(id, l)
	if err != nil {
		return uuid.Nil, err
	}
	if err := tx.AddLadder(ctx, gym.Ladder{LadderID: id, Key: l.Key, Name: l.Name, Lang: l.Lang, CreatedAt: now}); err != nil {
		return uuid.Nil, err
	}
	if err := tx.AddLadderVersion(ctx, gym.LadderVersion{LadderID: id, Version: 1, PublishedAt: now, PublishedBy: who.ID()}, stages); err != nil {
		return uuid.Nil, err
	}
	return id, tx.Note(ctx, newID(), now, who.ID(), "added a ladder", "ladder", id)
}

// Imported says where a ladder file went: into a ladder of its own, or as a draft
// of the ladder that has its key.
type Imported struct {
	Ladder uuid.UUID
	Draft  bool
}

// Import reads a ladder file. One whose key the gym has becomes the draft of that
// ladder, so that the coach sees what it changes before it counts; any other
// becomes a ladder that is not in use. A broken file is a [*ladder.FileError]
// and changes nothing.
func (d *Deciding) Import(ctx context.Context, who gym.Who, file []byte) (Imported, error) {
	read, err := ladder.Parse(file)
	if err != nil {
		return Imported{}, err
	}
	var done Imported
	err = d.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var all []gym.Ladder
		if err := tx.Read(ctx, store.Ladders(&all)); err != nil {
			return err
		}
		for _, known := range all {
			if known.Key == read.Key {
				done = Imported{Ladder: known.LadderID, Draft: true}
				return d.importDraft(ctx, tx, who, known.LadderID, read)
			}
		}
		id, err := d.addLadder(ctx, tx, who, read)
		done = Imported{Ladder: id}
		return err
	})
	return done, err
}

func (d *Deciding) importDraft(ctx context.Context, tx *store.Tx, who gym.Who, id uuid.UUID, file ladder.Ladder) error {
	if !mayDecide(who.Role) {
		return problem.New(problem.Forbidden, "Only a coach changes a ladder.")
	}
	var read draftRows
	if err := tx.Read(ctx, read.readings(id)...); err != nil {
		return err
	}
	draft, err := read.draft()
	if err != nil {
		return err
	}
	if draft.Revision > 0 {
		return problem.New(problem.Conflict, "“%s” has changes that are not published. Publish them or throw them away, then import the file.", draft.Kept.Name)
	}
	return d.saveDraft(ctx, tx, who, draft, file)
}
