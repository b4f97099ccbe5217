package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"ropewalk.example/internal/gym"
)

const selectRules = `
	SELECT rules_id, rules, reason, set_at, set_by
	FROM gym_rules
	ORDER BY set_at DESC, rules_id DESC`

// RulesInForce reads the gym's newest rules; none leaves *into empty.
func RulesInForce(into *[]gym.Rules) Reading {
	return many("rules in force", into, selectRules+`
	LIMIT 1`, pgx.StrictNamedArgs{})
}

// AllRules reads the settings of the gym's rules, the hundred newest, newest first.
func AllRules(into *[]gym.Rules) Reading {
	return many("rules", into, selectRules+` LIMIT 100`, pgx.StrictNamedArgs{})
}

// AddRules puts rules into force; the same id again changes nothing.
func (tx *Tx) AddRules(ctx context.Context, r gym.Rules) error {
	_, err := tx.exec(ctx, "setting the rules", `
		INSERT INTO gym_rules (gym_id, rules_id, rules, reason, set_at, set_by)
		VALUES (@gym, @id, @rules::text::json, @reason, @at, @by)
		ON CONFLICT (gym_id, rules_id) DO NOTHING`,
		pgx.StrictNamedArgs{"id": r.RulesID, "rules": string(r.Rules), "reason": r.Reason, "at": r.SetAt, "by": r.SetBy})
	return err
}
