package roster

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"

	"ropewalk.example/internal/problem"
)

// decode reads r as text without a byte order mark.
func decode(r io.Reader, limits Limits) (string, error) {
	data, err := io.ReadAll(io.LimitReader(r, limits.Bytes+1))
	if err != nil {
		return "", fmt.Errorf("reading a roster file: %w", err)
	}
	if int64(len(data)) > limits.Bytes {
		return "", problem.New(problem.TooLarge, "This file is larger than %s. A roster of %s athletes is far smaller, so choose another file.",
			size(limits.Bytes), thousands(limits.Lines))
	}
	if isWorkbook(data) {
		return "", problem.New(problem.Invalid, "This is a workbook, not a CSV file. Save it as “CSV UTF-8” and choose that file.")
	}
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		data, err = unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Bytes(data)
		if err != nil {
			return "", problem.Wrap(err, problem.Invalid, "This file cannot be read as UTF-16. Save it as “CSV UTF-8” and choose it again.")
		}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if bytes.IndexByte(data, 0) >= 0 || bytes.HasPrefix(data, []byte("%PDF-")) {
		return "", problem.New(problem.Invalid, "This is not a text file. Save the roster as “CSV UTF-8” and choose that file.")
	}
	if at := badByte(data); at >= 0 {
		return "", problem.New(problem.Invalid, "Line %d is not UTF-8 text, so its letters would be lost. Save the file as “CSV UTF-8” and choose it again.",
			lineAt(data, at))
	}
	return string(data), nil
}

// isWorkbook knows the first bytes of the two kinds of spreadsheet file: a ZIP
// archive and a compound file.
func isWorkbook(data []byte) bool {
	return bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0"))
}

// badByte returns the index of the first byte that is not part of UTF-8 text,
// or -1.
func badByte(data []byte) int {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return -1
}

// lineAt returns the number of the line that holds data[at].
func lineAt(data []byte, at int) int {
	number := 1
	for i, b := range data[:at] {
		if b == '\n' || b == '\r' && data[i+1] != '\n' {
			number++
		}
	}
	return number
}

// size prints a limit in whole MB or kB.
func size(n int64) string {
	if n >= 1<<20 {
		return fmt.Sprintf("%d MB", n>>20)
	}
	return fmt.Sprintf("%d kB", n>>10)
}

// thousands prints n with commas.
func thousands(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", thousands(n/1000), n%1000)
}

func tooManyLines(limits Limits) error {
	return problem.New(problem.TooLarge, "This file has more than %s athletes. Split it into smaller files.", thousands(limits.Lines))
}
