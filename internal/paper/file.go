package paper

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"io"
	"strconv"
)

// A file writes the objects of a PDF file one after the other (ISO 32000-1, 7.5),
// those without a stream packed together.
type file struct {
	w       io.Writer
	hash    hash.Hash // of what was written, for the file's id
	offset  int64
	err     error
	entries []entry // of the cross-reference, by object number
	small   packing
	packer  *zlib.Writer
	packed  bytes.Buffer
}

// An entry says where an object is: at an offset, or in a packing object.
type entry struct {
	kind  byte // 1: at an offset; 2: in a packing object
	where uint32
	index uint16
}

// A packing is an object stream in the making (7.5.7).
type packing struct {
	number int
	count  int
	heads  bytes.Buffer
	bodies bytes.Buffer
}

// mostPacked is how many objects go into one packing object.
const mostPacked = 200

func newFile(w io.Writer) *file {
	f := &file{w: w, hash: sha256.New(), entries: make([]entry, 1)}
	// Twice as fast as the best packing, for a tenth more bytes.
	f.packer, f.err = zlib.NewWriterLevel(io.Discard, zlib.BestSpeed)
	f.write([]byte("%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"))
	return f
}

func (f *file) write(b []byte) {
	if f.err != nil {
		return
	}
	n, err := f.w.Write(b)
	f.offset += int64(n)
	f.err = err
	f.hash.Write(b[:n])
}

// reserve returns the number of an object that is written later.
func (f *file) reserve() int {
	f.entries = append(f.entries, entry{})
	return len(f.entries) - 1
}

// object writes an object without a stream.
func (f *file) object(number int, body string) {
	p := &f.small
	if p.number == 0 {
		p.number = f.reserve()
	}
	f.entries[number] = entry{kind: 2, where: uint32(p.number), index: uint16(p.count)}
	fmt.Fprintf(&p.heads, "%d %d ", number, p.bodies.Len())
	p.bodies.WriteString(body)
	p.bodies.WriteByte('\n')
	p.count++
	if p.count == mostPacked {
		f.flush()
	}
}

// flush writes the packing object.
func (f *file) flush() {
	p := &f.small
	if p.count == 0 {
		return
	}
	number, count, first := p.number, p.count, p.heads.Len()
	body := append(p.heads.Bytes(), p.bodies.Bytes()...)
	f.stream(number, fmt.Sprintf("/Type/ObjStm/N %d/First %d", count, first), body)
	p.number, p.count = 0, 0
	p.heads.Reset()
	p.bodies.Reset()
}

// stream writes an object with a stream, packed. dict is what its dictionary
// holds besides length and filter.
func (f *file) stream(number int, dict string, data []byte) {
	f.packed.Reset()
	f.packer.Reset(&f.packed)
	_, err := f.packer.Write(data)
	if err == nil {
		err = f.packer.Close()
	}
	if err != nil && f.err == nil {
		f.err = fmt.Errorf("packing a stream: %w", err)
	}
	f.plain(number, dict+"/Filter/FlateDecode", f.packed.Bytes())
}

// plain writes an object with a stream as it is.
func (f *file) plain(number int, dict string, data []byte) {
	f.entries[number] = entry{kind: 1, where: uint32(f.offset)}
	f.write([]byte(strconv.Itoa(number) + " 0 obj\n<<" + dict + "/Length " + strconv.Itoa(len(data)) + ">>\nstream\n"))
	f.write(data)
	f.write([]byte("\nendstream\nendobj\n"))
}

// close writes the cross-reference (7.5.8) and the file's end.
func (f *file) close(root, info int) error {
	f.flush()
	number := f.reserve()
	f.entries[number] = entry{kind: 1, where: uint32(f.offset)}
	var table bytes.Buffer
	for i, e := range f.entries {
		if i == 0 {
			table.Write([]byte{0, 0, 0, 0, 0, 0xff, 0xff})
			continue
		}
		table.WriteByte(e.kind)
		_ = binary.Write(&table, binary.BigEndian, e.where) // a buffer takes everything
		_ = binary.Write(&table, binary.BigEndian, e.index)
	}
	start := f.offset
	id := fmt.Sprintf("%X", f.hash.Sum(nil)[:16])
	f.stream(number, fmt.Sprintf("/Type/XRef/Size %d/W[1 4 2]/Root %d 0 R/Info %d 0 R/ID[<%s><%s>]", len(f.entries), root, info, id, id), table.Bytes())
	f.write([]byte("startxref\n" + strconv.FormatInt(start, 10) + "\n%%EOF\n"))
	return f.err
}

// ref writes a reference to an object.
func ref(number int) string { return strconv.Itoa(number) + " 0 R" }
