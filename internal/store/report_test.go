package store_test

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/store"
)

// Two coaches who type into one comment do not overwrite each other.
func TestCommentsHaveRevisions(t *testing.T) {
	b := open(t)
	b.fill()
	save := func(revision int, words string) error {
		return b.Write(t.Context(), gymA, func(tx *store.Tx) error {
			return tx.SaveComment(t.Context(), gym.Comment{TermID: term, AthleteID: ana, Draft: words, Revision: revision, ChangedAt: now, ChangedBy: person})
		})
	}
	for _, step := range []struct {
		revision int
		words    string
		want     problem.Kind
	}{
		{2, "the second before the first", problem.Conflict},
		{1, "one", 0},
		{1, "one, from another page", problem.Conflict},
		{2, "two", 0},
		{4, "four before three", problem.Conflict},
	} {
		if err := save(step.revision, step.words); (step.want == 0) != (err == nil) || err != nil && problem.KindOf(err) != step.want {
			t.Errorf("revision %d: %v", step.revision, err)
		}
	}
	var comments []gym.Comment
	b.read(gymA, store.Comments(term, store.Everybody(), &comments))
	if len(comments) != 1 || comments[0].Draft != "two" || comments[0].ByName != "Mara" || comments[0].ShownAt != nil {
		t.Errorf("kept is %+v", comments)
	}
	err := b.Write(t.Context(), gymA, func(tx *store.Tx) error {
		return tx.SaveComment(t.Context(), gym.Comment{TermID: id(98), AthleteID: ana, Revision: 1, ChangedAt: now})
	})
	if problem.KindOf(err) != problem.NotFound {
		t.Errorf("a comment on a term that is not there: %v", err)
	}
}

// A filing is a report of the tests under way.
type filing struct {
	*base
	id uuid.UUID
}

func (f filing) do(what func(tx *store.Tx) (bool, error)) bool {
	f.t.Helper()
	var ok bool
	f.write(gymA, func(tx *store.Tx) (err error) { ok, err = what(tx); return err })
	return ok
}

func (f filing) take(attempt uuid.UUID) bool {
	return f.do(func(tx *store.Tx) (bool, error) { return tx.TakeReport(f.t.Context(), f.id, attempt) })
}

func (f filing) piece(attempt uuid.UUID, number int, body string) {
	f.write(gymA, func(tx *store.Tx) error { return tx.AddPiece(f.t.Context(), f.id, attempt, number, []byte(body)) })
}

func (f filing) finish(attempt uuid.UUID, at time.Time) bool {
	return f.do(func(tx *store.Tx) (bool, error) {
		return tx.FinishReport(f.t.Context(), f.id, attempt, 7, []byte{1}, at)
	})
}

func (f filing) now() gym.Report {
	f.t.Helper()
	var r gym.Report
	f.read(gymA, store.Report(f.id, &r))
	return r
}

func (f filing) bytes() string {
	f.t.Helper()
	var body bytes.Buffer
	if err := f.WriteReport(f.t.Context(), gymA, f.now(), &body); err != nil {
		f.t.Fatal(err)
	}
	return body.String()
}

func (f filing) pieces() int {
	f.t.Helper()
	return ask[int](f.t, f.owner, `SELECT count(*) FROM report_piece WHERE report_id = $1`, f.id)
}

func ordered(t *testing.T) filing {
	t.Helper()
	b := open(t)
	b.fill()
	f := filing{b, id(150)}
	order := gym.Report{ReportID: f.id, Kind: gym.ReportClass, Format: gym.FormatPDF, Paper: gym.PaperA4, TermID: term, ClassID: class, AsOf: today, AskedAt: now, AskedBy: person}
	for i, want := range []bool{true, false} { // the same form twice
		if added := f.do(func(tx *store.Tx) (bool, error) { return tx.AddReport(t.Context(), order) }); added != want {
			t.Fatalf("asked %d times: added is %t", i+1, added)
		}
	}
	return f
}

// Of two attempts at one file only the later counts, whichever ends first.
func TestTheLaterAttemptCounts(t *testing.T) {
	f := ordered(t)
	one, two := id(151), id(152)
	if !f.take(one) {
		t.Fatal("the first attempt could not begin")
	}
	f.piece(one, 1, "old")
	if !f.take(two) {
		t.Fatal("the second attempt could not begin")
	}
	f.piece(two, 1, "new ")
	f.piece(two, 2, "one")
	if f.do(func(tx *store.Tx) (bool, error) { return tx.StepReport(t.Context(), f.id, one, 1, 2) }) || f.finish(one, now) {
		t.Error("the first attempt still counts")
	}
	if !f.do(func(tx *store.Tx) (bool, error) { return tx.StepReport(t.Context(), f.id, two, 1, 2) }) || f.now().Done != 1 {
		t.Error("the second does not count")
	}
	f.write(gymA, func(tx *store.Tx) error { return tx.BreakReport(t.Context(), f.id, one, false, now) })
	if !f.finish(two, now) || !f.now().Ready() || f.bytes() != "new one" || f.pieces() != 2 {
		t.Errorf("%+v holds %q in %d pieces", f.now(), f.bytes(), f.pieces())
	}
	if f.take(id(153)) {
		t.Error("a file that is done was taken up again")
	}
}

func TestStoppedBrokenAndAskedAgain(t *testing.T) {
	f := ordered(t)
	stop := func() bool {
		return f.do(func(tx *store.Tx) (bool, error) { return tx.StopReport(t.Context(), f.id, now) })
	}
	again := func() bool {
		return f.do(func(tx *store.Tx) (bool, error) { return tx.AskAgain(t.Context(), f.id, today) })
	}
	if again() {
		t.Error("a file that waits was asked for again")
	}
	f.take(id(151))
	f.piece(id(151), 1, "half")
	if !stop() || f.now().State != gym.ReportStopped || f.pieces() != 0 || f.take(id(152)) || stop() {
		t.Errorf("after stopping: %+v, %d pieces", f.now(), f.pieces())
	}
	if !again() || f.now().State != gym.ReportWaiting || !f.take(id(153)) {
		t.Errorf("after asking again: %+v", f.now())
	}
	f.piece(id(153), 1, "half")
	for again, want := range map[bool]string{true: gym.ReportWaiting, false: gym.ReportBroken} {
		f.take(id(153))
		f.write(gymA, func(tx *store.Tx) error { return tx.BreakReport(t.Context(), f.id, id(153), again, now) })
		if r := f.now(); r.State != want || f.pieces() != 0 || (r.FinishedAt == nil) != again {
			t.Errorf("given up, another try follows %t: %+v, %d pieces", again, r, f.pieces())
		}
		if !again {
			f.do(func(tx *store.Tx) (bool, error) { return tx.AskAgain(t.Context(), f.id, today) })
		}
	}
}

// The bytes go in time; the row and its address stay, and the file can be made
// again.
func TestOldFilesLoseTheirBytes(t *testing.T) {
	f := ordered(t)
	forget := func(before time.Time) bool {
		return f.do(func(tx *store.Tx) (bool, error) { return tx.ForgetReport(t.Context(), f.id, before, now) })
	}
	f.take(id(151))
	f.piece(id(151), 1, "body")
	f.finish(id(151), now.AddDate(0, 0, -10))
	if forget(now.AddDate(0, 0, -20)) || !f.now().Ready() {
		t.Error("a file of ten days went after twenty")
	}
	if !forget(now.AddDate(0, 0, -5)) || f.now().Ready() || f.pieces() != 0 || forget(now.AddDate(0, 0, -5)) {
		t.Errorf("a file of ten days stayed after five: %+v", f.now())
	}
	if !f.do(func(tx *store.Tx) (bool, error) { return tx.AskAgain(t.Context(), f.id, today) }) || f.now().State != gym.ReportWaiting {
		t.Errorf("it cannot be made again: %+v", f.now())
	}
}

// A token opens its own gym, until it ends.
func TestTokens(t *testing.T) {
	b := open(t)
	b.fill()
	b.twin()
	hash, key := []byte("hash of a secret"), id(160)
	b.write(gymA, func(tx *store.Tx) error {
		_, err := tx.AddToken(t.Context(), gym.Token{TokenID: key, Name: "the club's own page", MadeAt: now, MadeBy: person}, hash)
		return err
	})
	use := func(gymID uuid.UUID, hash []byte) bool {
		t.Helper()
		used, found, err := b.UseToken(t.Context(), gymID, hash, today)
		if err != nil || found != (used.TokenID == key) {
			t.Fatalf("%+v %t %v", used, found, err)
		}
		return found
	}
	if !use(gymA, hash) || use(gymB, hash) || use(gymA, []byte("another")) {
		t.Error("the token does not open its own gym, or opens another")
	}
	var tokens []gym.Token
	b.read(gymA, store.Tokens(&tokens))
	at := slices.IndexFunc(tokens, func(t gym.Token) bool { return t.TokenID == key })
	if at < 0 || tokens[at].LastUsedOn == nil || !tokens[at].LastUsedOn.Equal(today) {
		t.Errorf("the tokens are %+v", tokens)
	}
	end := func() (ok bool) {
		b.write(gymA, func(tx *store.Tx) (err error) { ok, err = tx.EndToken(t.Context(), key, now); return err })
		return ok
	}
	if !end() || end() || use(gymA, hash) {
		t.Error("an ended token opens the gym, or ends twice")
	}
}

// What a report asks for: the term's days, whoever was in the class in it, and
// the meetings that each could come to.
func TestReadingsOfATerm(t *testing.T) {
	b := open(t)
	b.fill()
	ctx := context.WithoutCancel(t.Context())
	cara := id(100)
	at := func(week int) time.Time { return today.AddDate(0, 0, 7*week) }
	b.write(gymA, func(tx *store.Tx) error {
		if _, _, err := tx.AddAthletes(ctx, []store.NewAthlete{{Athlete: gym.Athlete{AthleteID: cara, Name: "Cara"}, NameKey: "cara"}}, now); err != nil {
			return err
		}
		if _, err := tx.Enrol(ctx, class, []uuid.UUID{cara}, at(2)); err != nil { // from the third week on
			return err
		}
		for week := -1; week <= 3; week++ { // -1 is before the term
			r := resultOf(ben, id(byte(110+week)), 100+week)
			r.Day, r.TakenAt, r.KeptOdd = at(week), now.AddDate(0, 0, 7*week), false
			if _, err := tx.AddResult(ctx, r); err != nil {
				return err
			}
			if week < 1 {
				continue
			}
			opened := &now
			if week == 3 {
				opened = nil // not held yet
			}
			s := gym.Session{SessionID: id(byte(120 + week)), ClassID: class, Day: at(week), StartsAt: now.AddDate(0, 0, 7*week), Minutes: 60, OpenedAt: opened}
			if _, err := tx.EnsureSession(ctx, s); err != nil {
				return err
			}
		}
		return nil
	})
	during := store.During{Term: term, Until: at(2)}
	var results []gym.Result
	var meetings []gym.Meeting
	var repeats []gym.Repeat
	var athletes []gym.Athlete
	var debriefs []gym.Debrief
	b.read(gymA, store.Results(store.InClassDuring(class, during), during, &results), store.Meetings(store.InClassDuring(class, during), during, &meetings),
		store.Repeats(during, 7, &repeats), store.AthletesAmong(store.InClassDuring(class, during), &athletes), store.Debriefs(store.Only(ana), during, &debriefs))
	rotations := []int{}
	for _, r := range results {
		if r.AthleteID == ben {
			rotations = append(rotations, *r.Rotations)
		}
	}
	if want := []int{100, 101, 102}; !slices.Equal(rotations, want) {
		t.Errorf("Ben's results of the term so far are %v, want %v", rotations, want)
	}
	held := map[uuid.UUID]string{}
	for _, m := range meetings {
		here := "?"
		if m.Here != nil {
			here = fmt.Sprint(*m.Here)
		}
		held[m.AthleteID] += m.Day.Format("2.1. ") + here + " "
	}
	for athlete, want := range map[uuid.UUID]string{ana: "4.11. true 11.11. ? 18.11. ? ", ben: "4.11. false 11.11. ? 18.11. ? ", cara: "18.11. ? "} {
		if held[athlete] != want {
			t.Errorf("meetings of %s are %q, want %q", athlete, held[athlete], want)
		}
	}
	pairs := []string{}
	for _, r := range repeats {
		pairs = append(pairs, fmt.Sprintf("%d then %d", r.First, r.Second))
	}
	if want := []string{"101 then 102", "100 then 101"}; !slices.Equal(pairs, want) {
		t.Errorf("the pairs of tests are %v, want %v: the newest first, none across the term's edge", pairs, want)
	}
	if len(athletes) != 3 || len(debriefs) != 1 {
		t.Errorf("%d athletes and %d debriefs, want 3 and 1", len(athletes), len(debriefs))
	}
}
