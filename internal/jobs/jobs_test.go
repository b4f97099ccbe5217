package jobs

import (
	"bytes"
	"context"
	"crypto/sha256"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"

	"ropewalk.example/internal/account"
	"ropewalk.example/internal/demo"
	"ropewalk.example/internal/demoseed"
	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/metrics"
	"ropewalk.example/internal/report"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
	"ropewalk.example/internal/testdb"
)

// A hall is the invented gym with a queue of its own.
type hall struct {
	*reporting.Reporting
	t        *testing.T
	jobs     *Jobs
	schema   *pgx.Conn // of the schema's owner
	gym      uuid.UUID
	term     uuid.UUID
	class    uuid.UUID
	athletes []gym.Athlete
	events   <-chan *river.Event
}

func fill(t *testing.T) *hall {
	t.Helper()
	db := testdb.New(t)
	st, err := store.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	hasher, err := account.NewHasher()
	if err != nil {
		t.Fatal(err)
	}
	seeder := demoseed.Seeder{Store: st, Hasher: hasher, Log: slog.New(slog.DiscardHandler)}
	if _, err := seeder.Fill(t.Context(), demo.Now()); err != nil {
		t.Fatal(err)
	}
	h := &hall{t: t, gym: demoseed.GymID(), Reporting: &reporting.Reporting{Store: st, Now: demo.Now}}
	if h.schema, err = pgx.Connect(t.Context(), db.OwnerURL); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.schema.Close(context.WithoutCancel(t.Context())) })
	var terms []gym.Term
	var classes []gym.Class
	if err := st.Read(t.Context(), h.gym, store.Terms(&terms), store.Classes(&classes), store.AthletesAmong(store.Everybody(), &h.athletes)); err != nil {
		t.Fatal(err)
	}
	h.class = classes[0].ClassID
	for _, term := range terms {
		if !demo.Now().Before(term.StartsOn) {
			h.term = term.TermID
		}
	}
	h.jobs = h.queue(false)
	return h
}

// queue returns a queue of this hall that has not begun to work.
func (h *hall) queue(asleep bool) *Jobs {
	h.t.Helper()
	j, err := New(h.t.Context(), Options{Store: h.Store, Reporting: h.Reporting, Log: slog.New(slog.DiscardHandler), Metrics: metrics.New("test"), Asleep: asleep,
		Voices: map[string]report.Voice{"x-loud": {Lang: "x-loud", Say: strings.ToUpper}}})
	if err != nil {
		h.t.Fatal(err)
	}
	return j
}

// start lets the queue work until the test ends.
func (h *hall) start() {
	h.t.Helper()
	h.events, _ = h.jobs.client.Subscribe(river.EventKindJobCompleted, river.EventKindJobFailed)
	if err := h.jobs.Start(h.t.Context()); err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(func() {
		if err := h.jobs.Stop(context.WithoutCancel(h.t.Context())); err != nil {
			h.t.Error(err)
		}
	})
}

// ended waits until so many jobs on files have ended, well or not.
func (h *hall) ended(count int) {
	h.t.Helper()
	for count > 0 {
		select {
		case event := <-h.events:
			if event.Job.Kind == (fileArgs{}).Kind() {
				count--
			}
		case <-time.After(time.Minute):
			h.t.Fatalf("%d jobs did not end within a minute", count)
		}
	}
}

func (h *hall) order(kind, format string) reporting.Order {
	o := reporting.Order{ID: uuid.New(), Kind: kind, Format: format}
	if format == gym.FormatPDF {
		o.Paper = gym.PaperA4
	}
	switch kind {
	case gym.ReportAthlete:
		o.Term, o.Athlete = h.term, h.athletes[0].AthleteID
	case gym.ReportClass:
		o.Term, o.Class = h.term, h.class
	case gym.ReportGym:
		o.Term = h.term
	case gym.ReportAthleteData:
		o.Athlete = h.athletes[0].AthleteID
	}
	return o
}

func (h *hall) ask(gymID uuid.UUID, o reporting.Order) {
	h.t.Helper()
	if err := h.Ask(h.t.Context(), gym.Who{GymID: gymID, PersonID: uuid.New(), Role: gym.Owner}, o); err != nil {
		h.t.Fatal(err)
	}
}

func (h *hall) file(gymID, id uuid.UUID) gym.Report {
	h.t.Helper()
	var r gym.Report
	if err := h.Store.Read(h.t.Context(), gymID, store.Report(id, &r)); err != nil {
		h.t.Fatal(err)
	}
	return r
}

func (h *hall) bytes(gymID uuid.UUID, r gym.Report) []byte {
	h.t.Helper()
	var body bytes.Buffer
	if err := h.Store.WriteReport(h.t.Context(), gymID, r, &body); err != nil {
		h.t.Fatal(err)
	}
	return body.Bytes()
}

func (h *hall) pieces() (n int) {
	h.t.Helper()
	if err := h.schema.QueryRow(h.t.Context(), `SELECT count(*) FROM report_piece`).Scan(&n); err != nil {
		h.t.Fatal(err)
	}
	return n
}

func (h *hall) schemaDoes(sql string) {
	h.t.Helper()
	if _, err := h.schema.Exec(h.t.Context(), sql); err != nil {
		h.t.Fatalf("%s: %v", sql, err)
	}
}

// The queue's tables are those that River itself would make.
func TestRiverWouldAddNothing(t *testing.T) {
	db := testdb.New(t)
	st, err := store.Open(t.Context(), db.AppURL)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	pool, err := st.SessionPool(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(pool.Close)
	m, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Schema: Schema})
	if err != nil {
		t.Fatal(err)
	}
	checked, err := m.Validate(t.Context(), nil)
	if err != nil || !checked.OK {
		t.Errorf("River would add %v (%v)", checked.Messages, err)
	}
}

// Every kind of file in every format is made, has the checksum that is kept, and
// is the same when it is made again from the same data.
func TestFilesOfEveryKind(t *testing.T) {
	h := fill(t)
	h.start()
	begins := map[string]string{gym.FormatPDF: "%PDF-1.7", gym.FormatXLSX: "PK", gym.FormatCSV: "PK", gym.FormatZip: "PK"}
	for _, kind := range []string{gym.ReportAthlete, gym.ReportClass, gym.ReportGym, gym.ReportAthleteData, gym.ReportGymData} {
		formats := []string{gym.FormatPDF, gym.FormatXLSX, gym.FormatCSV}
		if kind == gym.ReportAthleteData || kind == gym.ReportGymData {
			formats = []string{gym.FormatZip}
		}
		for _, format := range formats {
			o := h.order(kind, format)
			h.ask(h.gym, o)
			h.ended(1)
			first := h.file(h.gym, o.ID)
			body := h.bytes(h.gym, first)
			sum := sha256.Sum256(body)
			if !first.Ready() || !bytes.Equal(first.SHA256, sum[:]) || int64(len(body)) != first.Bytes || !strings.HasPrefix(string(body), begins[format]) {
				t.Errorf("%s of %s: %+v with %d bytes", format, kind, first, len(body))
			}
			if err := h.Again(t.Context(), gym.Who{GymID: h.gym, Role: gym.Owner}, o.ID); err != nil {
				t.Fatal(err)
			}
			h.ended(1)
			if second := h.file(h.gym, o.ID); !bytes.Equal(second.SHA256, first.SHA256) {
				t.Errorf("%s of %s came out different the second time", format, kind)
			}
		}
	}
}

// A PDF is written in the language that was asked for, the second time too; in
// English where this program knows no such language.
func TestFilesSpeakALanguage(t *testing.T) {
	h := fill(t)
	h.start()
	for asked, want := range map[string][2]string{"": {"en", "Whole gym"}, "x-loud": {"x-loud", "WHOLE GYM"}, "x-other": {"en", "Whole gym"}} {
		o := h.order(gym.ReportGym, gym.FormatPDF)
		o.Language = asked
		h.ask(h.gym, o)
		h.ended(1)
		for range 2 {
			body := h.bytes(h.gym, h.file(h.gym, o.ID))
			if !bytes.Contains(body, []byte("<rdf:li>"+want[0]+"</rdf:li>")) || !bytes.Contains(body, []byte(want[1])) {
				t.Errorf("asked for %q: the file does not say that it is in %s, or not %q", asked, want[0], want[1])
			}
			if err := h.Again(t.Context(), gym.Who{GymID: h.gym, Role: gym.Owner}, o.ID); err != nil {
				t.Fatal(err)
			}
			h.ended(1)
		}
	}
}

// What was stopped before or while it was made leaves nothing behind.
func TestStoppedFiles(t *testing.T) {
	h := fill(t)
	owner := gym.Who{GymID: h.gym, PersonID: uuid.New(), Role: gym.Owner}
	early, late := h.order(gym.ReportClass, gym.FormatPDF), h.order(gym.ReportGym, gym.FormatPDF)
	h.ask(h.gym, early)
	if err := h.Stop(t.Context(), owner, early.ID); err != nil {
		t.Fatal(err)
	}
	h.start()
	h.ended(1)
	if r := h.file(h.gym, early.ID); r.State != gym.ReportStopped {
		t.Errorf("stopped before it began: %+v", r)
	}
	// While others hold the results, the worker waits in the middle of its work.
	h.schemaDoes(`BEGIN; LOCK TABLE result IN ACCESS EXCLUSIVE MODE`)
	h.ask(h.gym, late)
	for h.file(h.gym, late.ID).State == gym.ReportWaiting {
		time.Sleep(10 * time.Millisecond)
	}
	if err := h.Stop(t.Context(), owner, late.ID); err != nil {
		t.Fatal(err)
	}
	h.schemaDoes(`COMMIT`)
	h.ended(1)
	if r := h.file(h.gym, late.ID); r.State != gym.ReportStopped || h.pieces() != 0 {
		t.Errorf("stopped while it was made: %+v, %d pieces", r, h.pieces())
	}
}

// What goes wrong is tried again; after the last try people are told, and can
// ask once more.
func TestAnotherTry(t *testing.T) {
	h := fill(t)
	h.start()
	o := h.order(gym.ReportClass, gym.FormatXLSX)
	h.schemaDoes(`REVOKE INSERT ON report_piece FROM ropewalk_app`)
	h.ask(h.gym, o)
	for try := 1; try <= tries; try++ {
		h.ended(1)
		want := gym.ReportWaiting
		if try == tries {
			want = gym.ReportBroken
		}
		if r := h.file(h.gym, o.ID); r.State != want {
			t.Fatalf("after try %d: %+v", try, r)
		}
		if try < tries { // now, rather than in a while
			jobs, err := h.jobs.client.JobList(t.Context(), river.NewJobListParams().Kinds((fileArgs{}).Kind()))
			if err != nil || len(jobs.Jobs) != 1 {
				t.Fatal(jobs, err)
			}
			if _, err := h.jobs.client.JobRetry(t.Context(), jobs.Jobs[0].ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	h.schemaDoes(`GRANT INSERT ON report_piece TO ropewalk_app`)
	if err := h.Again(t.Context(), gym.Who{GymID: h.gym, Role: gym.Owner}, o.ID); err != nil {
		t.Fatal(err)
	}
	h.ended(1)
	if r := h.file(h.gym, o.ID); !r.Ready() {
		t.Errorf("asked for again: %+v", r)
	}
	h.jobs.stopped(t)
	figures := h.figures()
	for outcome, want := range map[string]int{metrics.Retried: tries - 1, metrics.GivenUp: 1, metrics.Done: 1} {
		if got := figures["make_file "+outcome]; got != want {
			t.Errorf("%d files are counted as %s, want %d", got, outcome, want)
		}
	}
}

// stopped stops the queue, so that all it did has been counted.
func (j *Jobs) stopped(t *testing.T) {
	t.Helper()
	if err := j.client.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	<-j.counted
}

// figures are how often work of each kind ended how.
func (h *hall) figures() map[string]int {
	h.t.Helper()
	families, err := h.jobs.metrics.Registry().Gather()
	if err != nil {
		h.t.Fatal(err)
	}
	found := map[string]int{}
	for _, family := range families {
		if family.GetName() != "ropewalk_jobs_total" {
			continue
		}
		for _, m := range family.Metric {
			found[m.Label[0].GetValue()+" "+m.Label[1].GetValue()] = int(m.Counter.GetValue())
		}
	}
	return found
}

// Several owners at once get their own files, though a part of the program only
// puts work in.
func TestManyOwnersAtOnce(t *testing.T) {
	h := fill(t)
	var all bytes.Buffer
	if err := h.ExportGym(t.Context(), h.gym, &all); err != nil {
		t.Fatal(err)
	}
	halls := []uuid.UUID{h.gym}
	for range 3 {
		other := uuid.New()
		if _, err := h.Import(t.Context(), other, bytes.NewReader(all.Bytes()), int64(all.Len()), nil); err != nil {
			t.Fatal(err)
		}
		halls = append(halls, other)
	}
	sleeper := h.queue(true) // puts in what the other one does
	if err := sleeper.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	var ids []uuid.UUID
	for range 2 {
		for _, hall := range halls {
			o := h.order(gym.ReportClass, gym.FormatPDF)
			h.ask(hall, o)
			ids = append(ids, o.ID)
		}
	}
	if err := sleeper.Stop(t.Context()); err != nil {
		t.Fatal(err)
	}
	h.start()
	h.ended(len(ids))
	for i, id := range ids {
		hall := halls[i%len(halls)]
		r := h.file(hall, id)
		if !r.Ready() || len(h.bytes(hall, r)) < 10_000 {
			t.Errorf("the file of hall %d: %+v", i%len(halls), r)
		}
		var elsewhere gym.Report
		if err := h.Store.Read(t.Context(), halls[(i+1)%len(halls)], store.Report(id, &elsewhere)); err == nil {
			t.Errorf("another gym sees the file %s", id)
		}
	}
}

// The bytes of a file are put down for removal when it is made, and go then.
func TestFilesGoInTime(t *testing.T) {
	h := fill(t)
	h.start()
	o := h.order(gym.ReportAthlete, gym.FormatPDF)
	h.ask(h.gym, o)
	h.ended(1)
	jobs, err := h.jobs.client.JobList(t.Context(), river.NewJobListParams().Kinds((forgetArgs{}).Kind()))
	if err != nil || len(jobs.Jobs) != 1 {
		t.Fatal(jobs, err)
	}
	if left := time.Until(jobs.Jobs[0].ScheduledAt); left < reporting.KeepFiles-time.Minute || left > reporting.KeepFiles {
		t.Errorf("the bytes go in %s", left)
	}
	h.Now = func() time.Time { return demo.Now().Add(reporting.KeepFiles) }
	w := &forgetWorker{reporting: h.Reporting}
	if err := w.Work(t.Context(), &river.Job[forgetArgs]{Args: forgetArgs{Gym: h.gym, Report: o.ID}}); err != nil {
		t.Fatal(err)
	}
	if r := h.file(h.gym, o.ID); r.Ready() || h.pieces() != 0 {
		t.Errorf("after its time: %+v, %d pieces", r, h.pieces())
	}
}

// Jobs hold ids alone.
func TestJobsHoldIDsAlone(t *testing.T) {
	h := fill(t)
	h.ask(h.gym, h.order(gym.ReportAthlete, gym.FormatPDF))
	rows, err := h.schema.Query(t.Context(), `SELECT args::text FROM river.river_job`)
	if err != nil {
		t.Fatal(err)
	}
	all, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(all) == 0 {
		t.Fatal(all, err)
	}
	for _, args := range all {
		if slices.ContainsFunc(h.athletes, func(a gym.Athlete) bool { return strings.Contains(args, a.Name) }) {
			t.Errorf("a job tells of somebody: %s", args)
		}
	}
}
