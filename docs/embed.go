// Package docs embeds those of the documents that the program itself hands out.
// It imports nothing of ours.
package docs

import _ "embed"

// LadderSchema is the JSON schema of ladder files.
//
//go:embed ladder.schema.json
var LadderSchema []byte
