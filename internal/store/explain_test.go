package store_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/store"
)

// A node is one step of a query's plan, as EXPLAIN tells it.
type node struct {
	NodeType  string `json:"Node Type"`
	Table     string `json:"Relation Name"`
	Index     string `json:"Index Name"`
	IndexCond string `json:"Index Cond"`
	Plans     []node
}

func (n node) walk(visit func(node)) {
	visit(n)
	for _, below := range n.Plans {
		below.walk(visit)
	}
}

// crowd fills 20 gyms of 60 athletes with three terms of results and plans.
func (b *base) crowd() (gymID, classID, athlete uuid.UUID) {
	b.t.Helper()
	for _, sql := range []string{
		`INSERT INTO gym (gym_id, name, time_zone, created_at) SELECT gen_random_uuid(), 'Hall ' || n, 'UTC', now() FROM generate_series(1, 20) n`,
		`INSERT INTO class (gym_id, class_id, name, name_key, code, created_at) SELECT gym_id, gen_random_uuid(), 'Class ' || n, n::text, gym_id || n::text, now()
			FROM gym, generate_series(1, 3) n`,
		`INSERT INTO athlete (gym_id, athlete_id, name, name_key, created_at) SELECT gym_id, gen_random_uuid(), 'Athlete ' || n, n::text, now() FROM gym, generate_series(1, 60) n`,
		`INSERT INTO enrolment (gym_id, class_id, athlete_id, place, since)
			SELECT gym_id, class_id, athlete_id, a.name_key::int, current_date FROM athlete a JOIN class c USING (gym_id) WHERE a.name_key::int % 3 = c.name_key::int % 3`,
		`INSERT INTO result (gym_id, result_id, athlete_id, protocol, day, taken_at, rotations, seconds, counted_by, recorded_at, recorded_by)
			SELECT gym_id, gen_random_uuid(), athlete_id, 'base', date '2026-11-04' - 7 * n, timestamptz '2026-11-04 12:00Z' - n * interval '7 days', 100, 60, 'self', now(), athlete_id
			FROM athlete, generate_series(1, 36) n`,
		`INSERT INTO plan (gym_id, plan_id, athlete_id, class_id, day, input, output, made_at, made_by, sent_at)
			SELECT gym_id, gen_random_uuid(), athlete_id, class_id, date '2026-11-04' - 7 * n, '{}', '{}', now(), athlete_id, now() FROM enrolment, generate_series(0, 12) n`,
		`INSERT INTO set_log (gym_id, set_log_id, athlete_id, plan_id, set_number, done_at, recorded_at, recorded_by)
			SELECT gym_id, gen_random_uuid(), athlete_id, plan_id, n, made_at - n * interval '3 minutes', now(), athlete_id FROM plan, generate_series(1, 4) n`,
		`INSERT INTO debrief (gym_id, debrief_id, athlete_id, day, recorded_at, recorded_by)
			SELECT gym_id, gen_random_uuid(), athlete_id, date '2026-11-04' - 7 * n, now(), athlete_id FROM athlete, generate_series(0, 12) n`,
		`INSERT INTO hold (gym_id, hold_id, athlete_id, opened, code, at, day, by) SELECT gym_id, gen_random_uuid(), athlete_id, n % 2 = 0, 'pain', now(), current_date, athlete_id
			FROM athlete, generate_series(1, 6) n`,
		`INSERT INTO ladder (gym_id, ladder_id, name, in_use, created_at) SELECT gym_id, gen_random_uuid(), 'Ladder', true, now() FROM gym`,
		`INSERT INTO ladder_version (gym_id, ladder_id, version, published_at) SELECT gym_id, ladder_id, n, now() FROM ladder, generate_series(1, 5) n`,
		`INSERT INTO stage (gym_id, ladder_id, version, number, key, title, body) SELECT gym_id, ladder_id, version, n, 's' || n, 'Stage', '{}' FROM ladder_version, generate_series(1, 16) n`,
		`INSERT INTO stage_decision (gym_id, decision_id, athlete_id, verdict, stage_to, ladder_id, version, decided_on, decided_at, decided_by)
			SELECT gym_id, gen_random_uuid(), athlete_id, 'up', 's' || n, ladder_id, 1, current_date, now(), athlete_id FROM athlete JOIN ladder USING (gym_id), generate_series(1, 8) n`,
		`INSERT INTO session (gym_id, session_id, class_id, day, starts_at, minutes)
			SELECT gym_id, gen_random_uuid(), class_id, date '2026-11-04' - n, timestamptz '2026-11-04 12:00Z' - n * interval '1 day', 60 FROM class, generate_series(1, 60) n`,
		`INSERT INTO audit (gym_id, audit_id, at, by, action, subject) SELECT gym_id, gen_random_uuid(), now() - n * interval '1 hour', gen_random_uuid(), 'looked', 'gym'
			FROM gym, generate_series(1, 500) n`,
		`INSERT INTO incident (gym_id, incident_id, happened_at, what, place, seen_by, done, recorded_at, recorded_by)
			SELECT gym_id, gen_random_uuid(), now() - n * interval '1 day', 'fell', 'hall', 'nobody', 'ice', now(), gen_random_uuid() FROM gym, generate_series(1, 100) n`,
		`INSERT INTO report (gym_id, report_id, kind, format, as_of, state, asked_at, asked_by)
			SELECT gym_id, gen_random_uuid(), 'gym', 'csv', current_date, 'done', now() - n * interval '1 day', gen_random_uuid() FROM gym, generate_series(1, 100) n`,
		`INSERT INTO person (person_id, sign_in_name, name, password_hash, created_at) SELECT gen_random_uuid(), 'p' || n, 'Person ' || n, '', now() FROM generate_series(1, 200) n`,
		`INSERT INTO membership (gym_id, person_id, role, since, until)
			SELECT gym_id, person_id, role, now() - interval '2 years', now() - interval '1 year' FROM gym, person, unnest(ARRAY['coach', 'assistant']) role`,
		`ANALYZE`,
	} {
		b.ownerDoes(sql)
	}
	err := b.owner.QueryRow(b.t.Context(), `SELECT gym_id, class_id, athlete_id FROM enrolment LIMIT 1`).Scan(&gymID, &classID, &athlete)
	if err != nil {
		b.t.Fatal(err)
	}
	return gymID, classID, athlete
}

// grown are the tables that grow with the gyms and their years.
var grown = []string{"athlete", "enrolment", "result", "plan", "debrief", "hold", "stage", "stage_decision", "session", "set_log", "audit", "incident", "report", "membership"}

// hotReadings are those of the pages that people open most.
func hotReadings(classID, athlete uuid.UUID) map[string]store.Reading {
	since := today.AddDate(-1, 0, 0)
	var classes []gym.Class
	var athletes []gym.Athlete
	var results []gym.Result
	var plans []gym.Plan
	var debriefs []gym.Debrief
	var holds []gym.Hold
	var decisions []gym.StageDecision
	var stages []gym.Stage
	var sessions []gym.Session
	var logs []gym.SetLog
	var names []gym.Named
	var tested []store.Tested
	var retests []store.Retest
	var recorded []store.Recorded
	var lines []gym.AuditLine
	var incidents []gym.Incident
	var files []gym.Report
	var former []gym.Former
	older := store.Page{After: athlete, Most: 100}
	return map[string]store.Reading{
		"classes":                store.Classes(&classes),
		"classes of an athlete":  store.ClassesOf(athlete, &classes),
		"athletes of a class":    store.AthletesOf(classID, &athletes),
		"results of a class":     store.ResultsOfClass(classID, since, &results),
		"results of an athlete":  store.ResultsOf(athlete, since, &results),
		"history of an athlete":  store.ResultHistory(athlete, since, &results),
		"plans of a class":       store.PlansOfClass(classID, today, &plans),
		"recent plans":           store.RecentPlansOfClass(classID, since, &plans),
		"plans of an athlete":    store.RecentPlansOf(athlete, since, &plans),
		"debriefs of a class":    store.DebriefsOfClass(classID, since, &debriefs),
		"debriefs of an athlete": store.DebriefsOf(athlete, since, &debriefs),
		"holds of a class":       store.HoldsOfClass(classID, &holds),
		"holds of an athlete":    store.HoldsOf(athlete, &holds),
		"places of a class":      store.PlacesOfClass(classID, &decisions),
		"decisions":              store.DecisionsOf(athlete, &decisions),
		"stages":                 store.Stages(&stages),
		"sessions of a day":      store.SessionsOn(today, today, &sessions),
		"sessions of a class":    store.Sessions(classID, since, today, &sessions),
		"tests of a class":       store.TestedOfClass(classID, since, &tested),
		"retests of classmates":  store.RetestsAround(athlete, since, 60, &retests),
		"set logs of a class":    store.SetLogsOfClass(classID, since, &logs),
		"set logs of an athlete": store.SetLogsOf(athlete, since, &logs),
		"evidence of a class":    store.Evidence(store.InClass(classID), since, &results),
		"evidence of an athlete": store.Evidence(store.Only(athlete), since, &results),
		"roster":                 store.Names(store.Page{Most: 1000}, &names),
		"more of the roster":     store.Names(older, &names),
		"a part of the roster":   store.AthletesPart(store.Everybody(), older, &athletes),
		"recorded results":       store.RecordedOf(athlete, older, &recorded),
		"the log":                store.AuditLines(store.AuditFilter{}, older, &lines),
		"incidents":              store.Incidents(older, &incidents),
		"files":                  store.Reports("", older, &files),
		"former staff":           store.FormerStaff(uuid.Nil, &former),
	}
}

// Each query of the pages that people open most finds its gym's rows by an
// index, although it names the gym nowhere: the policy's condition is used.
func TestHotQueriesUseTheGymsIndex(t *testing.T) {
	b := open(t)
	gymID, classID, athlete := b.crowd()
	app := b.app()
	for what, reading := range hotReadings(classID, athlete) {
		batch := &pgx.Batch{}
		reading(batch)
		inGym(t, app, gymID, func(tx pgx.Tx) {
			for _, query := range batch.QueuedQueries {
				sql := "EXPLAIN (FORMAT JSON) " + query.SQL
				var explained []struct{ Plan node }
				if err := json.Unmarshal([]byte(ask[string](t, tx, sql, query.Arguments...)), &explained); err != nil {
					t.Fatal(err)
				}
				explained[0].Plan.walk(func(n node) {
					byIndex := strings.Contains(n.IndexCond, "gym_id = ")
					if n.Table == "person" || n.Index == "membership_by_person" {
						return // people, and one's own work, belong to no gym
					}
					if n.NodeType == "Seq Scan" && slices.Contains(grown, n.Table) || strings.Contains(n.NodeType, "Index") && !byIndex {
						t.Errorf("%s: %s of %s with condition %q does not go by the gym", what, n.NodeType, n.Table, n.IndexCond)
					}
				})
			}
		})
	}
}
