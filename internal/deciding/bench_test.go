package deciding

import (
	"testing"

	"ropewalk.example/internal/ladder"
	"ropewalk.example/internal/store"
)

// crowd fills the gym with athletes who have a term of results: 24 meetings, two
// results each, half of them timed.
func (h *hall) crowd(athletes int) {
	h.t.Helper()
	h.owner(`INSERT INTO athlete (gym_id, athlete_id, name, name_key, birth_year, created_at)
		SELECT $1, gen_random_uuid(), 'Crowd ' || n, 'crowd ' || n, 2000 + n % 15, now() FROM generate_series(1, $2::int) n`, h.gym, athletes)
	h.owner(`INSERT INTO result (gym_id, result_id, athlete_id, protocol, day, taken_at, rotations, seconds, catches, longest_restart_seconds,
			step, rope_kind, counted_by, seen_by_coach, recorded_at, recorded_by)
		SELECT $1, gen_random_uuid(), a.athlete_id, (ARRAY['base', 'burst', 'clean_run', 'doubles'])[1 + (m + k) % 4], $2::date - (84 - m * 7 / 2), $2::date,
		       20 + (m * 7 + k * 13) % 120, (ARRAY[60, 10, NULL, NULL])[1 + (m + k) % 4], m % 4, 2, 'bounce', 'beaded', 'coach', m % 3 = 0, now(), gen_random_uuid()
		FROM athlete a, generate_series(1, 24) m, generate_series(0, 1) k WHERE a.name LIKE 'Crowd %'`, h.gym, today)
	h.owner(`INSERT INTO stage_decision (gym_id, decision_id, athlete_id, verdict, stage_to, ladder_id, version, decided_on, decided_at, decided_by)
		SELECT a.gym_id, gen_random_uuid(), a.athlete_id, 'start', s.key, s.ladder_id, 1, $1::date - 40, $1::date - 40, gen_random_uuid()
		FROM athlete a JOIN stage s ON s.number = 1 + a.birth_year % 16 WHERE a.name LIKE 'Crowd %'`, today)
	h.owner(`ANALYZE`)
}

// BenchmarkThousandAthletesFromTheStore loads 1,000 athletes with a term of
// results in one query set, evaluates all 16 gates and says who stands where.
func BenchmarkThousandAthletesFromTheStore(b *testing.B) {
	h := newHall(b)
	h.crowd(1000)
	b.ReportAllocs()
	for b.Loop() {
		g, err := h.Load(b.Context(), h.coach, store.Everybody())
		if err != nil {
			b.Fatal(err)
		}
		if class, _ := g.Class(); len(g.Athletes) != 1003 || len(class.Stages) != 16 {
			b.Fatalf("%d athletes on %d stages", len(g.Athletes), len(class.Stages))
		}
	}
}

// BenchmarkClassFromTheStore is the same for one class of 26.
func BenchmarkClassFromTheStore(b *testing.B) {
	h := newHall(b)
	h.crowd(1000)
	h.owner(`INSERT INTO enrolment (gym_id, class_id, athlete_id, place, since)
		SELECT gym_id, $1, athlete_id, 10, now() FROM athlete WHERE name LIKE 'Crowd %' LIMIT 26`, h.class)
	for b.Loop() {
		if _, err := h.Load(b.Context(), h.coach, store.InClass(h.class)); err != nil {
			b.Fatal(err)
		}
	}
}

// The two ways to one answer: a class alone, and as part of the gym.
func TestAClassIsEvaluatedLikeTheGym(t *testing.T) {
	h := newHall(t)
	h.crowd(30)
	h.place("ten-then-thirty", h.ana)
	h.record(h.ana, 3, run(12))
	whole, err := h.Load(t.Context(), h.coach, store.Everybody())
	if err != nil {
		t.Fatal(err)
	}
	_, alone := h.load(h.ana)
	for _, a := range whole.Athletes {
		if a.AthleteID != h.ana {
			continue
		}
		for i, v := range a.Verdicts {
			if v.State != alone.Verdicts[i].State || len(v.Clauses) != len(alone.Verdicts[i].Clauses) {
				t.Errorf("stage %d: %v in the gym, %v alone", i+1, v, alone.Verdicts[i])
			}
		}
		verdict, _ := whole.Verdict(a, "ten-then-thirty")
		if verdict.Clauses[0].Missing.Results != 1 || verdict.State != ladder.NotYet {
			t.Errorf("one clean run of 12: %+v", verdict)
		}
	}
}
