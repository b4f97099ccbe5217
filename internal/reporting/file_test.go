package reporting_test

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
)

func (h *hall) file(id uuid.UUID) gym.Report {
	h.t.Helper()
	var r gym.Report
	h.read(h.gym, store.Report(id, &r))
	return r
}

func (h *hall) order(kind, format, paper string) reporting.Order {
	o := reporting.Order{ID: uuid.New(), Kind: kind, Format: format, Paper: paper}
	switch kind {
	case gym.ReportAthlete, gym.ReportAthleteData:
		o.Athlete = h.athletes[0].AthleteID
	case gym.ReportClass:
		o.Class = h.classes[0].ClassID
	}
	if kind != gym.ReportAthleteData && kind != gym.ReportGymData {
		o.Term = h.term.TermID
	}
	return o
}

func (h *hall) ask(o reporting.Order) error { return h.Ask(h.t.Context(), h.owner, o) }

func TestAskForFiles(t *testing.T) {
	h := fill(t)
	for _, o := range []reporting.Order{h.order("moon", "pdf", "a4"), h.order(gym.ReportClass, "zip", ""), h.order(gym.ReportClass, "pdf", ""),
		h.order(gym.ReportClass, "xlsx", "a4"), h.order(gym.ReportGymData, "pdf", "a4")} {
		if err := h.ask(o); problem.KindOf(err) != problem.Invalid {
			t.Errorf("%s as %s on %q: %v", o.Kind, o.Format, o.Paper, err)
		}
	}
	nowhere := h.order(gym.ReportClass, gym.FormatXLSX, "")
	nowhere.Class = uuid.New()
	if err := h.ask(nowhere); problem.KindOf(err) != problem.NotFound {
		t.Errorf("of a class that is not there: %v", err)
	}
	if len(h.queued) != 0 {
		t.Errorf("%d files were queued", len(h.queued))
	}
	o := h.order(gym.ReportClass, gym.FormatPDF, gym.PaperLetter)
	for range 2 { // the same form twice
		if err := h.ask(o); err != nil {
			t.Fatal(err)
		}
	}
	if !slices.Equal(h.queued, []uuid.UUID{o.ID}) {
		t.Errorf("queued are %v", h.queued)
	}
	if r := h.file(o.ID); r.State != gym.ReportWaiting || !strings.HasSuffix(r.FileName, h.classes[0].Name+".pdf") {
		t.Errorf("asked for is %+v", r)
	}
	var err error
	for range 20 {
		if err = h.ask(h.order(gym.ReportGym, gym.FormatXLSX, "")); err != nil {
			break
		}
	}
	if problem.KindOf(err) != problem.TooMany || len(h.queued) > 10 {
		t.Errorf("%d files were queued, then: %v", len(h.queued), err)
	}
}

// Who takes data out stands in the log.
func TestTakingDataOutIsNoted(t *testing.T) {
	h := fill(t)
	for _, o := range []reporting.Order{h.order(gym.ReportAthleteData, gym.FormatZip, ""), h.order(gym.ReportGymData, gym.FormatZip, "")} {
		if err := h.ask(o); err != nil {
			t.Fatal(err)
		}
	}
	var lines []gym.AuditLine
	h.read(h.gym, store.AuditLines(store.AuditFilter{}, store.Page{Most: 500}, &lines))
	noted := map[string]bool{}
	for _, line := range lines {
		if line.Action == store.NotedExport && line.By == h.owner.PersonID {
			noted[line.Subject+" "+line.SubjectID.String()] = true
		}
	}
	if !noted["athlete "+h.athletes[0].AthleteID.String()] || !noted["gym "+h.gym.String()] {
		t.Errorf("noted is %v", noted)
	}
}

func TestAFileIsMadeStoppedAndMadeAgain(t *testing.T) {
	h := fill(t)
	ctx := t.Context()
	o := h.order(gym.ReportClass, gym.FormatXLSX, "")
	if err := h.ask(o); err != nil {
		t.Fatal(err)
	}
	never := func(context.Context, *store.Tx, time.Time) error { return errors.New("not to be called") }
	m, ok, err := h.Take(ctx, h.gym, o.ID)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	if err := m.Step(1, 3); err != nil || h.file(o.ID).Done != 1 || h.file(o.ID).Of != 3 {
		t.Errorf("a step: %v, %+v", err, h.file(o.ID))
	}
	if err := h.Stop(ctx, h.owner, o.ID); err != nil {
		t.Fatal(err)
	}
	if err := m.Step(3, 3); !errors.Is(err, reporting.ErrStopped) {
		t.Errorf("a step after it was stopped: %v", err)
	}
	if err := m.Finish(nil, never); !errors.Is(err, reporting.ErrStopped) {
		t.Errorf("the end after it was stopped: %v", err)
	}
	if _, ok, err := h.Take(ctx, h.gym, o.ID); ok || err != nil {
		t.Errorf("a stopped file was taken up: %v", err)
	}
	if err := h.Again(ctx, h.owner, o.ID); err != nil || len(h.queued) != 2 {
		t.Fatalf("again: %v, queued are %v", err, h.queued)
	}
	if err := h.Again(ctx, h.owner, o.ID); err != nil || len(h.queued) != 2 { // it waits already
		t.Errorf("again while it waits: %v, queued are %v", err, h.queued)
	}
	if m, ok, err = h.Take(ctx, h.gym, o.ID); err != nil || !ok {
		t.Fatal(ok, err)
	}
	body := bytes.Repeat([]byte("0123456789"), 250_000) // more than two pieces
	for part := range slices.Chunk(body, 70_001) {
		if _, err := m.Write(part); err != nil {
			t.Fatal(err)
		}
	}
	forget := time.Time{}
	if err := m.Finish([]byte{1, 2}, func(_ context.Context, _ *store.Tx, at time.Time) error { forget = at; return nil }); err != nil {
		t.Fatal(err)
	}
	r := h.file(o.ID)
	var got bytes.Buffer
	if err := h.Store.WriteReport(ctx, h.gym, r, &got); err != nil || !bytes.Equal(got.Bytes(), body) || r.Bytes != int64(len(body)) || !r.Ready() {
		t.Errorf("%d bytes came back of %d (%v): %+v", got.Len(), len(body), err, r)
	}
	if left := time.Until(forget); left < reporting.KeepFiles-time.Minute || left > reporting.KeepFiles {
		t.Errorf("the bytes go in %s", left)
	}
	if err := h.Forget(ctx, h.gym, o.ID); err != nil || !h.file(o.ID).Ready() {
		t.Errorf("a new file was removed (%v)", err)
	}
	h.Now = func() time.Time { return r.FinishedAt.Add(reporting.KeepFiles) }
	if err := h.Forget(ctx, h.gym, o.ID); err != nil || h.file(o.ID).Ready() {
		t.Errorf("an old file is still there (%v)", err)
	}
}
