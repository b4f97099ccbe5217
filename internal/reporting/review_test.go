package reporting_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/review"
	"ropewalk.example/internal/store"
)

// One athlete, a class and the whole gym cost as many trips to the database; what
// comes crowd by crowd for a file is what the pages show.
func TestReviewOfOneOfAClassAndOfAll(t *testing.T) {
	h := fill(t)
	during := store.During{Term: h.term.TermID}
	count := func(whom store.Whom) (reporting.View, int64) {
		t.Helper()
		before := h.trips.Load()
		view, err := h.Review(t.Context(), h.gym, during, whom)
		if err != nil {
			t.Fatal(err)
		}
		return view, h.trips.Load() - before
	}
	one, few := count(store.Only(h.athletes[0].AthleteID))
	class, some := count(store.InClassDuring(h.classes[0].ClassID, during))
	all, many := count(store.Everybody())
	if few != some || some != many {
		t.Errorf("%d, %d and %d trips for one, a class and all", few, some, many)
	}
	if len(one.Athletes) != 1 || len(class.Athletes) < 5 || len(all.Athletes) != len(h.athletes) {
		t.Errorf("%d, %d and %d athletes", len(one.Athletes), len(class.Athletes), len(all.Athletes))
	}
	if _, err := one.One(); err != nil {
		t.Error(err)
	}
	if nobody, _ := count(store.Only(uuid.New())); len(nobody.Athletes) != 0 {
		t.Error("somebody unknown was reviewed")
	} else if _, err := nobody.One(); problem.KindOf(err) != problem.NotFound {
		t.Errorf("nobody: %v", err)
	}
	var each []review.Athlete
	var facts []review.Facts
	sum := (*review.Summing)(nil)
	err := h.Each(t.Context(), h.gym, during, store.Everybody(), func(v reporting.View, n int) error {
		if n != len(h.athletes) {
			t.Errorf("%d athletes are announced", n)
		}
		sum = v.Ground.Sum()
		return nil
	}, func(a review.Athlete, f review.Facts) error {
		sum.Add(a)
		each, facts = append(each, a), append(facts, f)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(facts, all.Facts) {
		t.Error("athlete by athlete other facts are read than all at once")
	}
	for i := range min(len(each), len(all.Athletes)) {
		if a, b := fmt.Sprintf("%+v", each[i]), fmt.Sprintf("%+v", all.Athletes[i]); a != b {
			t.Errorf("athlete by athlete the term was\n%s\nall at once\n%s", a, b)
		}
	}
	if len(each) != len(all.Athletes) || !reflect.DeepEqual(sum.Group(), all.Group()) {
		t.Error("athlete by athlete the class is another one than all at once")
	}
}

// A later look at an earlier day says what was said on that day.
func TestReviewAsOfADay(t *testing.T) {
	h := fill(t)
	early := h.term.StartsOn.AddDate(0, 0, 30)
	then, err := h.Review(t.Context(), h.gym, store.During{Term: h.term.TermID, Until: early}, store.Everybody())
	if err != nil {
		t.Fatal(err)
	}
	if !then.Ground.Span.AsOf.Equal(early) {
		t.Errorf("as of %s", then.Ground.Span.AsOf)
	}
	for _, f := range then.Facts {
		for _, r := range f.Results {
			if r.Day.After(early) {
				t.Fatalf("a result of %s is in a report as of %s", r.Day, early)
			}
		}
	}
}

func TestWriteComment(t *testing.T) {
	h := fill(t)
	words := reporting.Words{Term: h.term.TermID, Athlete: h.athletes[0].AthleteID, Comment: " Lands softly.\r\n", Aim: "A steady minute."}
	write := func() (gym.Comment, error) { return h.Write(t.Context(), h.owner, words) }
	kept, err := write()
	if err != nil {
		t.Fatal(err)
	}
	if kept.Draft != "Lands softly." || kept.Comment != "" || !kept.Pending() || kept.ShownAt != nil {
		t.Errorf("the draft is kept as %+v", kept)
	}
	if _, err := write(); problem.KindOf(err) != problem.Conflict {
		t.Errorf("from an older page: %v", err)
	}
	words.Revision, words.Show = kept.Revision, true
	if kept, err = write(); err != nil || kept.Comment != "Lands softly." || kept.Aim != "A steady minute." || kept.Pending() || kept.ShownAt == nil {
		t.Errorf("put into the report: %+v, %v", kept, err)
	}
	words.Revision, words.Show, words.Comment = kept.Revision, false, "Lands softly, on both feet."
	if kept, err = write(); err != nil || kept.Comment != "Lands softly." || !kept.Pending() {
		t.Errorf("typed on: %+v, %v", kept, err)
	}
	view, err := h.Review(t.Context(), h.gym, store.During{Term: h.term.TermID}, store.Only(words.Athlete))
	if err != nil || view.Facts[0].Comment.Comment != "Lands softly." {
		t.Errorf("the report says %q (%v)", view.Facts[0].Comment.Comment, err)
	}
	for field, long := range map[string]reporting.Words{
		"comment": {Term: words.Term, Athlete: words.Athlete, Comment: strings.Repeat("é", reporting.MostComment+1)},
		"aim":     {Term: words.Term, Athlete: words.Athlete, Aim: strings.Repeat("長", reporting.MostAim+1)},
	} {
		if _, err := h.Write(t.Context(), h.owner, long); problem.KindOf(err) != problem.Invalid || !strings.Contains(problem.FieldsOf(err)[field], "fewer") {
			t.Errorf("too long a %s: %v", field, err)
		}
	}
}
