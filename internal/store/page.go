package store

import (
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// A Page says which part of a list to read: at most so many rows that follow a
// given one. A list grows at its other end meanwhile; each row is read once all
// the same.
type Page struct {
	After uuid.UUID // id of the last row of the page before; uuid.Nil: from the list's beginning
	Most  int
}

// older is a condition on rows of a list from new to old: those that follow
// After. The columns are those that the list is ordered by, its id last.
func (p Page) older(table, alias string, columns ...string) string {
	return p.beyond("<", table, alias, columns)
}

// later is the same of a list in rising order.
func (p Page) later(table, alias string, columns ...string) string {
	return p.beyond(">", table, alias, columns)
}

func (p Page) beyond(sign, table, alias string, columns []string) string {
	if p.After == uuid.Nil {
		return ""
	}
	key := func(alias string) string { return alias + "." + strings.Join(columns, ", "+alias+".") }
	return fmt.Sprintf(` AND (%s) %s (SELECT %s FROM %s before WHERE before.%s = @after)`,
		key(alias), sign, key("before"), table, columns[len(columns)-1])
}

// with adds what the condition and the limit ask for to args.
func (p Page) with(args pgx.StrictNamedArgs) pgx.StrictNamedArgs {
	args["most"] = p.Most
	if p.After != uuid.Nil {
		args["after"] = p.After
	}
	return args
}
