package store

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/maphash"
	"reflect"
	"sync"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"
)

// A Glance sees the rows of a [Store.Read] as they came, before anything is
// made of them. What follows from the same rows is the same: whoever kept it
// need not have them read again.
type Glance struct {
	// Known reports whether what follows from rows with this print is known. It
	// then is all that Read does: its error is ErrKnown, and nothing was read.
	Known func(Print) bool

	reads int
}

// A Print stands for rows: it is the same for the same rows and, but for a
// chance of one in 2^128, for no others. It holds for the running program only.
type Print [2]uint64

// ErrKnown is what Read returns where a Glance knew the rows.
var ErrKnown = errors.New("what follows from these rows is known")

// Alone reports whether exactly one Read was looked at.
func (g *Glance) Alone() bool { return g.reads == 1 }

type glancing struct{}

// Glancing returns a context whose reads g sees first.
func Glancing(ctx context.Context, g *Glance) context.Context {
	return context.WithValue(ctx, glancing{}, g)
}

// seeds of prints, at random for each start, so that nobody can make rows that
// look like others.
var seeds = [2]maphash.Seed{maphash.MakeSeed(), maphash.MakeSeed()}

// glance sends a batch of readings, looks at what came, and hands it on unless
// it is known.
func (s *Store) glance(ctx context.Context, g *Glance, gym uuid.UUID, readings []Reading) error {
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return classify(err)
	}
	defer conn.Release()
	raw := rawRooms.Get().(*rawAnswers)
	defer raw.giveBack()
	var then []func(pgx.BatchResults) error // what the readings do with their rows
	var batch pgx.Batch
	queue(ctx, &batch, gym, readings)
	for _, query := range batch.QueuedQueries {
		if query.Fn != nil {
			then = append(then, query.Fn)
			query.Query(raw.take)
		}
	}
	if err := classify(conn.SendBatch(ctx, &batch).Close()); err != nil {
		return err
	}
	if g.reads++; g.reads == 1 && g.Known(raw.print()) {
		return ErrKnown
	}
	var from rawAnswer
	for i, do := range then {
		to := raw.answers[i]
		rows := &rawRows{columns: raw.columns[from.column:to.column], tag: to.tag, count: to.rows, data: raw.data[from.data:to.data], types: conn.Conn().TypeMap()}
		from = to
		if err := do(rawResults{rows: rows}); err != nil {
			return classify(err)
		}
	}
	return nil
}

// rawAnswers are the answers to a batch, as they came: of each row, of each
// value its length and its bytes.
type rawAnswers struct {
	data    []byte
	columns []pgconn.FieldDescription // of all queries, each with its own names
	answers []rawAnswer
}

// A rawAnswer is the answer to one query, and where it ends.
type rawAnswer struct {
	tag          pgconn.CommandTag
	rows         int
	data, column int
}

var rawRooms = sync.Pool{New: func() any { return &rawAnswers{data: make([]byte, 0, 64<<10)} }}

func (a *rawAnswers) giveBack() {
	const usual = 512 << 10 // what grew for a rare long answer is let go
	if cap(a.data) <= usual {
		a.data, a.columns, a.answers = a.data[:0], a.columns[:0], a.answers[:0]
		rawRooms.Put(a)
	}
}

// null stands for a length.
const null = 1<<32 - 1

// take takes the rows of one query.
func (a *rawAnswers) take(rows pgx.Rows) error {
	count := 0
	for ; rows.Next(); count++ {
		for _, value := range rows.RawValues() {
			if value == nil {
				a.data = binary.LittleEndian.AppendUint32(a.data, null)
				continue
			}
			a.data = binary.LittleEndian.AppendUint32(a.data, uint32(len(value)))
			a.data = append(a.data, value...)
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	a.columns = append(a.columns, rows.FieldDescriptions()...)
	a.answers = append(a.answers, rawAnswer{tag: rows.CommandTag(), rows: count, data: len(a.data), column: len(a.columns)})
	return nil
}

// print is the print of all answers: their bytes, and where each ends.
func (a *rawAnswers) print() Print {
	var p Print
	for i, seed := range seeds {
		var h maphash.Hash
		h.SetSeed(seed)
		for _, answer := range a.answers {
			maphash.WriteComparable(&h, answer.data)
		}
		_, _ = h.Write(a.data) // a hash takes everything
		p[i] = h.Sum64()
	}
	return p
}

// rawResults give a reading its rows, as a batch does.
type rawResults struct{ rows *rawRows }

func (r rawResults) Exec() (pgconn.CommandTag, error) { return r.rows.tag, nil }
func (r rawResults) Query() (pgx.Rows, error)         { return r.rows, nil }
func (r rawResults) QueryRow() pgx.Row                { return rawRow(r) }
func (r rawResults) Close() error                     { return nil }
func (r rawResults) Tx() pgx.Tx                       { return nil }

// rawRow is the first row.
type rawRow struct{ rows *rawRows }

func (r rawRow) Scan(into ...any) error {
	if !r.rows.Next() {
		return pgx.ErrNoRows
	}
	return r.rows.Scan(into...)
}

// rawRows read an answer again, as pgx reads it from the database.
type rawRows struct {
	columns []pgconn.FieldDescription
	tag     pgconn.CommandTag
	count   int // of the rows ahead
	data    []byte
	values  [][]byte // of the row at hand
	types   *pgtype.Map
	plans   []pgtype.ScanPlan // how each column goes where the last row's went
	kinds   []reflect.Type
	err     error
}

func (r *rawRows) Next() bool {
	if r.count == 0 || r.err != nil {
		return false
	}
	r.count--
	if r.values == nil {
		r.values = make([][]byte, len(r.columns))
	}
	for i := range r.values {
		size := binary.LittleEndian.Uint32(r.data)
		r.data = r.data[4:]
		if size == null {
			r.values[i] = nil
			continue
		}
		r.values[i], r.data = r.data[:size:size], r.data[size:]
	}
	return true
}

// Scan reads the row at hand into pointers, one for each column.
func (r *rawRows) Scan(into ...any) error {
	if len(into) != len(r.values) {
		r.err = fmt.Errorf("%d columns for %d values", len(r.values), len(into))
		return r.err
	}
	if r.plans == nil {
		r.plans, r.kinds = make([]pgtype.ScanPlan, len(into)), make([]reflect.Type, len(into))
	}
	for i, target := range into {
		field := r.columns[i]
		if kind := reflect.TypeOf(target); r.kinds[i] != kind {
			r.kinds[i], r.plans[i] = kind, r.types.PlanScan(field.DataTypeOID, field.Format, target)
		}
		if err := r.plans[i].Scan(r.values[i], target); err != nil {
			r.err = pgx.ScanArgError{ColumnIndex: i, FieldName: field.Name, Err: err}
			return r.err
		}
	}
	return nil
}

func (r *rawRows) Values() ([]any, error) {
	return nil, errors.New("values without types are not read")
}
func (r *rawRows) RawValues() [][]byte                          { return r.values }
func (r *rawRows) FieldDescriptions() []pgconn.FieldDescription { return r.columns }
func (r *rawRows) CommandTag() pgconn.CommandTag                { return r.tag }
func (r *rawRows) Err() error                                   { return r.err }
func (r *rawRows) Close()                                       {}
func (r *rawRows) Conn() *pgx.Conn                              { return nil }
func (r *rawRows) TypeMap() *pgtype.Map                         { return r.types }
