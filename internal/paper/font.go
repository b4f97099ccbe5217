package paper

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
)

// A usedFont is a font in one document, with the glyphs that it needs.
type usedFont struct {
	*typeface
	face     *font.Face // for widths
	resource string     // "/F1 "
	object   int
	text     map[uint16]string  // what each glyph is read as
	widths   map[uint16]float64 // thousandths of the size, as the file says
}

// use returns the document's font of a face.
func (d *Document) use(t *typeface) *usedFont {
	if u := d.used[t]; u != nil {
		return u
	}
	u := &usedFont{typeface: t, face: font.NewFace(t.font), resource: fmt.Sprintf("/F%d ", len(d.fonts)+1), object: d.file.reserve(),
		text: map[uint16]string{}, widths: map[uint16]float64{}}
	d.used[t] = u
	d.fonts = append(d.fonts, u)
	return u
}

// width returns how far a glyph reaches by itself.
func (u *usedFont) width(id uint16) float64 {
	w, known := u.widths[id]
	if !known {
		w = float64(u.face.HorizontalAdvance(font.GID(id))) * perEm / u.upem
		u.widths[id] = w
	}
	return w
}

// A stretch is a part of a run that is read in one way: from the font alone, or
// as the letters that are said of it.
type stretch struct {
	glyphs []glyph
	said   string // "" where the font alone tells
}

// stretches parts a run. A glyph by itself is read as what it stood for first in
// the document; a group of glyphs, and a glyph that stands for other letters now,
// need words of their own. Groups stay in the order of the line: readers turn
// scripts that run from right to left by themselves.
func (u *usedFont) stretches(glyphs []glyph) []stretch {
	var all []stretch
	for i := 0; i < len(glyphs); {
		end := i + 1
		for end < len(glyphs) && glyphs[end].text == "" {
			end++
		}
		g, said := glyphs[i], glyphs[i].text
		before, known := u.text[g.id]
		if end == i+1 && g.id != 0 && (!known || before == g.text) {
			u.text[g.id], said = g.text, ""
		}
		if last := len(all) - 1; said == "" && last >= 0 && all[last].said == "" {
			all[last].glyphs = glyphs[i-len(all[last].glyphs) : end]
		} else {
			all = append(all, stretch{glyphs[i:end], said})
		}
		i = end
	}
	return all
}

// writeFonts writes every used font and the list of them.
func (d *Document) writeFonts() {
	var list strings.Builder
	for _, u := range d.fonts {
		if err := d.writeFont(u); err != nil && d.file.err == nil {
			d.file.err = fmt.Errorf("packing the letters %s: %w", u.name, err)
		}
		list.WriteString(u.resource + ref(u.object))
	}
	d.file.object(d.resources, "<</Font<<"+list.String()+">>>>")
}

// writeFont writes a font as a Type 0 font over TrueType outlines (ISO 32000-1,
// 9.7), with the outlines that were used.
func (d *Document) writeFont(u *usedFont) error {
	glyphs := slices.Sorted(maps.Keys(u.widths))
	outlines, err := u.subset(glyphs)
	if err != nil {
		return err
	}
	head, err := u.loader.RawTable(opentype.MustNewTag("head"))
	if err != nil {
		return err
	}
	f := d.file
	program, descriptor, descendant, toUnicode := f.reserve(), f.reserve(), f.reserve(), f.reserve()
	f.stream(program, fmt.Sprintf("/Length1 %d", len(outlines)), outlines)
	name := subsetTag(glyphs) + "+" + strings.TrimSuffix(u.name, ".ttf")
	em := func(at int) int {
		return int(int16(binary.BigEndian.Uint16(head[at:]))) * perEm / int(u.upem)
	}
	extents, _ := u.face.FontHExtents()
	ascent, descent := int(float64(extents.Ascender)*perEm/u.upem), int(float64(extents.Descender)*perEm/u.upem)
	f.object(descriptor, fmt.Sprintf("<</Type/FontDescriptor/FontName/%s/Flags 4/FontBBox[%d %d %d %d]/ItalicAngle 0/Ascent %d/Descent %d/CapHeight %d/StemV 80/FontFile2 %s>>",
		name, em(36), em(38), em(40), em(42), ascent, descent, ascent*2/3, ref(program)))
	f.object(descendant, fmt.Sprintf("<</Type/Font/Subtype/CIDFontType2/BaseFont/%s/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>/FontDescriptor %s/CIDToGIDMap/Identity/DW 0/W[%s]>>",
		name, ref(descriptor), u.widthList(glyphs)))
	f.stream(toUnicode, "", []byte(u.characterMap()))
	f.object(u.object, fmt.Sprintf("<</Type/Font/Subtype/Type0/BaseFont/%s/Encoding/Identity-H/DescendantFonts[%s]/ToUnicode %s>>", name, ref(descendant), ref(toUnicode)))
	return nil
}

// subsetTag makes six letters of the glyphs, so that two subsets of one font are
// not taken for each other (9.6.4).
func subsetTag(glyphs []uint16) string {
	h := sha256.New()
	for _, g := range glyphs {
		h.Write([]byte{byte(g >> 8), byte(g)})
	}
	sum := h.Sum(nil)
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = 'A' + sum[i]%26
	}
	return string(tag)
}

// widthList lists the widths of glyphs, runs of neighbours together.
func (u *usedFont) widthList(glyphs []uint16) string {
	var b strings.Builder
	for i := 0; i < len(glyphs); {
		fmt.Fprintf(&b, "%d[", glyphs[i])
		for first := i; i < len(glyphs) && int(glyphs[i]) == int(glyphs[first])+i-first; i++ {
			b.WriteString(number(u.widths[glyphs[i]]) + " ")
		}
		b.WriteString("]")
	}
	return b.String()
}

// characterMap says which letters each glyph stands for (9.10.3).
func (u *usedFont) characterMap() string {
	var pairs []string
	for _, g := range slices.Sorted(maps.Keys(u.text)) {
		if u.text[g] != "" {
			pairs = append(pairs, fmt.Sprintf("<%04X><%s>\n", g, unicodeHex(u.text[g])))
		}
	}
	var b strings.Builder
	b.WriteString("/CIDInit/ProcSet findresource begin 12 dict begin begincmap/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def" +
		"/CMapName/Adobe-Identity-UCS def/CMapType 2 def 1 begincodespacerange<0000><FFFF>endcodespacerange\n")
	for some := range slices.Chunk(pairs, 100) {
		fmt.Fprintf(&b, "%d beginbfchar\n%sendbfchar\n", len(some), strings.Join(some, ""))
	}
	b.WriteString("endcmap CMapName currentdict/CMap defineresource pop end end")
	return b.String()
}
