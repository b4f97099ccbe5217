package reporting

import (
	"context"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"golang.org/x/text/unicode/norm"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// How long a comment and an aim may be, in letters: together they fit on a
// printed page with everything else.
const (
	MostComment = 700
	MostAim     = 200
)

// Words are what a coach typed about one athlete's term.
type Words struct {
	Term     uuid.UUID
	Athlete  uuid.UUID
	Revision int // of the comment that the coach saw, 0 for none
	Comment  string
	Aim      string
	Show     bool // put them into the report; else they are kept as a draft
}

// Write keeps what a coach typed, as a draft or for the report to show, and
// returns the comment as it is kept then. Nothing typed is lost to a colleague:
// who saw an older comment than the one kept gets a Conflict.
func (r *Reporting) Write(ctx context.Context, who gym.Who, w Words) (gym.Comment, error) {
	w.Comment, w.Aim = tidy(w.Comment), tidy(w.Aim)
	wrong := map[string]string{}
	if n := len([]rune(w.Comment)); n > MostComment {
		wrong["comment"] = fmt.Sprintf("Write the comment in %d letters or fewer. It has %d now.", MostComment, n)
	}
	if n := len([]rune(w.Aim)); n > MostAim {
		wrong["aim"] = fmt.Sprintf("Write the aim in %d letters or fewer. It has %d now.", MostAim, n)
	}
	if err := problem.Form(wrong); err != nil {
		return gym.Comment{}, err
	}
	var kept gym.Comment
	err := r.Store.Write(ctx, who.GymID, func(tx *store.Tx) error {
		var before []gym.Comment
		if err := tx.Read(ctx, store.Comments(w.Term, store.Only(w.Athlete), &before)); err != nil {
			return err
		}
		kept = gym.Comment{TermID: w.Term, AthleteID: w.Athlete}
		if len(before) > 0 {
			kept = before[0]
		}
		now := r.Now()
		kept.Draft, kept.DraftAim, kept.Revision, kept.ChangedAt, kept.ChangedBy = w.Comment, w.Aim, w.Revision+1, now, who.ID()
		if w.Show {
			kept.Comment, kept.Aim, kept.ShownAt = w.Comment, w.Aim, &now
		}
		return tx.SaveComment(ctx, kept)
	})
	return kept, err
}

// tidy keeps typed words in one form, without blank ends.
func tidy(words string) string {
	words = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(words)
	return norm.NFC.String(strings.TrimSpace(words))
}
