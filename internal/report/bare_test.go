package report

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"fmt"
	"io"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/xuri/excelize/v2"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"ropewalk.example/internal/paper"
)

// What the writers of this package are measured against: well-kept libraries that
// write the same content without thinking about it. Workbooks go through the same
// library; PDF pages, which are written by package paper, through fpdf, which
// neither shapes letters nor tags what they are. It gets the finished pages: every
// line of words at its place and every stroke, so that it needs no layout.

// A barePage is what stands on a page.
type barePage struct {
	strokes []bareStroke
	lines   []bareLine
}

// A bareStroke is one operator of PDF with its numbers, y counted from the bottom.
type bareStroke struct {
	op   string
	args []float64
}

// A bareLine is a line of words with its baseline, y counted from the top.
type bareLine struct {
	X    float64 `xml:"xMin,attr"`
	Top  float64 `xml:"yMin,attr"`
	Base float64 `xml:"yMax,attr"`
	Word []struct {
		Text string `xml:",chardata"`
	} `xml:"word"`
	size float64
	text string
}

// barePages reads the pages of a document that package paper wrote.
func barePages(tb testing.TB, pdf []byte) []barePage {
	tb.Helper()
	cmd := exec.CommandContext(tb.Context(), "pdftotext", "-enc", "UTF-8", "-bbox-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		tb.Fatalf("pdftotext: %v", err)
	}
	var read struct {
		Pages []struct {
			Lines []bareLine `xml:"flow>block>line"`
		} `xml:"body>doc>page"`
	}
	if err := xml.Unmarshal(out, &read); err != nil {
		tb.Fatal(err)
	}
	streams := contents(tb, pdf)
	if len(streams) != len(read.Pages) {
		tb.Fatalf("%d contents of %d pages", len(streams), len(read.Pages))
	}
	pages := make([]barePage, len(streams))
	for i := range pages {
		pages[i] = barePage{strokes: strokes(tb, streams[i]), lines: read.Pages[i].Lines}
		for j := range pages[i].lines {
			l := &pages[i].lines[j]
			words := make([]string, len(l.Word))
			for k, w := range l.Word {
				words[k] = w.Text
			}
			l.text, l.size, l.Word = strings.Join(words, " "), (l.Base-l.Top)/1.36, nil
		}
	}
	return pages
}

// contents unpacks what the pages of a document hold, in the order of writing.
func contents(tb testing.TB, pdf []byte) []string {
	tb.Helper()
	var all []string
	for part := range bytes.SplitSeq(pdf, []byte("\nendstream")) {
		head, body, ok := bytes.Cut(part, []byte(">>\nstream\n"))
		if !ok || !bytes.Contains(head, []byte(" 0 obj\n<</Filter/FlateDecode/Length ")) {
			continue
		}
		unpacked, err := zlib.NewReader(bytes.NewReader(body))
		if err != nil {
			tb.Fatal(err)
		}
		text, err := io.ReadAll(unpacked)
		if err != nil {
			tb.Fatal(err)
		}
		if bytes.Contains(text, []byte("BT\n")) {
			all = append(all, string(text))
		}
	}
	return all
}

// strokes are the operators of a content that draw no letters.
func strokes(tb testing.TB, content string) []bareStroke {
	tb.Helper()
	var all []bareStroke
	var args []float64
	letters := false
	for word := range strings.FieldsSeq(content) {
		word = strings.Trim(word, "[]")
		if v, err := strconv.ParseFloat(strings.TrimPrefix(word, "]"), 64); err == nil {
			args = append(args, v)
			continue
		}
		switch word {
		case "BT":
			letters = true
		case "ET":
			letters = false
		case "w", "RG", "rg", "d", "m", "l", "c", "S", "f", "b":
			if !letters {
				all = append(all, bareStroke{word, args})
			}
		}
		args = nil
	}
	return all
}

// bareDocument writes pages through fpdf.
func bareDocument(w io.Writer, size paper.Size, pages []barePage) error {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: size.Width, Ht: size.Height}})
	doc.AddUTF8FontFromBytes("go", "", goregular.TTF)
	doc.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	for _, p := range pages {
		doc.AddPage()
		for _, s := range p.strokes {
			draw(doc, size.Height, s)
		}
		doc.SetTextColor(27, 35, 38)
		for i, l := range p.lines {
			style := ""
			if i == 1 {
				style = "B"
			}
			doc.SetFont("go", style, l.size)
			doc.Text(l.X, l.Base-0.29*l.size, l.text)
		}
	}
	return doc.Output(w)
}

func draw(doc *fpdf.Fpdf, height float64, s bareStroke) {
	a, whole := s.args, func(share float64) int { return int(255 * share) }
	switch s.op {
	case "w":
		doc.SetLineWidth(a[0])
	case "d":
		doc.SetDashPattern(a[:len(a)-1], 0)
	case "RG":
		doc.SetDrawColor(whole(a[0]), whole(a[1]), whole(a[2]))
	case "rg":
		doc.SetFillColor(whole(a[0]), whole(a[1]), whole(a[2]))
	case "m":
		doc.MoveTo(a[0], height-a[1])
	case "l":
		doc.LineTo(a[0], height-a[1])
	case "c":
		doc.CurveBezierCubicTo(a[0], height-a[1], a[2], height-a[3], a[4], height-a[5])
	case "S":
		doc.DrawPath("D")
	case "f":
		doc.DrawPath("F")
	case "b":
		doc.DrawPath("DF")
	}
}

// A bareBook is a workbook of the same cells as XLSX writes, through excelize
// alone.
type bareBook struct {
	book   *excelize.File
	sheets []*excelize.StreamWriter
	rows   []int
}

func newBareBook() (*bareBook, error) {
	b := &bareBook{book: excelize.NewFile()}
	for _, t := range Tables() {
		if _, err := b.book.NewSheet(t.Title); err != nil {
			return nil, err
		}
		w, err := b.book.NewStreamWriter(t.Title)
		if err != nil {
			return nil, err
		}
		heads := make([]any, len(t.Columns))
		for i, c := range t.Columns {
			heads[i] = c.Title
		}
		b.sheets, b.rows = append(b.sheets, w), append(b.rows, 0)
		if err := b.add(len(b.sheets)-1, heads); err != nil {
			return nil, err
		}
	}
	return b, nil
}

func (b *bareBook) add(sheet int, cells []any) error {
	b.rows[sheet]++
	return b.sheets[sheet].SetRow("A"+strconv.Itoa(b.rows[sheet]), cells)
}

func (b *bareBook) close(w io.Writer) error {
	for _, s := range b.sheets {
		if err := s.Flush(); err != nil {
			return err
		}
	}
	if err := b.book.Write(w); err != nil {
		return fmt.Errorf("writing: %w", err)
	}
	return b.book.Close()
}
