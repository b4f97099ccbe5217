package standing

import (
	"reflect"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
)

func shelvedLadder(t *testing.T) (gym.Ladder, []gym.Stage) {
	t.Helper()
	shipped, err := ladder.Shipped("en")
	if err != nil {
		t.Fatal(err)
	}
	id := uuid.New()
	stages, err := Stages(id, shipped)
	if err != nil {
		t.Fatal(err)
	}
	return gym.Ladder{LadderID: id, Key: shipped.Key, Name: shipped.Name, Lang: shipped.Lang, Version: shipped.Version}, stages
}

func TestAShelfReadsWhatIsKept(t *testing.T) {
	var shelf Shelf
	l, stages := shelvedLadder(t)
	want, err := Ladder(l, stages)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		got, err := shelf.Ladder(l, stages)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Fatalf("from the shelf: %v, %v", got, err)
		}
	}
	changed := append([]gym.Stage(nil), stages...)
	changed[0].Body = []byte(`{"key":"` + stages[0].Key + `","title":"Another"}`)
	got, err := shelf.Ladder(l, changed)
	if err != nil || got.Stages[0].Title != "Another" {
		t.Errorf("a changed stage reads as %q, %v", got.Stages[0].Title, err)
	}
	if got, _ := shelf.Ladder(l, stages[:3]); len(got.Stages) != 3 {
		t.Errorf("three stages read as %d", len(got.Stages))
	}
	renamed := l
	renamed.Name = "Ours"
	if got, _ := shelf.Ladder(renamed, stages); got.Name != "Ours" {
		t.Errorf("a ladder with a new name reads as %q", got.Name)
	}
	broken := append([]gym.Stage(nil), stages...)
	broken[1].Body = []byte(`{`)
	if _, err := shelf.Ladder(l, broken); err == nil {
		t.Error("a stage that cannot be read is read")
	}
}

func TestAShelfLetsTheOldestGo(t *testing.T) {
	var shelf Shelf
	first, stages := shelvedLadder(t)
	if _, err := shelf.Ladder(first, stages); err != nil {
		t.Fatal(err)
	}
	for range len(shelf.places) {
		l, stages := shelvedLadder(t)
		if _, err := shelf.Ladder(l, stages); err != nil {
			t.Fatal(err)
		}
	}
	if _, ok := shelf.find(first, stages); ok {
		t.Error("the shelf keeps more ladders than it has places")
	}
}
