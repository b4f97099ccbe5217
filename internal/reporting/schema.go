package reporting

import (
	"cmp"
	"slices"
	"strings"

	"ropewalk.example/internal/store"
)

// SchemaOf returns the JSON Schema of an export's tables: a definition for each,
// under the name of its file.
func SchemaOf(shapes []store.Shape) map[string]any {
	tables := map[string]any{}
	for _, s := range shapes {
		properties, required := map[string]any{}, []string{}
		for _, c := range s.Columns {
			properties[c.Name] = schemaOfType(c)
			required = append(required, c.Name)
		}
		tables[s.Table] = map[string]any{
			"type": "array",
			"items": map[string]any{
				"type": "object", "properties": properties, "required": required, "additionalProperties": false,
			},
		}
	}
	return map[string]any{
		"$schema": "https://json-schema.org/draft/2020-12/schema",
		"title":   "Tables of an export of Ropewalk, by the name of the file in json/",
		"$defs":   tables,
	}
}

func schemaOfType(c store.ShapeColumn) map[string]any {
	item, isArray := strings.CutSuffix(c.Type, "[]")
	schema := plainType(item)
	if isArray {
		schema = map[string]any{"type": "array", "items": schema}
	}
	if kind, ok := schema["type"].(string); ok && c.Nullable {
		schema["type"] = []string{kind, "null"}
	}
	return schema
}

// plainType names what a Postgres type is in JSON.
func plainType(name string) map[string]any {
	switch name {
	case "uuid":
		return map[string]any{"type": "string", "format": "uuid"}
	case "date":
		return map[string]any{"type": "string", "format": "date"}
	case "timestamp with time zone":
		return map[string]any{"type": "string", "format": "date-time"}
	case "time without time zone":
		return map[string]any{"type": "string", "description": "time of day on the gym's clock"}
	case "smallint", "integer", "bigint":
		return map[string]any{"type": "integer"}
	case "double precision", "numeric":
		return map[string]any{"type": "number"}
	case "boolean":
		return map[string]any{"type": "boolean"}
	case "bytea":
		return map[string]any{"type": "string", "description": "bytes in hexadecimal, after \\x"}
	case "json", "jsonb":
		return map[string]any{"description": "any JSON"}
	default:
		return map[string]any{"type": "string"}
	}
}

func sortLeftOut(list []LeftOut) {
	slices.SortFunc(list, func(a, b LeftOut) int { return cmp.Compare(a.Table, b.Table) })
}
