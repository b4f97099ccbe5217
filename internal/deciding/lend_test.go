package deciding

import (
	"encoding/json"
	"slices"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/standing"
	"ropewalk.example/internal/store"
)

func codes(d ladder.Decision) []string {
	var list []string
	for _, r := range d.Reasons {
		list = append(list, r.Code)
	}
	return list
}

func (h *hall) loans(rope uuid.UUID) []gym.RopeLoan {
	h.t.Helper()
	var loans []gym.RopeLoan
	if err := h.Store.Read(h.t.Context(), h.gym, store.RopeLoansOf(rope, &loans)); err != nil {
		h.t.Fatal(err)
	}
	return loans
}

func (h *hall) holder(rope uuid.UUID) uuid.UUID {
	h.t.Helper()
	var r gym.Rope
	if err := h.Store.Read(h.t.Context(), h.gym, store.Rope(rope, &r)); err != nil {
		h.t.Fatal(err)
	}
	return r.AthleteID
}

func TestSteelIsForWhoSeldomCatches(t *testing.T) {
	h := newHall(t)
	ctx := t.Context()
	lend := func(who gym.Who, athlete uuid.UUID, why string) (ladder.Decision, error) {
		return h.Lend(ctx, who, Loan{ID: uuid.New(), Rope: h.steel, Athlete: athlete, Why: why})
	}
	d, err := lend(h.coach, h.ben, "I saw him yesterday.")
	if problem.FieldsOf(err)["why"] == "" || !slices.Equal(codes(d), []string{"steel_untested", "steel_check"}) || d.Overridable() {
		t.Errorf("a rope that nobody looked at: %v, %v", codes(d), err)
	}
	if err := h.CheckRope(ctx, h.helper, uuid.New(), h.steel, true, ""); err != nil {
		t.Fatal(err)
	}
	if d, err = lend(h.coach, h.ben, ""); problem.KindOf(err) != problem.Evidence || !slices.Equal(codes(d), []string{"steel_untested"}) {
		t.Errorf("without a test: %v, %v", codes(d), err)
	}
	h.record(h.ben, 2, base(130, 1))
	if d, err = lend(h.helper, h.ben, ""); err != nil || len(d.Reasons) != 0 || h.holder(h.steel) != h.ben {
		t.Errorf("an adult with one catch: %v, %v", codes(d), err)
	}
	h.record(h.ana, 2, base(90, 5))
	if d, err = lend(h.helper, h.ana, "She is careful."); problem.KindOf(err) != problem.Forbidden || !slices.Equal(codes(d), []string{"steel_minor", "steel_catches"}) {
		t.Errorf("taken over by a helper: %v, %v", codes(d), err)
	}
	if d, err = lend(h.coach, h.ana, "One turn beside me."); err != nil || d.OverriddenBy != "Mara" {
		t.Fatalf("%+v, %v", d, err)
	}
	loans := h.loans(h.steel)
	if len(loans) != 3 || h.holder(h.steel) != h.ana {
		t.Fatalf("%d loans, held by %v", len(loans), h.holder(h.steel))
	}
	var kept ladder.Decision
	newest := slices.IndexFunc(loans, func(l gym.RopeLoan) bool { return l.Lent && l.AthleteID == h.ana })
	if err := json.Unmarshal(loans[newest].Decision, &kept); err != nil || kept.OverriddenBy != "Mara" || kept.Why != "One turn beside me." || len(kept.Reasons) != 2 {
		t.Errorf("%s, %v", loans[newest].Decision, err)
	}
	// A week later the look is due again.
	h.now = noon.AddDate(0, 0, 7)
	if d, err := h.Ask(ctx, h.coach, h.ben, h.steel); err != nil || !slices.Contains(codes(d), "steel_check") {
		t.Errorf("a week later: %v, %v", codes(d), err)
	}
	rack, err := h.Rack(ctx, h.coach)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rack.Ropes {
		if rack.Due(r) != (r.Kind == "steel") {
			t.Errorf("%s is due: %t", r.Label, rack.Due(r))
		}
	}
}

func TestACoachsWordOnSteel(t *testing.T) {
	h := newHall(t)
	ctx := t.Context()
	h.record(h.ana, 2, base(130, 0))
	if err := h.CheckRope(ctx, h.helper, uuid.New(), h.steel, true, ""); err != nil {
		t.Fatal(err)
	}
	for _, approved := range []bool{true, false} {
		if err := h.ApproveSteel(ctx, h.coach, h.ana, approved, "Seen for a term."); err != nil {
			t.Fatal(err)
		}
		d, err := h.Ask(ctx, h.coach, h.ana, h.steel)
		if err != nil || slices.Contains(codes(d), "steel_minor") == approved {
			t.Errorf("approved %t: %v, %v", approved, codes(d), err)
		}
		h.now = h.now.Add(1)
	}
	for name, err := range map[string]error{
		"without a reason": h.ApproveSteel(ctx, h.coach, h.ana, true, " "),
		"by a helper":      h.ApproveSteel(ctx, h.helper, h.ana, true, "why"),
		"of nobody":        h.ApproveSteel(ctx, h.coach, uuid.New(), true, "why"),
	} {
		if err == nil {
			t.Errorf("%s: kept", name)
		}
	}
}

func TestAClassUsesItsKinds(t *testing.T) {
	h := newHall(t)
	ctx := t.Context()
	if err := h.SetClassKinds(ctx, h.coach, h.class, []string{"beaded"}); err != nil {
		t.Fatal(err)
	}
	if d, err := h.Ask(ctx, h.coach, h.ana, h.cord); err != nil || !slices.Equal(codes(d), []string{"class_rope"}) || !d.Overridable() {
		t.Errorf("%v, %v", codes(d), err)
	}
	if err := h.SetClassKinds(ctx, h.coach, h.class, nil); err != nil {
		t.Fatal(err)
	}
	if d, err := h.Ask(ctx, h.coach, h.ana, h.cord); err != nil || len(d.Reasons) != 0 {
		t.Errorf("no list is every kind: %v, %v", codes(d), err)
	}
	if err := h.SetClassKinds(ctx, h.coach, h.class, []string{"wire"}); problem.KindOf(err) != problem.Invalid {
		t.Errorf("an unknown kind: %v", err)
	}
}

func TestOneSkillOnOneRope(t *testing.T) {
	h := newHall(t)
	h.now = noon.AddDate(0, 0, -10)
	h.place("steady-minute", h.ben)
	h.now = noon
	h.record(h.ben, 20, gym.Result{Protocol: "clean_run", Rotations: ptr(3), RopeKind: "cloth"}) // before the stage
	h.record(h.ben, 8, base(100, 0))
	d, err := h.Lend(t.Context(), h.helper, Loan{ID: uuid.New(), Rope: h.cord, Athlete: h.ben})
	if err != nil || d.Outcome() != ladder.Nudged || d.Reasons[0].Values["from"] != "beaded" {
		t.Errorf("%+v, %v", d, err)
	}
	if g, a := h.load(h.ben); a.Known.Rope != ladder.Cord || standing.SkillRope(a.Place, a.Results) != "beaded" || len(g.Athletes) != 1 {
		t.Errorf("uses %s, began on %s", a.Known.Rope, standing.SkillRope(a.Place, a.Results))
	}
	for range 2 {
		if err := h.Return(t.Context(), h.helper, h.cord); err != nil {
			t.Fatal(err)
		}
	}
	if h.holder(h.cord) != uuid.Nil || len(h.loans(h.cord)) != 2 {
		t.Errorf("held by %v after %d lines", h.holder(h.cord), len(h.loans(h.cord)))
	}
}

func TestARopeThatIsNotSound(t *testing.T) {
	h := newHall(t)
	ctx := t.Context()
	if err := h.CheckRope(ctx, h.helper, uuid.New(), h.beaded, false, "end loose"); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Lend(ctx, h.coach, Loan{ID: uuid.New(), Rope: h.beaded, Athlete: h.ben, Why: "only today"}); problem.KindOf(err) != problem.Evidence {
		t.Errorf("%v", err)
	}
	h.now = h.now.Add(1e9)
	if err := h.CheckRope(ctx, h.helper, uuid.New(), h.beaded, true, "mended"); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Lend(ctx, h.coach, Loan{ID: uuid.New(), Rope: h.beaded, Athlete: h.ben}); err != nil {
		t.Error(err)
	}
	if _, err := h.Lend(ctx, h.coach, Loan{ID: uuid.New(), Rope: uuid.New(), Athlete: h.ben}); problem.KindOf(err) != problem.NotFound {
		t.Errorf("a rope that is not there: %v", err)
	}
}

func TestTheRack(t *testing.T) {
	h := newHall(t)
	ctx := t.Context()
	for _, label := range []string{"B10", "B2", "B"} {
		if err := h.AddRope(ctx, h.helper, gym.Rope{Label: " " + label + " ", Kind: "beaded", LengthM: 2.4}); err != nil {
			t.Fatal(err)
		}
	}
	rack, err := h.Rack(ctx, h.coach)
	if err != nil {
		t.Fatal(err)
	}
	var labels []string
	for _, r := range rack.Ropes {
		labels = append(labels, r.Label)
	}
	if !slices.Equal(labels, []string{"B", "B2", "B10", "beaded", "cord", "steel"}) {
		t.Errorf("%v", labels)
	}
	for name, r := range map[string]gym.Rope{"label": {Kind: "beaded"}, "kind": {Label: "X", Kind: "wire"}, "length": {Label: "X", Kind: "cord", LengthM: 9},
		"handle": {Label: "X", Kind: "cord", Handle: string(make([]rune, 90))}, "note": {Label: "X", Kind: "cord", Note: string(make([]rune, 300))}} {
		if err := h.AddRope(ctx, h.coach, r); problem.FieldsOf(err)[name] == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := h.ChangeRope(ctx, h.coach, gym.Rope{RopeID: h.cord, Label: "P1", Kind: "cord", LengthM: 2.8, Handle: "short"}); err != nil {
		t.Fatal(err)
	}
	if err := h.ChangeRope(ctx, h.coach, gym.Rope{RopeID: h.cord, Label: "B2", Kind: "cord"}); problem.KindOf(err) != problem.Conflict {
		t.Errorf("a label that is taken: %v", err)
	}
	if err := h.RetireRope(ctx, h.coach, h.cord); err != nil {
		t.Fatal(err)
	}
	if rack, err = h.Rack(ctx, h.coach); err != nil || len(rack.Ropes) != 5 {
		t.Errorf("%d ropes, %v", len(rack.Ropes), err)
	}
}
