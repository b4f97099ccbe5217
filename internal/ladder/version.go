package ladder

import "reflect"

// A ChangeKind says what happened to a stage between two versions.
type ChangeKind string

// The kinds of change.
const (
	Added       ChangeKind = "added"
	Retired     ChangeKind = "retired"
	Renamed     ChangeKind = "renamed"
	Moved       ChangeKind = "moved"
	GateChanged ChangeKind = "gate"
	TextChanged ChangeKind = "text" // anything else but the title
)

// A Change is one change of one stage. From and To are the titles of a renamed
// stage, or the places of a moved one, in numbers from 1.
type Change struct {
	Kind             ChangeKind
	Stage            string // key
	Title            string // as it is now, or was if it is gone
	From, To         string
	FromPlace, Place int // 0 where it is not
}

// Diff returns what differs between two versions of a ladder: stage by stage in
// the order of the new one, then the retired ones. A stage has moved only if its
// order against the other kept stages changed, so that adding one does not move
// all that follow.
func Diff(old, next Ladder) []Change {
	var changes []Change
	moved := movedStages(old, next)
	for i, now := range next.Stages {
		j := old.index(now.Key)
		change := Change{Stage: now.Key, Title: now.Title, FromPlace: j + 1, Place: i + 1}
		add := func(kind ChangeKind) { change.Kind = kind; changes = append(changes, change) }
		if j < 0 {
			add(Added)
			continue
		}
		was := old.Stages[j]
		if moved[now.Key] {
			add(Moved)
		}
		if was.Title != now.Title {
			change.From, change.To = was.Title, now.Title
			add(Renamed)
			change.From, change.To = "", ""
		}
		if !reflect.DeepEqual(was.Gate, now.Gate) {
			add(GateChanged)
		}
		was.Number, was.Title, was.Gate = now.Number, now.Title, now.Gate
		if !reflect.DeepEqual(was, now) {
			add(TextChanged)
		}
	}
	for j, was := range old.Stages {
		if next.index(was.Key) < 0 {
			changes = append(changes, Change{Kind: Retired, Stage: was.Key, Title: was.Title, FromPlace: j + 1})
		}
	}
	return changes
}

// movedStages returns the kept stages that are not in a longest run of stages
// whose order stayed.
func movedStages(old, next Ladder) map[string]bool {
	var places []int // in old, in the order of next
	var keys []string
	for _, s := range next.Stages {
		if j := old.index(s.Key); j >= 0 {
			places, keys = append(places, j), append(keys, s.Key)
		}
	}
	length, before := make([]int, len(places)), make([]int, len(places))
	last := -1
	for i := range places {
		length[i], before[i] = 1, -1
		for j := range i {
			if places[j] < places[i] && length[j]+1 > length[i] {
				length[i], before[i] = length[j]+1, j
			}
		}
		if last < 0 || length[i] > length[last] {
			last = i
		}
	}
	moved := map[string]bool{}
	for _, key := range keys {
		moved[key] = true
	}
	for i := last; i >= 0; i = before[i] {
		delete(moved, keys[i])
	}
	return moved
}

// Place returns the key of the stage in next on which an athlete stands who stood
// on stage in old. The same stage if it is still there, wherever it is now and
// whatever it is called. If it was retired, the nearest stage that followed it in
// old and is still there: the athlete has passed everything before, and the
// gym no longer asks for the retired skill. If none followed, the nearest before;
// if nothing of old is left, or old never had the stage, the first stage of next.
//
// kept is false if the athlete's stage is another than before. Publishing a
// version should show these moves to the coach first; nothing moves by itself.
func Place(old, next Ladder, stage string) (key string, kept bool) {
	if next.index(stage) >= 0 {
		return stage, true
	}
	if i := old.index(stage); i >= 0 {
		for _, s := range old.Stages[i+1:] {
			if next.index(s.Key) >= 0 {
				return s.Key, false
			}
		}
		for i--; i >= 0; i-- {
			if next.index(old.Stages[i].Key) >= 0 {
				return old.Stages[i].Key, false
			}
		}
	}
	if len(next.Stages) == 0 {
		return "", false
	}
	return next.Stages[0].Key, false
}

// A Move is an athlete whom a new version would put on another stage.
type Move struct {
	Athlete  string
	From, To string // keys of stages
}

// Moves returns whom publishing next instead of old would move, in the order of
// standings. See [Place].
func Moves(old, next Ladder, standings []Standing) []Move {
	var moves []Move
	for _, s := range standings {
		if to, kept := Place(old, next, s.Stage); !kept {
			moves = append(moves, Move{s.Athlete, s.Stage, to})
		}
	}
	return moves
}
