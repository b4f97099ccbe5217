package paper

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf16"
)

// Info describes a document.
type Info struct {
	Title string
	Lang  string // BCP 47
	Made  time.Time
}

// A Document is written page by page. Nothing of a finished page stays in
// memory but its number.
type Document struct {
	info  Info
	file  *file
	set   *setter
	fonts []*usedFont
	used  map[*typeface]*usedFont

	catalog, tree, pages, resources int
	kids                            []int // pages in their order
	sections                        []int // the structure of each page, in the order of pages
	parents                         []int // of each page, in the order of writing
	marks                           []bookmark
}

// A bookmark leads to a page.
type bookmark struct {
	title string
	page  int
}

// NewDocument begins a document that goes to w.
func NewDocument(w io.Writer, letters *Letters, info Info) *Document {
	d := &Document{info: info, file: newFile(w), set: newSetter(letters, info.Lang), used: map[*typeface]*usedFont{}}
	d.catalog, d.tree, d.pages, d.resources = d.file.reserve(), d.file.reserve(), d.file.reserve(), d.file.reserve()
	return d
}

// Begin begins a page. The page before must have ended.
func (d *Document) Begin(size Size, bookmarkTitle string) *Page {
	p := &Page{doc: d, Size: size, number: d.file.reserve(), section: d.file.reserve(), title: bookmarkTitle}
	p.root = &element{kind: Section, object: p.section}
	p.at = p.root
	return p
}

// Close writes what the pages share, and the end.
func (d *Document) Close() error {
	d.writeFonts()
	kids := make([]string, len(d.kids))
	for i, n := range d.kids {
		kids[i] = ref(n)
	}
	d.file.object(d.pages, fmt.Sprintf("<</Type/Pages/Count %d/Kids[%s]>>", len(kids), strings.Join(kids, " ")))
	d.writeTree()
	outlines := d.writeBookmarks()
	metadata := d.file.reserve()
	d.file.plain(metadata, "/Type/Metadata/Subtype/XML", []byte(d.metadata()))
	d.file.object(d.catalog, fmt.Sprintf("<</Type/Catalog/Pages %s/Lang%s/MarkInfo<</Marked true>>/StructTreeRoot %s/ViewerPreferences<</DisplayDocTitle true>>/Metadata %s%s>>",
		ref(d.pages), textString(d.info.Lang), ref(d.tree), ref(metadata), outlines))
	info := d.file.reserve()
	d.file.object(info, fmt.Sprintf("<</Title%s/Producer(Ropewalk)/CreationDate(D:%s)>>", textString(d.info.Title), d.info.Made.UTC().Format("20060102150405Z")))
	return d.file.close(d.catalog, info)
}

// writeTree writes the root of the structure (ISO 32000-1, 14.7).
func (d *Document) writeTree() {
	sections := make([]string, len(d.sections))
	for i, n := range d.sections {
		sections[i] = ref(n)
	}
	root := d.file.reserve()
	d.file.object(root, fmt.Sprintf("<</Type/StructElem/S/Document/P %s/K[%s]>>", ref(d.tree), strings.Join(sections, " ")))
	var numbers strings.Builder
	for i, n := range d.parents {
		fmt.Fprintf(&numbers, "%d %s ", i, ref(n))
	}
	parents := d.file.reserve()
	d.file.object(parents, "<</Nums["+numbers.String()+"]>>")
	d.file.object(d.tree, fmt.Sprintf("<</Type/StructTreeRoot/K %s/ParentTree %s/ParentTreeNextKey %d>>", ref(root), ref(parents), len(d.parents)))
}

// writeBookmarks returns what the catalog says of them, "" without any.
func (d *Document) writeBookmarks() string {
	if len(d.marks) == 0 {
		return ""
	}
	outlines := d.file.reserve()
	numbers := make([]int, len(d.marks))
	for i := range numbers {
		numbers[i] = d.file.reserve()
	}
	for i, m := range d.marks {
		body := fmt.Sprintf("<</Title%s/Parent %s/Dest[%s/Fit]", textString(m.title), ref(outlines), ref(m.page))
		if i > 0 {
			body += "/Prev " + ref(numbers[i-1])
		}
		if i < len(numbers)-1 {
			body += "/Next " + ref(numbers[i+1])
		}
		d.file.object(numbers[i], body+">>")
	}
	d.file.object(outlines, fmt.Sprintf("<</Type/Outlines/First %s/Last %s/Count %d>>", ref(numbers[0]), ref(numbers[len(numbers)-1]), len(numbers)))
	return "/Outlines " + ref(outlines)
}

// metadata tells title and language in XMP.
func (d *Document) metadata() string {
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")
	return `<?xpacket begin="` + "\ufeff" + `" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title><rdf:Alt><rdf:li xml:lang="x-default">` +
		escape.Replace(d.info.Title) + `</rdf:li></rdf:Alt></dc:title><dc:language><rdf:Bag><rdf:li>` + escape.Replace(d.info.Lang) +
		`</rdf:li></rdf:Bag></dc:language></rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="r"?>`
}

// textString writes text as PDF keeps it outside of pages: UTF-16 in hex.
func textString(text string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, unit := range utf16.Encode([]rune(text)) {
		fmt.Fprintf(&b, "%04X", unit)
	}
	b.WriteByte('>')
	return b.String()
}
