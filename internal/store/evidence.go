package store

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
)

// endless tells whether a gate of the ladder in use takes results of any age.
const endless = `
	EXISTS (
		SELECT FROM stage s JOIN ladder l USING (gym_id, ladder_id)
		WHERE l.in_use AND s.version = ` + newestVersion + `
		  AND jsonb_path_exists(s.body, '$.gate.clauses[*] ? (@.measure != "coach_judges" && !exists (@.within_weeks))'))`

// EachEvidence hands over every standing result that gates look at, in no order:
// since a day or, where a gate of the ladder in use takes results of any age, all
// of them; the zero day is all of them, too. The results lack what gates do not
// ask: taps, bouts, notes and who recorded them. begin returns what takes them,
// count of them or, where that is 0, nobody knows how many; it is called anew
// when the reading is tried again.
//
// A gym has tens of thousands of them a year, so none is kept here.
func EachEvidence(whom Whom, since time.Time, begin func(count int) (take func(gym.Result))) Reading {
	return evidence(whom, since, begin, func() {})
}

// Evidence reads what EachEvidence hands over, by athlete, newest first.
func Evidence(whom Whom, since time.Time, into *[]gym.Result) Reading {
	begin := func(count int) func(gym.Result) {
		*into = make([]gym.Result, 0, count)
		return func(r gym.Result) { *into = append(*into, r) }
	}
	return evidence(whom, since, begin, func() {
		slices.SortFunc(*into, func(a, b gym.Result) int {
			return cmp.Or(bytes.Compare(a.AthleteID[:], b.AthleteID[:]), b.Day.Compare(a.Day), b.TakenAt.Compare(a.TakenAt), bytes.Compare(b.ResultID[:], a.ResultID[:]))
		})
	})
}

func evidence(whom Whom, since time.Time, begin func(count int) func(gym.Result), done func()) Reading {
	return func(batch *pgx.Batch) {
		batch.Queue(`
			SELECT r.result_id, r.athlete_id, r.protocol, r.task, r.day, r.taken_at, r.rotations, r.one_foot, r.counts, r.seconds, r.catches,
			       r.lost_seconds, r.longest_restart_seconds, r.stopped_clean, r.successes, r.attempts, r.step, r.rope_kind,
			       r.counted_by, r.seen_by_coach, r.unattended, r.timing
			FROM result r
			WHERE r.athlete_id `+whom.among+`
			  AND r.day >= CASE WHEN @since::date IS NULL OR `+endless+` THEN '-infinity'::date ELSE @since::date END`+standing,
			whom.with(pgx.StrictNamedArgs{"since": dayOrNull(since)})).Query(func(rows pgx.Rows) error {
			defer rows.Close()
			take, row := begin(countOf(rows)), evidenceRow{keys: interned{}}
			for rows.Next() {
				if err := row.scan(rows); err != nil {
					return fmt.Errorf("evidence: %w", err)
				}
				take(row.Result)
			}
			if err := rows.Err(); err != nil {
				return fmt.Errorf("evidence: %w", err)
			}
			done()
			return nil
		})
	}
}

// An evidenceRow is the room for one row, used again for the next: read by hand,
// it takes half the time.
type evidenceRow struct {
	gym.Result
	protocol, task, step, rope, counter, timing pgtype.DriverBytes
	keys                                        interned
}

func (e *evidenceRow) scan(rows pgx.Rows) error {
	r := &e.Result
	err := rows.Scan((*[16]byte)(&r.ResultID), (*[16]byte)(&r.AthleteID), &e.protocol, &e.task, &r.Day, &r.TakenAt, &r.Rotations, &r.OneFoot, &r.Counts,
		&r.Seconds, &r.Catches, &r.LostSeconds, &r.LongestRestartSeconds, &r.StoppedClean, &r.Successes, &r.Attempts, &e.step, &e.rope,
		&e.counter, &r.SeenByCoach, &r.Unattended, &e.timing)
	r.Protocol, r.Task, r.Step, r.RopeKind = e.keys.of(e.protocol), e.keys.of(e.task), e.keys.of(e.step), e.keys.of(e.rope)
	r.CountedBy, r.Timing = e.keys.of(e.counter), e.keys.of(e.timing)
	return err
}

func dayOrNull(day time.Time) *time.Time {
	if day.IsZero() {
		return nil
	}
	return &day
}

const selectJudgement = `
	SELECT j.judgement_id, j.athlete_id, j.stage, j.task, j.good, j.day,
	       coalesce(j.takes_back, '00000000-0000-0000-0000-000000000000') AS takes_back, j.judged_at, j.judged_by
	FROM judgement j`

// Judgements reads what coaches saw, of any age, those taken back and what took
// them back too, newest first.
func Judgements(whom Whom, into *[]gym.Judgement) Reading {
	return many("judgements", into, selectJudgement+`
		WHERE j.athlete_id `+whom.among+`
		ORDER BY j.athlete_id, j.judged_at DESC, j.judgement_id DESC`, whom.with(pgx.StrictNamedArgs{}))
}

// AddJudgement keeps what a coach saw; the same id again changes nothing.
func (tx *Tx) AddJudgement(ctx context.Context, j gym.Judgement) (added bool, err error) {
	if j.TakesBack == uuid.Nil {
		if err := tx.mayKeep(ctx, j.Day.Year(), j.AthleteID); err != nil {
			return false, err
		}
	}
	n, err := tx.exec(ctx, "adding a judgement", `
		INSERT INTO judgement (gym_id, judgement_id, athlete_id, stage, task, good, day, takes_back, judged_at, judged_by)
		VALUES (@gym, @id, @athlete, @stage, @task, @good, @day, @takes_back, @at, @by)
		ON CONFLICT (gym_id, judgement_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": j.JudgementID, "athlete": j.AthleteID, "stage": j.Stage, "task": j.Task, "good": j.Good, "day": j.Day,
			"takes_back": orNull(j.TakesBack), "at": j.JudgedAt, "by": j.JudgedBy})
	switch {
	case broke(err, "judgement_taken_back_once"):
		return false, problem.Wrap(err, problem.Conflict, "Somebody took this back before you.")
	case broke(err, "judgement_gym_id_athlete_id_fkey"):
		return false, problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return n == 1, err
}

// CatchNotes reads the catch diaries since a day, without what was taken back,
// newest first.
func CatchNotes(whom Whom, since time.Time, into *[]gym.CatchNote) Reading {
	return many("catch notes", into, `
		SELECT c.catch_note_id, c.athlete_id, c.stage, c.day, c.spot, c.timing, c.hands, c.height,
		       '00000000-0000-0000-0000-000000000000'::uuid AS takes_back, c.noted_at, c.noted_by
		FROM catch_note c
		WHERE c.athlete_id `+whom.among+` AND c.day >= @since AND c.takes_back IS NULL
		  AND NOT EXISTS (SELECT FROM catch_note b WHERE b.gym_id = c.gym_id AND b.takes_back = c.catch_note_id)
		ORDER BY c.athlete_id, c.noted_at DESC, c.catch_note_id DESC`, whom.with(pgx.StrictNamedArgs{"since": since}))
}

// AddCatchNote keeps an entry of the catch diary; the same id again changes
// nothing.
func (tx *Tx) AddCatchNote(ctx context.Context, c gym.CatchNote) (added bool, err error) {
	if c.TakesBack == uuid.Nil {
		if err := tx.mayKeep(ctx, c.Day.Year(), c.AthleteID); err != nil {
			return false, err
		}
	}
	n, err := tx.exec(ctx, "adding a catch note", `
		INSERT INTO catch_note (gym_id, catch_note_id, athlete_id, stage, day, spot, timing, hands, height, takes_back, noted_at, noted_by)
		VALUES (@gym, @id, @athlete, @stage, @day, @spot, @timing, @hands, @height, @takes_back, @at, @by)
		ON CONFLICT (gym_id, catch_note_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": c.CatchNoteID, "athlete": c.AthleteID, "stage": c.Stage, "day": c.Day, "spot": c.Spot, "timing": c.Timing,
			"hands": c.Hands, "height": c.Height, "takes_back": orNull(c.TakesBack), "at": c.NotedAt, "by": c.NotedBy})
	switch {
	case broke(err, "catch_note_taken_back_once"):
		return false, problem.Wrap(err, problem.Conflict, "This note was taken back already.")
	case broke(err, "catch_note_gym_id_athlete_id_fkey"):
		return false, problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return n == 1, err
}

// Assignments reads the drills and tests set since a day, without what was taken
// back, newest first.
func Assignments(whom Whom, since time.Time, into *[]gym.Assignment) Reading {
	return many("assignments", into, `
		SELECT s.assignment_id, s.batch_id, s.athlete_id, s.kind, s.stage, s.clause, s.protocol, s.seconds, s.step, s.task, s.note, s.day,
		       '00000000-0000-0000-0000-000000000000'::uuid AS takes_back, s.set_at, s.set_by
		FROM assignment s
		WHERE s.athlete_id `+whom.among+` AND s.day >= @since AND s.takes_back IS NULL
		  AND NOT EXISTS (SELECT FROM assignment b WHERE b.gym_id = s.gym_id AND b.takes_back = s.assignment_id)
		ORDER BY s.athlete_id, s.set_at DESC, s.assignment_id DESC`, whom.with(pgx.StrictNamedArgs{"since": since}))
}

// AddAssignments keeps what was set for many in one statement; an id that is
// there already changes nothing.
func (tx *Tx) AddAssignments(ctx context.Context, set []gym.Assignment) error {
	n := len(set)
	ids, batches, athletes, by, back := make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n), make([]uuid.UUID, n), make([]*uuid.UUID, n)
	kinds, stages, clauses, protocols := make([]string, n), make([]string, n), make([]string, n), make([]string, n)
	steps, tasks, notes, seconds := make([]string, n), make([]string, n), make([]string, n), make([]int, n)
	days, at := make([]time.Time, n), make([]time.Time, n)
	for i, s := range set {
		ids[i], batches[i], athletes[i], by[i], back[i] = s.AssignmentID, s.BatchID, s.AthleteID, s.SetBy, orNull(s.TakesBack)
		kinds[i], stages[i], clauses[i], protocols[i] = s.Kind, s.Stage, s.Clause, s.Protocol
		steps[i], tasks[i], notes[i], seconds[i], days[i], at[i] = s.Step, s.Task, s.Note, s.Seconds, s.Day, s.SetAt
	}
	_, err := tx.exec(ctx, "setting drills and tests", `
		INSERT INTO assignment (gym_id, assignment_id, batch_id, athlete_id, kind, stage, clause, protocol, seconds, step, task, note, day, takes_back, set_at, set_by)
		SELECT @gym, u.*
		FROM unnest(@ids::uuid[], @batches::uuid[], @athletes::uuid[], @kinds::text[], @stages::text[], @clauses::text[], @protocols::text[],
		            @seconds::int[], @steps::text[], @tasks::text[], @notes::text[], @days::date[], @back::uuid[], @at::timestamptz[], @by::uuid[]) AS u
		ON CONFLICT (gym_id, assignment_id) DO NOTHING`,
		pgx.StrictNamedArgs{"ids": ids, "batches": batches, "athletes": athletes, "kinds": kinds, "stages": stages, "clauses": clauses,
			"protocols": protocols, "seconds": seconds, "steps": steps, "tasks": tasks, "notes": notes, "days": days, "back": back, "at": at, "by": by})
	switch {
	case broke(err, "assignment_taken_back_once"):
		return problem.Wrap(err, problem.Conflict, "Somebody took this off before you.")
	case broke(err, "assignment_gym_id_athlete_id_fkey"):
		return problem.Wrap(err, problem.NotFound, "There is no such athlete in this gym.")
	}
	return err
}
