package store

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

// An AuditFilter says which lines of the log to read; zero fields leave out
// nothing.
type AuditFilter struct {
	From, To time.Time // To is left out
	By       uuid.UUID
	About    uuid.UUID
	Action   string // part of it
}

// AuditLines reads the gym's log, newest first.
func AuditLines(f AuditFilter, p Page, into *[]gym.AuditLine) Reading {
	conditions := []string{"true"}
	args := pgx.StrictNamedArgs{}
	add := func(condition, name string, value any) {
		conditions = append(conditions, condition)
		args[name] = value
	}
	if !f.From.IsZero() {
		add("l.at >= @from", "from", f.From)
	}
	if !f.To.IsZero() {
		add("l.at < @to", "to", f.To)
	}
	if f.By != uuid.Nil {
		add("l.by = @by", "by", f.By)
	}
	if f.About != uuid.Nil {
		add("l.subject_id = @about", "about", f.About)
	}
	if f.Action != "" {
		add("position(lower(@action) IN lower(l.action)) > 0", "action", f.Action)
	}
	return many("the log", into, `
		SELECT l.audit_id, l.at, l.by, coalesce(p.name, a.name, g.name, '') AS by_name, coalesce(p.lang, a.lang, '') AS by_lang, l.action, l.subject,
		       coalesce(l.subject_id, '00000000-0000-0000-0000-000000000000') AS subject_id,
		       coalesce(pa.name, aa.name, '') AS about, coalesce(pa.lang, aa.lang, '') AS about_lang
		FROM audit l
		LEFT JOIN person p ON p.person_id = l.by
		LEFT JOIN athlete a ON a.gym_id = l.gym_id AND a.athlete_id = l.by
		LEFT JOIN guardian g ON g.gym_id = l.gym_id AND g.guardian_id = l.by
		LEFT JOIN person pa ON pa.person_id = l.subject_id AND l.subject = 'person'
		LEFT JOIN athlete aa ON aa.gym_id = l.gym_id AND aa.athlete_id = l.subject_id AND l.subject = 'athlete'
		WHERE `+strings.Join(conditions, " AND ")+p.older("audit", "l", "at", "audit_id")+`
		ORDER BY l.at DESC, l.audit_id DESC
		LIMIT @most`, p.with(args))
}

const insertNote = `
	INSERT INTO audit (gym_id, audit_id, at, by, action, subject, subject_id)
	VALUES (@gym, @id, @at, @by, @action, @subject, @subject_id)`

// Note adds a line to the audit log.
func (tx *Tx) Note(ctx context.Context, id uuid.UUID, at time.Time, by uuid.UUID, action, subject string, subjectID uuid.UUID) error {
	args := pgx.StrictNamedArgs{"gym": tx.gym, "id": id, "at": at, "by": by, "action": action, "subject": subject, "subject_id": orNull(subjectID)}
	if tx.notes != nil { // they go together, just before the commit
		tx.notes.Queue(insertNote, args)
		return nil
	}
	if _, err := tx.tx.Exec(ctx, insertNote, args); err != nil {
		return fmt.Errorf("noting in the audit log: %w", err)
	}
	return nil
}
