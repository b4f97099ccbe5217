package store

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"sync"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"
)

// collect reads all rows of a query into structs, an empty slice if there are
// none. Columns and fields go together by name, as for pgx.RowToStructByName;
// a page reads thousands of values, and this takes a quarter of its time: the
// room for a row is used again, ids need no detour over text, and short texts
// that rows repeat are kept once.
func collect[T any](rows pgx.Rows, sql string) ([]T, error) {
	defer rows.Close()
	found := make([]T, 0, countOf(rows))
	var r *rowReader[T]
	for rows.Next() {
		if r == nil {
			var err error
			if r, err = newRowReader[T](rows, sql); err != nil {
				return nil, err
			}
		}
		if err := r.read(rows); err != nil {
			return nil, err
		}
		found = append(found, r.row)
	}
	return found, rows.Err()
}

// countOf is how many rows there are, 0 where that is not known yet.
func countOf(rows pgx.Rows) int {
	if raw, ok := rows.(*rawRows); ok {
		return raw.count
	}
	return 0
}

// collectOne reads exactly one row.
func collectOne[T any](rows pgx.Rows, sql string) (T, error) {
	found, err := collect[T](rows, sql)
	var none T
	switch {
	case err != nil:
		return none, err
	case len(found) == 0:
		return none, pgx.ErrNoRows
	case len(found) > 1:
		return none, pgx.ErrTooManyRows
	}
	return found[0], nil
}

// A rowReader is the room for one row, used again for the next.
type rowReader[T any] struct {
	row     T
	targets []any // what each column is read into
	texts   []textField
	keys    interned
}

// A textField is a text as it comes, and where it goes.
type textField struct {
	bytes pgtype.DriverBytes
	into  *string
}

func newRowReader[T any](rows pgx.Rows, sql string) (*rowReader[T], error) {
	r := &rowReader[T]{keys: interned{}}
	row := reflect.ValueOf(&r.row).Elem()
	s, err := shapeOf(row.Type(), sql, rows.FieldDescriptions())
	if err != nil {
		return nil, err
	}
	r.targets, r.texts = make([]any, len(s.fields)), make([]textField, s.texts)
	texts := r.texts
	for i, column := range s.fields {
		target := row.FieldByIndex(column.path).Addr().Interface()
		if id, ok := target.(*uuid.UUID); ok {
			target = (*[16]byte)(id) // else it would be read as a text
		}
		if column.isText {
			texts[0].into = target.(*string)
			target = &texts[0].bytes
			texts = texts[1:]
		}
		r.targets[i] = target
	}
	return r, nil
}

func (r *rowReader[T]) read(rows pgx.Rows) error {
	if err := rows.Scan(r.targets...); err != nil {
		return err
	}
	for i := range r.texts {
		t := &r.texts[i]
		if t.bytes == nil {
			return errors.New("a text is NULL where the struct has a string")
		}
		*t.into = r.keys.short(t.bytes)
	}
	return nil
}

// A shape says which field of a struct each column of a query goes to.
type shape struct {
	fields []shapeField
	texts  int // how many of them are texts
}

type shapeField struct {
	path   []int // as for reflect's FieldByIndex
	isText bool  // a text column into a string
}

// shapeKey names a shape: a query always has the same columns.
type shapeKey struct {
	row reflect.Type
	sql string
}

// shapes are those found so far; a shape never changes.
var shapes sync.Map

func shapeOf(row reflect.Type, sql string, columns []pgconn.FieldDescription) (shape, error) {
	if known, ok := shapes.Load(shapeKey{row, sql}); ok {
		return known.(shape), nil
	}
	var s shape
	byName := map[string]reflect.StructField{}
	for _, field := range reflect.VisibleFields(row) {
		if field.IsExported() && !field.Anonymous {
			byName[strings.ToLower(field.Name)] = field
		}
	}
	for _, column := range columns {
		name := strings.ReplaceAll(column.Name, "_", "")
		field, ok := byName[name]
		if !ok {
			return shape{}, fmt.Errorf("%v has no field for the column %s", row, column.Name)
		}
		delete(byName, name)
		isText := field.Type == reflect.TypeFor[string]() && column.DataTypeOID == pgtype.TextOID
		if isText {
			s.texts++
		}
		s.fields = append(s.fields, shapeField{field.Index, isText})
	}
	for name := range byName {
		return shape{}, fmt.Errorf("no column for the field %s of %v", name, row)
	}
	shapes.Store(shapeKey{row, sql}, s)
	return s, nil
}

// interned keeps one copy of each text that many rows repeat.
type interned map[string]string

func (k interned) of(b []byte) string {
	if known, ok := k[string(b)]; ok {
		return known
	}
	fresh := string(b)
	k[fresh] = fresh
	return fresh
}

// Texts beyond these bounds are hardly the keys that rows repeat.
const (
	longestKey = 16 // bytes
	mostKeys   = 64
)

// short returns b as a text, and keeps it if it may come again.
func (k interned) short(b []byte) string {
	if len(b) == 0 {
		return ""
	}
	if len(b) <= longestKey && len(k) < mostKeys {
		return k.of(b)
	}
	if known, ok := k[string(b)]; ok {
		return known
	}
	return string(b)
}
