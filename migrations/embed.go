// Package migrations embeds the schema's migrations, in order, for
// golang-migrate. It imports nothing of ours.
package migrations

import "embed"

// FS holds the migration files.
//
//go:embed *.sql
var FS embed.FS
