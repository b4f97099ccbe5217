package store_test

import (
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// fillFloor adds what coaches see, note, set and lend.
func (b *base) fillFloor() (look gym.Judgement, caught gym.CatchNote, set gym.Assignment) {
	b.t.Helper()
	ctx := b.t.Context()
	look = gym.Judgement{JudgementID: id(80), AthleteID: ana, Stage: "rope-swing", Task: "posture", Good: true, Day: today, JudgedAt: now, JudgedBy: person}
	caught = gym.CatchNote{CatchNoteID: id(81), AthleteID: ana, Stage: "rope-swing", Day: today, Spot: "toes", Timing: "early", Hands: "wide", Height: "low",
		NotedAt: now, NotedBy: person}
	set = gym.Assignment{AssignmentID: id(82), BatchID: id(83), AthleteID: ana, Kind: "test", Stage: "rope-swing", Clause: "minute", Protocol: "base", Seconds: 60,
		Step: "bounce", Task: "", Note: "by Friday", Day: today, SetAt: now, SetBy: person}
	b.write(gymA, func(tx *store.Tx) error {
		if _, err := tx.AddJudgement(ctx, look); err != nil {
			return err
		}
		if _, err := tx.AddCatchNote(ctx, caught); err != nil {
			return err
		}
		return tx.AddAssignments(ctx, []gym.Assignment{set})
	})
	return look, caught, set
}

func TestReadingsOfTheFloorFindWhatWasKept(t *testing.T) {
	b := open(t)
	b.fill()
	look, caught, set := b.fillFloor()
	result := resultOf(ana, second, 131)
	slim := gym.Result{ResultID: result.ResultID, AthleteID: ana, Protocol: "base", Day: today, TakenAt: now, Rotations: ptr(131), Seconds: ptr(60.0), Catches: 2,
		LostSeconds: ptr(4.5), LongestRestartSeconds: ptr(2.5), StoppedClean: true, Successes: ptr(3), Attempts: ptr(5), Step: "bounce", RopeKind: "beaded",
		CountedBy: "coach", SeenByCoach: true, Timing: "app"}
	start := gym.StageDecision{DecisionID: decision, AthleteID: ana, Verdict: "start", StageTo: "rope-swing", LadderID: ladder, Version: 1,
		Reason: "first day", Evidence: []byte(`[]`), DecidedOn: today, DecidedAt: now, DecidedBy: person}
	used := gym.Rope{RopeID: rope, Label: "B1", Kind: "beaded", LengthM: 2.6, Handle: "short", Note: "red", AthleteID: ana}
	stage := gym.Stage{LadderID: ladder, Version: 1, Number: 1, Key: "rope-swing", Title: "Rope swing", Body: []byte(`{"a": 1}`)}
	house := gym.Ladder{LadderID: ladder, Key: "house", Name: "House ladder", Lang: "en", InUse: true, Version: 1, CreatedAt: now}

	for name, whom := range map[string]store.Whom{"everybody": store.Everybody(), "the class": store.InClass(class), "one": store.Only(ana)} {
		t.Run(name, func(t *testing.T) {
			check(b, "evidence", []gym.Result{slim}, func(into *[]gym.Result) store.Reading { return store.Evidence(whom, today.AddDate(0, 0, -7), into) })
			check(b, "evidence since tomorrow", []gym.Result{}, func(into *[]gym.Result) store.Reading { return store.Evidence(whom, today.AddDate(0, 0, 1), into) })
			check(b, "evidence of any age", []gym.Result{slim}, func(into *[]gym.Result) store.Reading { return store.Evidence(whom, time.Time{}, into) })
			check(b, "judgements", []gym.Judgement{look}, func(into *[]gym.Judgement) store.Reading { return store.Judgements(whom, into) })
			check(b, "catch notes", []gym.CatchNote{caught}, func(into *[]gym.CatchNote) store.Reading { return store.CatchNotes(whom, today, into) })
			check(b, "assignments", []gym.Assignment{set}, func(into *[]gym.Assignment) store.Reading { return store.Assignments(whom, today, into) })
			check(b, "decisions", []gym.StageDecision{start}, func(into *[]gym.StageDecision) store.Reading { return store.Decisions(whom, into) })
			check(b, "ropes in use", []gym.Rope{used}, func(into *[]gym.Rope) store.Reading { return store.RopesInUse(whom, into) })
		})
	}
	check(b, "nobody's evidence", []gym.Result{}, func(into *[]gym.Result) store.Reading { return store.Evidence(store.Only(ben), time.Time{}, into) })
	check(b, "the class in its order", []uuid.UUID{ben, ana}, func(into *[]uuid.UUID) store.Reading {
		return idsOf(b, store.InClass(class), into)
	})
	check(b, "the ladder in use", []gym.Ladder{house}, store.LadderInUse)
	check(b, "ladders", []gym.Ladder{house}, store.Ladders)
	check(b, "one ladder", house, func(into *gym.Ladder) store.Reading { return store.Ladder(ladder, into) })
	check(b, "versions", []gym.LadderVersion{{LadderID: ladder, Version: 1, PublishedAt: now, PublishedBy: person}},
		func(into *[]gym.LadderVersion) store.Reading { return store.LadderVersions(ladder, into) })
	check(b, "newest stages", []gym.Stage{stage}, func(into *[]gym.Stage) store.Reading { return store.StagesOf(ladder, 0, into) })
	check(b, "stages of a version", []gym.Stage{stage}, func(into *[]gym.Stage) store.Reading { return store.StagesOf(ladder, 1, into) })
	check(b, "one decision", start, func(into *gym.StageDecision) store.Reading { return store.Decision(decision, into) })
	check(b, "people ever", []gym.Person{{PersonID: person, Name: "Mara", Lang: "en", CreatedAt: now}}, store.PeopleEver)
}

// idsOf reads the athletes of whom at once and puts their ids into *into.
func idsOf(b *base, whom store.Whom, into *[]uuid.UUID) store.Reading {
	b.t.Helper()
	var athletes []gym.Athlete
	b.read(gymA, store.AthletesAmong(whom, &athletes))
	for _, a := range athletes {
		*into = append(*into, a.AthleteID)
	}
	return store.AthletesAmong(whom, &athletes)
}

func TestWhatIsTakenBackShowsNoMore(t *testing.T) {
	b := open(t)
	b.fill()
	look, caught, set := b.fillFloor()
	look.JudgementID, look.TakesBack = id(90), look.JudgementID
	caught.CatchNoteID, caught.TakesBack = id(91), caught.CatchNoteID
	set.AssignmentID, set.TakesBack = id(92), set.AssignmentID
	ctx := t.Context()
	b.write(gymA, func(tx *store.Tx) error {
		if _, err := tx.AddJudgement(ctx, look); err != nil {
			return err
		}
		if _, err := tx.AddCatchNote(ctx, caught); err != nil {
			return err
		}
		return tx.AddAssignments(ctx, []gym.Assignment{set})
	})
	check(b, "catch notes", []gym.CatchNote{}, func(into *[]gym.CatchNote) store.Reading { return store.CatchNotes(store.Only(ana), today, into) })
	check(b, "assignments", []gym.Assignment{}, func(into *[]gym.Assignment) store.Reading { return store.Assignments(store.Only(ana), today, into) })
	var looks []gym.Judgement
	b.read(gymA, store.Judgements(store.Only(ana), &looks))
	if len(looks) != 2 {
		t.Errorf("%d judgements; gates need the one taken back and what took it back", len(looks))
	}
	look.JudgementID, caught.CatchNoteID, set.AssignmentID = id(95), id(96), id(97)
	for what, again := range map[string]func(tx *store.Tx) error{
		"look":  func(tx *store.Tx) error { _, err := tx.AddJudgement(ctx, look); return err },
		"note":  func(tx *store.Tx) error { _, err := tx.AddCatchNote(ctx, caught); return err },
		"drill": func(tx *store.Tx) error { return tx.AddAssignments(ctx, []gym.Assignment{set}) },
	} {
		if err := b.Write(ctx, gymA, again); problem.KindOf(err) != problem.Conflict {
			t.Errorf("a %s taken back twice: %v, want a Conflict", what, err)
		}
	}
}

// A gate of the ladder in use that takes results of any age makes old ones be read.
func TestEvidenceIsAsOldAsTheGatesAsk(t *testing.T) {
	b := open(t)
	b.fill()
	tomorrow := today.AddDate(0, 0, 1)
	for _, test := range []struct {
		name, body string
		want       int
	}{
		{"weeks for every clause", `{"gate": {"clauses": [{"measure": "clean_run", "within_weeks": 12}]}}`, 0},
		{"a look of any age", `{"gate": {"clauses": [{"measure": "coach_judges"}]}}`, 0},
		{"one clause without weeks", `{"gate": {"clauses": [{"measure": "burst_rate", "within_weeks": 12}, {"measure": "clean_run"}]}}`, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			b.ownerDoes(`UPDATE stage SET body = $1`, test.body)
			var results []gym.Result
			b.read(gymA, store.Evidence(store.Only(ana), tomorrow, &results))
			if len(results) != test.want {
				t.Errorf("%d results, want %d", len(results), test.want)
			}
		})
	}
}

func TestOnlyOneLadderIsInUse(t *testing.T) {
	b := open(t)
	b.fill()
	ctx, other := t.Context(), id(70)
	b.write(gymA, func(tx *store.Tx) error {
		if err := tx.AddLadder(ctx, gym.Ladder{LadderID: other, Key: "other", Name: "Other", Lang: "de", CreatedAt: now}); err != nil {
			return err
		}
		stages := []gym.Stage{{Number: 1, Key: "b", Title: "B", Body: []byte(`{}`)}, {Number: 2, Key: "a", Title: "A", Body: []byte(`{}`)}}
		if err := tx.AddLadderVersion(ctx, gym.LadderVersion{LadderID: other, Version: 1, Note: "first", PublishedAt: now, PublishedBy: person}, stages); err != nil {
			return err
		}
		if err := tx.NameLadder(ctx, other, "Sprossen", "de-AT"); err != nil {
			return err
		}
		return tx.UseLadder(ctx, other)
	})
	var inUse, all []gym.Ladder
	var stages []gym.Stage
	b.read(gymA, store.LadderInUse(&inUse), store.Ladders(&all), store.Stages(&stages))
	if len(inUse) != 1 || inUse[0].Name != "Sprossen" || inUse[0].Lang != "de-AT" || len(all) != 2 || all[1].InUse {
		t.Errorf("in use: %+v of %+v", inUse, all)
	}
	if len(stages) != 2 || stages[0].Key != "b" {
		t.Errorf("stages of the ladder in use: %+v", stages)
	}
	err := b.Write(ctx, gymA, func(tx *store.Tx) error {
		return tx.AddLadderVersion(ctx, gym.LadderVersion{LadderID: other, Version: 1, PublishedAt: now}, nil)
	})
	if problem.KindOf(err) != problem.Conflict {
		t.Errorf("a version published twice: %v, want a Conflict", err)
	}
}

// Two people who change one draft must not overwrite each other.
func TestADraftFollowsTheOneKept(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	save := func(revision int, body string) error {
		return b.Write(ctx, gymA, func(tx *store.Tx) error {
			return tx.SaveLadderDraft(ctx, gym.LadderDraft{LadderID: ladder, BasedOn: 1, Revision: revision, Body: []byte(body), ChangedAt: now, ChangedBy: person})
		})
	}
	if err := save(2, `{"n": 0}`); problem.KindOf(err) != problem.Conflict {
		t.Errorf("a second change of a draft that is gone: %v, want a Conflict", err)
	}
	for revision, body := range []string{`{"n": 1}`, `{"n": 2}`} {
		if err := save(revision+1, body); err != nil {
			t.Fatal(err)
		}
	}
	for _, stale := range []int{1, 2} {
		if err := save(stale, `{"n": 9}`); problem.KindOf(err) != problem.Conflict {
			t.Errorf("revision %d after 2: %v, want a Conflict", stale, err)
		}
	}
	check(b, "the draft", []gym.LadderDraft{{LadderID: ladder, BasedOn: 1, Revision: 2, Body: []byte(`{"n": 2}`), ChangedAt: now, ChangedBy: person}},
		func(into *[]gym.LadderDraft) store.Reading { return store.LadderDraft(ladder, into) })
	check(b, "all drafts", 1, func(into *int) store.Reading {
		var drafts []gym.LadderDraft
		b.read(gymA, store.LadderDrafts(&drafts))
		*into = len(drafts)
		return store.LadderDrafts(&drafts)
	})
	b.write(gymA, func(tx *store.Tx) error { return tx.DropLadderDraft(ctx, ladder) })
	check(b, "no draft", []gym.LadderDraft{}, func(into *[]gym.LadderDraft) store.Reading { return store.LadderDraft(ladder, into) })
}

func TestARopeGoesRoundTheRack(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	loan := gym.RopeLoan{RopeLoanID: id(71), RopeID: rope, AthleteID: ben, Lent: true, Decision: []byte(`{"why": "seen"}`), Day: today, LentAt: now, LentBy: person}
	checked := gym.RopeCheck{RopeCheckID: id(72), RopeID: rope, Sound: true, Note: "coating whole", Day: today, CheckedAt: now, CheckedBy: person}
	approved := gym.SteelApproval{SteelApprovalID: id(73), AthleteID: ana, Approved: true, Reason: "no catch in weeks", Day: today, ApprovedAt: now, ApprovedBy: person}
	b.write(gymA, func(tx *store.Tx) error {
		for range 2 { // a form sent twice
			if err := tx.AddRopeLoan(ctx, loan); err != nil {
				return err
			}
			if err := tx.AddRopeCheck(ctx, checked); err != nil {
				return err
			}
			if err := tx.AddSteelApproval(ctx, approved); err != nil {
				return err
			}
			if err := tx.SetClassRopeKinds(ctx, class, []string{"cord", "beaded"}); err != nil {
				return err
			}
		}
		return tx.ChangeRope(ctx, gym.Rope{RopeID: rope, Label: "B9", Kind: "cord", LengthM: 2.5, Handle: "long"})
	})
	check(b, "one rope", gym.Rope{RopeID: rope, Label: "B9", Kind: "cord", LengthM: 2.5, Handle: "long", AthleteID: ben}, func(into *gym.Rope) store.Reading { return store.Rope(rope, into) })
	check(b, "loans", []gym.RopeLoan{loan}, func(into *[]gym.RopeLoan) store.Reading { return store.RopeLoansOf(rope, into) })
	check(b, "newest checks", []gym.RopeCheck{checked}, store.NewestRopeChecks)
	check(b, "checks", []gym.RopeCheck{checked}, func(into *[]gym.RopeCheck) store.Reading { return store.RopeChecksOf(rope, into) })
	check(b, "approvals", []gym.SteelApproval{approved}, func(into *[]gym.SteelApproval) store.Reading { return store.SteelApprovals(store.Everybody(), into) })
	check(b, "kinds of the class", []gym.ClassRopeKind{{ClassID: class, Kind: "beaded"}, {ClassID: class, Kind: "cord"}}, store.ClassRopeKinds)
	back := loan
	back.RopeLoanID, back.Lent, back.Decision = id(74), false, nil
	b.write(gymA, func(tx *store.Tx) error { return tx.AddRopeLoan(ctx, back) })
	check(b, "a rope brought back", []gym.Rope{}, func(into *[]gym.Rope) store.Reading { return store.RopesInUse(store.Everybody(), into) })
	b.write(gymA, func(tx *store.Tx) error { return tx.RetireRope(ctx, rope, now) })
	check(b, "the rack", []gym.Rope{}, store.Ropes)
}

func TestADecisionIsTakenBackOnce(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := t.Context()
	back := gym.StageDecision{DecisionID: id(75), AthleteID: ana, Verdict: "back", StageFrom: "rope-swing", LadderID: ladder, Version: 1, TakesBack: decision,
		DecidedOn: today, DecidedAt: now, DecidedBy: person}
	b.write(gymA, func(tx *store.Tx) error { return tx.AddDecisions(ctx, []gym.StageDecision{back}) })
	back.DecisionID = id(76)
	if err := b.Write(ctx, gymA, func(tx *store.Tx) error { return tx.AddDecisions(ctx, []gym.StageDecision{back}) }); problem.KindOf(err) != problem.Conflict {
		t.Errorf("taken back twice: %v, want a Conflict", err)
	}
	back.TakesBack, back.AthleteID = uuid.Nil, uuid.New()
	if err := b.Write(ctx, gymA, func(tx *store.Tx) error { return tx.AddDecisions(ctx, []gym.StageDecision{back}) }); problem.KindOf(err) != problem.NotFound {
		t.Errorf("a decision on nobody: %v, want NotFound", err)
	}
}

func TestWhatWasSeenCannotBeChanged(t *testing.T) {
	b := open(t)
	b.fill()
	b.fillFloor()
	b.twin()
	app := b.app()
	for _, table := range []string{"judgement", "catch_note", "assignment", "rope_check", "rope_loan", "steel_approval"} {
		inGym(t, app, gymA, func(tx pgx.Tx) {
			for _, column := range list[string](t, b.owner, `SELECT attname::text FROM pg_attribute WHERE attrelid = $1::regclass AND attnum > 0`, table) {
				if err := try(t, tx, `UPDATE `+table+` SET `+column+` = `+column); codeOf(err) != refusedByRights {
					t.Errorf("%s.%s can be changed: %v", table, column, err)
				}
			}
			if err := try(t, tx, `DELETE FROM `+table); codeOf(err) != refusedByRights {
				t.Errorf("rows of %s can be deleted: %v", table, err)
			}
		})
	}
}
