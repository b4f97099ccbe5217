package paper

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"github.com/go-text/typesetting/font/opentype"
)

// subset returns a TrueType file with the outlines of the given glyphs and of
// those that they are made of; all others are empty. Glyphs keep their numbers.
// It has the tables that PDF asks for (ISO 32000-1, 9.9).
func (t *typeface) subset(glyphs []uint16) ([]byte, error) {
	head, err := t.loader.RawTable(opentype.MustNewTag("head"))
	if err != nil || len(head) < 54 {
		return nil, errors.Join(errors.New("no head table"), err)
	}
	loca, err := t.loader.RawTable(opentype.MustNewTag("loca"))
	if err != nil {
		return nil, err
	}
	glyf, err := t.loader.RawTable(opentype.MustNewTag("glyf"))
	if err != nil {
		return nil, err
	}
	outlines, err := outlinesOf(loca, glyf, binary.BigEndian.Uint16(head[50:]) == 1)
	if err != nil {
		return nil, err
	}
	kept := closure(glyphs, outlines)
	newLoca := make([]byte, 0, 4*(len(outlines)+1))
	var newGlyf []byte
	for i, outline := range outlines {
		newLoca = binary.BigEndian.AppendUint32(newLoca, uint32(len(newGlyf)))
		if kept[uint16(i)] {
			newGlyf = append(newGlyf, outline...)
			newGlyf = append(newGlyf, make([]byte, -len(outline)&3)...)
		}
	}
	newLoca = binary.BigEndian.AppendUint32(newLoca, uint32(len(newGlyf)))
	newHead := slices.Clone(head)
	binary.BigEndian.PutUint32(newHead[8:], 0)  // checksum of the whole file
	binary.BigEndian.PutUint16(newHead[50:], 1) // long offsets
	tables := []table{{"glyf", newGlyf}, {"head", newHead}, {"loca", newLoca}}
	for _, name := range []string{"hhea", "hmtx", "maxp"} {
		body, err := t.loader.RawTable(opentype.MustNewTag(name))
		if err != nil {
			return nil, fmt.Errorf("table %s: %w", name, err)
		}
		tables = append(tables, table{name, body})
	}
	for _, name := range []string{"cvt ", "fpgm", "prep"} { // hints, where there are some
		if body, err := t.loader.RawTable(opentype.MustNewTag(name)); err == nil && len(body) > 0 {
			tables = append(tables, table{name, body})
		}
	}
	return fontFile(tables), nil
}

// outlinesOf parts the glyf table by glyph.
func outlinesOf(loca, glyf []byte, long bool) ([][]byte, error) {
	width := 2
	if long {
		width = 4
	}
	at := func(i int) int {
		if long {
			return int(binary.BigEndian.Uint32(loca[4*i:]))
		}
		return 2 * int(binary.BigEndian.Uint16(loca[2*i:]))
	}
	outlines := make([][]byte, max(0, len(loca)/width-1))
	for i := range outlines {
		from, to := at(i), at(i+1)
		if from > to || to > len(glyf) {
			return nil, fmt.Errorf("glyph %d lies outside its table", i)
		}
		outlines[i] = glyf[from:to]
	}
	return outlines, nil
}

// Flags of the parts of a composite glyph (OpenType 1.9, glyf).
const (
	argsAreWords  = 1 << 0
	hasScale      = 1 << 3
	moreParts     = 1 << 5
	hasTwoScales  = 1 << 6
	hasTwoByTwo   = 1 << 7
	compositeHead = 10
)

// closure returns the glyphs with those that they are made of, and glyph 0, the
// box for what is missing.
func closure(glyphs []uint16, outlines [][]byte) map[uint16]bool {
	kept := map[uint16]bool{}
	var keep func(glyph uint16)
	keep = func(glyph uint16) {
		if kept[glyph] || int(glyph) >= len(outlines) {
			return
		}
		kept[glyph] = true
		for _, part := range parts(outlines[glyph]) {
			keep(part)
		}
	}
	keep(0)
	for _, glyph := range glyphs {
		keep(glyph)
	}
	return kept
}

// parts lists the glyphs that a composite outline is made of.
func parts(outline []byte) []uint16 {
	if len(outline) < compositeHead || int16(binary.BigEndian.Uint16(outline)) >= 0 {
		return nil
	}
	var found []uint16
	for at := compositeHead; at+4 <= len(outline); {
		flags := binary.BigEndian.Uint16(outline[at:])
		found = append(found, binary.BigEndian.Uint16(outline[at+2:]))
		at += 6
		if flags&argsAreWords != 0 {
			at += 2
		}
		switch {
		case flags&hasScale != 0:
			at += 2
		case flags&hasTwoScales != 0:
			at += 4
		case flags&hasTwoByTwo != 0:
			at += 8
		}
		if flags&moreParts == 0 {
			break
		}
	}
	return found
}

// A table is one of a font file.
type table struct {
	name string
	body []byte
}

// fontFile puts tables together (OpenType 1.9, organization of an OpenType font).
func fontFile(tables []table) []byte {
	slices.SortFunc(tables, func(a, b table) int { return slices.Compare([]byte(a.name), []byte(b.name)) })
	n := len(tables)
	power, log := 1, 0
	for power*2 <= n {
		power, log = power*2, log+1
	}
	file := binary.BigEndian.AppendUint32(nil, 0x00010000)
	for _, v := range []int{n, 16 * power, log, 16*n - 16*power} {
		file = binary.BigEndian.AppendUint16(file, uint16(v))
	}
	offset := len(file) + 16*n
	for _, t := range tables {
		file = append(file, t.name...)
		for _, v := range []uint32{checksum(t.body), uint32(offset), uint32(len(t.body))} {
			file = binary.BigEndian.AppendUint32(file, v)
		}
		offset += (len(t.body) + 3) &^ 3
	}
	for _, t := range tables {
		file = append(file, t.body...)
		file = append(file, make([]byte, -len(t.body)&3)...)
	}
	return file
}

func checksum(body []byte) uint32 {
	var sum uint32
	for at := 0; at < len(body); at += 4 {
		var word [4]byte
		copy(word[:], body[at:])
		sum += binary.BigEndian.Uint32(word[:])
	}
	return sum
}
