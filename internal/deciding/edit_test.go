package deciding

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

// change applies one change to the ladder that ships, or ends the test.
func (h *hall) change(do func(l ladder.Ladder) ladder.Ladder) Draft {
	h.t.Helper()
	draft := h.draft(h.ladder)
	if err := h.Change(h.t.Context(), h.coach, h.ladder, draft.Revision, func(l ladder.Ladder) (ladder.Ladder, error) { return do(l), nil }); err != nil {
		h.t.Fatal(err)
	}
	return h.draft(h.ladder)
}

func (h *hall) draft(id uuid.UUID) Draft {
	h.t.Helper()
	draft, err := h.Draft(h.t.Context(), h.coach, id)
	if err != nil {
		h.t.Fatal(err)
	}
	return draft
}

func (h *hall) publish(draft Draft, moves int) error {
	_, err := h.Publish(h.t.Context(), h.coach, Publication{Ladder: draft.Kept.LadderID, Revision: draft.Revision, Moves: moves, Note: "  clearer  "})
	return err
}

// easier lowers the bar of a stage's first clause to one result.
func easier(stage string) func(l ladder.Ladder) ladder.Ladder {
	return func(l ladder.Ladder) ladder.Ladder {
		s, _ := l.Stage(stage)
		s.Gate.Clauses = slices.Clone(s.Gate.Clauses)
		s.Gate.Clauses[0].Results, s.Gate.Clauses[0].Days = 1, 1
		return l.With(s, s.Number)
	}
}

func TestNothingCountsBeforeItIsPublished(t *testing.T) {
	h := newHall(t)
	h.place("steady-minute", h.ben)
	h.record(h.ben, 1, base(100, 1))
	state := func() ladder.State {
		g, a := h.load(h.ben)
		v, _ := g.Verdict(a, "steady-minute")
		return v.State
	}
	if d := h.draft(h.ladder); d.Changed() || d.Revision != 0 {
		t.Errorf("without a change: %+v", d)
	}
	draft := h.change(easier("steady-minute"))
	if !draft.Changed() || len(draft.Changes()) != 1 || draft.Changes()[0].Kind != ladder.GateChanged {
		t.Errorf("%v", draft.Changes())
	}
	if state() != ladder.NotYet {
		t.Error("a draft counts already")
	}
	outlook, err := h.Outlook(t.Context(), h.coach, draft)
	if err != nil {
		t.Fatal(err)
	}
	if len(outlook.Moves) != 0 || len(outlook.Gates) != 1 || !slices.Equal(outlook.Gates[0].Gained, []string{h.ben.String()}) || len(outlook.Gates[0].Standing) != 1 {
		t.Errorf("%+v", outlook)
	}
	if outlook.Athletes[h.ben.String()].Name != "Ben" {
		t.Error("nobody can be named")
	}
	if err := h.publish(draft, 0); err != nil {
		t.Fatal(err)
	}
	if state() != ladder.Met {
		t.Error("the published gate does not count")
	}
	after := h.draft(h.ladder)
	if after.Kept.Version != 2 || after.Revision != 0 || after.Changed() {
		t.Errorf("after publishing: version %d, revision %d", after.Kept.Version, after.Revision)
	}
	var versions []gym.LadderVersion
	var first []gym.Stage
	if err := h.Store.Read(t.Context(), h.gym, store.LadderVersions(h.ladder, &versions), store.StagesOf(h.ladder, 1, &first)); err != nil {
		t.Fatal(err)
	}
	if len(versions) != 2 || versions[0].Note != "clearer" || versions[0].PublishedBy != h.coach.PersonID || len(first) != 16 {
		t.Errorf("%+v, %d stages in version 1", versions, len(first))
	}
	if err := h.publish(after, 0); problem.KindOf(err) != problem.Conflict {
		t.Errorf("published without a change: %v", err)
	}
}

func TestTwoCoachesDoNotOverwriteEachOther(t *testing.T) {
	h := newHall(t)
	stale := h.draft(h.ladder)
	h.change(easier("steady-minute"))
	err := h.Change(t.Context(), h.coach, h.ladder, stale.Revision, func(l ladder.Ladder) (ladder.Ladder, error) { return l.Without("first-jumps"), nil })
	if problem.KindOf(err) != problem.Conflict {
		t.Errorf("a change of an older state: %v", err)
	}
	seen := h.draft(h.ladder)
	h.change(func(l ladder.Ladder) ladder.Ladder { return l.Moved("first-jumps", 1) })
	if err := h.publish(seen, 0); problem.KindOf(err) != problem.Conflict {
		t.Errorf("published what nobody saw: %v", err)
	}
	if err := h.Discard(t.Context(), h.coach, h.ladder); err != nil {
		t.Fatal(err)
	}
	if d := h.draft(h.ladder); d.Changed() || d.Revision != 0 {
		t.Errorf("after throwing away: %+v", d.Changes())
	}
}

func TestAChangeThatWouldBreakTheLadderIsNotKept(t *testing.T) {
	h := newHall(t)
	err := h.Change(t.Context(), h.coach, h.ladder, 0, func(l ladder.Ladder) (ladder.Ladder, error) {
		s := l.Stages[3]
		s.Gate.Clauses = slices.Clone(s.Gate.Clauses)
		s.Gate.Clauses[0].Days = 9
		return l.With(s, s.Number), nil
	})
	file, ok := errors.AsType[*ladder.FileError](err)
	if !ok || file.Problems[0].Path != "/stages/3/gate/clauses/0" {
		t.Errorf("%v", err)
	}
	if d := h.draft(h.ladder); d.Revision != 0 {
		t.Error("a broken change was kept")
	}
	refused := errors.New("no")
	if err := h.Change(t.Context(), h.coach, h.ladder, 0, func(l ladder.Ladder) (ladder.Ladder, error) { return l, refused }); !errors.Is(err, refused) {
		t.Errorf("%v", err)
	}
	for name, err := range map[string]error{
		"change":  h.Change(t.Context(), h.helper, h.ladder, 0, func(l ladder.Ladder) (ladder.Ladder, error) { return l, nil }),
		"discard": h.Discard(t.Context(), h.helper, h.ladder),
		"use":     h.UseLadder(t.Context(), h.helper, h.ladder, 0),
	} {
		if problem.KindOf(err) != problem.Forbidden {
			t.Errorf("%s by a helper: %v", name, err)
		}
	}
}

func TestARetiredStageMovesItsAthletesOnTheRecord(t *testing.T) {
	h := newHall(t)
	h.place("alternate-step", h.ana, h.ben)
	h.place("changes-of-pace", h.cleo)
	draft := h.change(func(l ladder.Ladder) ladder.Ladder { return l.Without("alternate-step") })
	outlook, err := h.Outlook(t.Context(), h.coach, draft)
	if err != nil {
		t.Fatal(err)
	}
	if len(outlook.Moves) != 2 || outlook.Moves[0].To != "changes-of-pace" {
		t.Fatalf("%+v", outlook.Moves)
	}
	if err := h.publish(draft, 1); problem.KindOf(err) != problem.Conflict {
		t.Errorf("published with other moves than seen: %v", err)
	}
	if err := h.publish(draft, 2); err != nil {
		t.Fatal(err)
	}
	_, ana := h.load(h.ana)
	_, cleo := h.load(h.cleo)
	if newest := ana.Decisions[0]; newest.Verdict != standing.Moved || newest.StageFrom != "alternate-step" || newest.Version != 2 || newest.Reason == "" {
		t.Errorf("%+v", newest)
	}
	if ana.Place.Stage != "changes-of-pace" || len(cleo.Decisions) != 1 {
		t.Errorf("Ana stands on %s, Cleo has %d decisions", ana.Place.Stage, len(cleo.Decisions))
	}
}

func TestACopyIsChosenAndLeftAgain(t *testing.T) {
	h := newHall(t)
	h.place("every-fourth", h.ben)
	h.place("first-jumps", h.ana)
	id, err := h.CopyLadder(t.Context(), h.coach, h.ladder, " Ours ")
	if err != nil {
		t.Fatal(err)
	}
	copied := h.draft(id)
	if copied.Kept.Key != "ours" || copied.Kept.Name != "Ours" || copied.Kept.InUse || len(copied.Published.Stages) != 16 {
		t.Fatalf("%+v", copied.Kept)
	}
	again, err := h.CopyLadder(t.Context(), h.coach, h.ladder, "Ours")
	if err != nil || h.draft(again).Kept.Key != "ours-2" {
		t.Errorf("a second copy of that name: %s, %v", h.draft(again).Kept.Key, err)
	}
	for _, name := range []string{"", strings.Repeat("x", 81)} {
		if _, err := h.CopyLadder(t.Context(), h.coach, h.ladder, name); problem.FieldsOf(err)["name"] == "" {
			t.Errorf("a copy called %q: %v", name, err)
		}
	}
	if err := h.Change(t.Context(), h.coach, id, 0, func(l ladder.Ladder) (ladder.Ladder, error) {
		return l.Without("every-fourth").With(ladder.Stage{Key: "own", Title: "Own", Purpose: "Ours.",
			Gate: ladder.Gate{Clauses: []ladder.Clause{{Key: "seen", Measure: ladder.CoachJudges, Task: "own", TaskText: "own", Results: 1, Days: 1}}}}, 1), nil
	}); err != nil {
		t.Fatal(err)
	}
	if err := h.publish(h.draft(id), 0); err != nil { // not in use: nobody moves
		t.Fatal(err)
	}
	outlook, old, err := h.UseOutlook(t.Context(), h.coach, h.draft(id))
	if err != nil || len(outlook.Moves) != 1 || outlook.Moves[0].To != "two-three-five" || old.Key != "doubles" {
		t.Fatalf("%+v, %v", outlook.Moves, err)
	}
	if err := h.UseLadder(t.Context(), h.coach, id, 0); problem.KindOf(err) != problem.Conflict {
		t.Errorf("other moves than seen: %v", err)
	}
	if err := h.UseLadder(t.Context(), h.coach, id, 1); err != nil {
		t.Fatal(err)
	}
	h.now = h.now.AddDate(0, 0, 1)
	if _, err := h.Decide(t.Context(), h.coach, Decision{Athlete: h.ana, From: "first-jumps", To: "own", Reason: "Ours first."}); err != nil {
		t.Fatal(err)
	}
	h.now = h.now.AddDate(0, 0, 1)
	// Back on the old ladder Ana stands where she last stood on it.
	outlook, _, err = h.UseOutlook(t.Context(), h.coach, h.draft(h.ladder))
	if err != nil || len(outlook.Moves) != 1 || outlook.Moves[0] != (ladder.Move{Athlete: h.ana.String(), From: "own", To: "first-jumps"}) {
		t.Fatalf("%+v, %v", outlook.Moves, err)
	}
	if err := h.UseLadder(t.Context(), h.coach, h.ladder, 1); err != nil {
		t.Fatal(err)
	}
	if _, ana := h.load(h.ana); ana.Place.Stage != "first-jumps" {
		t.Errorf("Ana stands on %s", ana.Place.Stage)
	}
}

func TestALadderFileGoesRound(t *testing.T) {
	h := newHall(t)
	shipped := h.draft(h.ladder).Published
	write := func(l ladder.Ladder) []byte {
		data, err := l.Encode()
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	counts := func() (ladders, drafts int) {
		var all []gym.Ladder
		var open []gym.LadderDraft
		if err := h.Store.Read(t.Context(), h.gym, store.Ladders(&all), store.LadderDrafts(&open)); err != nil {
			t.Fatal(err)
		}
		return len(all), len(open)
	}
	broken := strings.Replace(string(write(shipped)), `"days": 2`, `"days": 7`, 1)
	_, err := h.Import(t.Context(), h.coach, []byte(broken))
	file, ok := errors.AsType[*ladder.FileError](err)
	if !ok || file.Problems[0].Line < 2 {
		t.Fatalf("a broken file: %v", err)
	}
	if ladders, drafts := counts(); ladders != 1 || drafts != 0 {
		t.Errorf("a broken file left %d ladders and %d drafts", ladders, drafts)
	}
	other := shipped.Copy("elsewhere", "From elsewhere")
	done, err := h.Import(t.Context(), h.coach, write(other))
	if err != nil || done.Draft {
		t.Fatalf("%+v, %v", done, err)
	}
	if got := h.draft(done.Ladder); got.Kept.Name != "From elsewhere" || got.Kept.InUse || len(ladder.Diff(shipped, got.Published)) > 0 {
		t.Errorf("%+v", got.Kept)
	}
	renamed := shipped
	renamed.Name = "Renamed"
	done, err = h.Import(t.Context(), h.coach, write(renamed))
	if err != nil || !done.Draft || done.Ladder != h.ladder {
		t.Fatalf("%+v, %v", done, err)
	}
	draft := h.draft(h.ladder)
	if !draft.Changed() || draft.Ladder.Name != "Renamed" || draft.Published.Name == "Renamed" {
		t.Errorf("%+v", draft.Ladder.Name)
	}
	if _, err := h.Import(t.Context(), h.coach, write(renamed)); problem.KindOf(err) != problem.Conflict {
		t.Errorf("a file over changes that are not published: %v", err)
	}
	if err := h.publish(draft, 0); err != nil {
		t.Fatal(err)
	}
	if got := h.draft(h.ladder); got.Kept.Name != "Renamed" {
		t.Errorf("published under the name %s", got.Kept.Name)
	}
	if _, err := h.Import(t.Context(), h.helper, write(shipped.Copy("other", "Other"))); problem.KindOf(err) != problem.Forbidden {
		t.Errorf("by a helper: %v", err)
	}
}

func TestAGymWithoutALadder(t *testing.T) {
	h := newHall(t)
	h.owner(`UPDATE ladder SET in_use = false`)
	g, err := h.Load(t.Context(), h.coach, store.Everybody())
	if err != nil || len(g.Ladder.Stages) != 0 {
		t.Fatalf("%d stages, %v", len(g.Ladder.Stages), err)
	}
	if _, err := h.Decide(t.Context(), h.coach, Decision{Athlete: h.ana, To: "first-jumps", Reason: "why"}); problem.KindOf(err) != problem.Invalid {
		t.Errorf("placed on no ladder: %v", err)
	}
	for range 2 {
		if err := h.UseShipped(t.Context(), h.coach); err != nil {
			t.Fatal(err)
		}
	}
	if g, err = h.Load(t.Context(), h.coach, store.Everybody()); err != nil || len(g.Ladder.Stages) != 16 {
		t.Errorf("%d stages, %v", len(g.Ladder.Stages), err)
	}
}
