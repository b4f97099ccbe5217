package server

import (
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write what docs/api.md says of the ways to ask anew")

// described is as much of an OpenAPI description as the documents tell.
type described struct {
	Paths map[string]map[string]struct {
		Summary    string
		Parameters []struct{ Name, In, Description string }
		Responses  map[string]struct {
			Content map[string]struct{ Schema describedSchema }
		}
	}
	Components struct{ Schemas map[string]describedSchema }
}

type describedSchema struct {
	Ref         string `json:"$ref"`
	Type        any
	Format      string
	Description string
	Properties  map[string]describedSchema
	Items       *describedSchema
}

// open follows a reference.
func (d described) open(s describedSchema) describedSchema {
	if name, ok := strings.CutPrefix(s.Ref, "#/components/schemas/"); ok {
		return d.Components.Schemas[name]
	}
	return s
}

// What the documents say of the ways to ask is what the description says.
func TestAPIDocumentIsTheDescription(t *testing.T) {
	const path, begins = "../../docs/api.md", "## What can be asked\n"
	var d described
	if err := json.Unmarshal([]byte(newSite(t).open().get("/api/openapi.json").is(200).Text), &d); err != nil {
		t.Fatal(err)
	}
	document, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, after, found := strings.Cut(string(document), begins)
	if !found {
		t.Fatalf("%s has no part %q", path, begins)
	}
	want := d.document()
	if *update {
		if err := os.WriteFile(path, []byte(before+begins+want), 0o644); err != nil {
			t.Fatal(err)
		}
		after = want
	}
	if after != want {
		t.Errorf("%s says something else than the description (go test ./internal/server -run TestAPIDocument -update)", path)
	}
}

// document puts the ways to ask into Markdown.
func (d described) document() string {
	var b strings.Builder
	for _, path := range slices.Sorted(maps.Keys(d.Paths)) {
		asked := d.Paths[path]["get"]
		fmt.Fprintf(&b, "\n### `GET %s`\n\n%s\n", path, asked.Summary)
		for _, p := range asked.Parameters {
			if p.In == "query" {
				fmt.Fprintf(&b, "\n- `?%s=`: %s\n", p.Name, p.Description)
			}
		}
		answer := d.open(asked.Responses["200"].Content["application/json"].Schema)
		if items := answer.Properties["items"].Items; items != nil {
			answer = d.open(*items)
			b.WriteString("\nEach of `items` holds:\n")
		}
		b.WriteString("\n| name | holds | meaning |\n| --- | --- | --- |\n")
		for _, name := range slices.Sorted(maps.Keys(answer.Properties)) {
			property := answer.Properties[name]
			if name == "$schema" {
				continue
			}
			fmt.Fprintf(&b, "| `%s` | %s | %s |\n", name, property.holds(), strings.ReplaceAll(property.Description, "|", "\\|"))
		}
	}
	return b.String()
}

// holds says what a value is.
func (s describedSchema) holds() string {
	kind := fmt.Sprint(s.Type)
	if many, ok := s.Type.([]any); ok { // or nothing, where it is not known
		kind = fmt.Sprint(many[0]) + " or null"
	}
	if s.Format == "date" {
		kind = strings.Replace(kind, "string", "day", 1)
	}
	return kind
}
