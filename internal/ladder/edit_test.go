package ladder

import (
	"testing"

	"pgregory.net/rapid"
)

func order(l Ladder) string {
	var list []string
	for i, s := range l.Stages {
		if s.Number != i+1 {
			return "wrong number"
		}
		list = append(list, s.Key)
	}
	return ids(list)
}

func TestEdits(t *testing.T) {
	tests := []struct{ name, got, want string }{
		{"a new stage in the middle", order(of("a b c").With(Stage{Key: "x"}, 2)), "a x b c"},
		{"a new stage at the end", order(of("a b c").With(Stage{Key: "x"}, 99)), "a b c x"},
		{"a new stage in front", order(of("a b c").With(Stage{Key: "x"}, 0)), "x a b c"},
		{"a stage written anew stays", order(of("a b c").With(Stage{Key: "b"}, 1)), "a b c"},
		{"retired", order(of("a b c").Without("b")), "a c"},
		{"retired, but not there", order(of("a b c").Without("x")), "a b c"},
		{"up one", order(of("a b c").Moved("c", 2)), "a c b"},
		{"to the end", order(of("a b c").Moved("a", 3)), "b c a"},
		{"far beyond the end", order(of("a b c").Moved("a", 9)), "b c a"},
		{"unknown", order(of("a b c").Moved("x", 1)), "a b c"},
	}
	for _, test := range tests {
		if test.got != test.want {
			t.Errorf("%s: %s, want %s", test.name, test.got, test.want)
		}
	}
	own := english(t).Copy("tallowmere", "Tallowmere ladder")
	if own.Key != "tallowmere" || own.Version != 1 || own.Check() != nil || len(Diff(english(t), own)) != 0 {
		t.Errorf("the copy is %s, version %d", own.Key, own.Version)
	}
}

func TestEditsLeaveTheLadderAlone(t *testing.T) {
	l := of("a b c")
	l.With(Stage{Key: "b", Title: "Other"}, 1)
	l.With(Stage{Key: "x"}, 1)
	l.Without("a")
	l.Moved("a", 3)
	if got := order(l); got != "a b c" || l.Stages[1].Title != "The b" {
		t.Errorf("now %s", got)
	}
}

func TestNewKey(t *testing.T) {
	l := of("bounce criss-cross criss-cross-2 stage")
	tests := []struct{ title, want string }{
		{"Side swing", "side-swing"},
		{"Criss-cross!", "criss-cross-3"},
		{"交差", "stage-2"},
		{"  5 in a row ", "5-in-a-row"},
	}
	for _, test := range tests {
		if got := l.NewKey(test.title); got != test.want {
			t.Errorf("key of %q is %q, want %q", test.title, got, test.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		key := l.NewKey(rapid.String().Draw(t, "title"))
		if !isKey(key) || len(key) > maxKey || l.index(key) >= 0 {
			t.Fatalf("key %q", key)
		}
	})
}
