package reporting

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/google/uuid"

	"ropewalk.example/internal/problem"
)

// packed is an export with one table of n equal bytes, which deflate makes tiny.
func packed(t testing.TB, n int64) []byte {
	t.Helper()
	var body bytes.Buffer
	archive := zip.NewWriter(&body)
	w, err := archive.Create("json/athlete.json")
	if err != nil {
		t.Fatal(err)
	}
	sum, piece := sha256.New(), bytes.Repeat([]byte(" "), 1<<16)
	for left := n; left > 0; left -= int64(len(piece)) {
		if _, err := io.MultiWriter(w, sum).Write(piece[:min(left, int64(len(piece)))]); err != nil {
			t.Fatal(err)
		}
	}
	w, err = archive.Create(manifestFile)
	if err != nil {
		t.Fatal(err)
	}
	manifest := Manifest{Format: FormatGym, Version: FormatVersion, Tables: []ManifestTable{{Name: "athlete", JSON: "json/athlete.json", JSONSHA256: hex.EncodeToString(sum.Sum(nil))}}}
	if err := json.NewEncoder(w).Encode(manifest); err != nil {
		t.Fatal(err)
	}
	if err := archive.Close(); err != nil {
		t.Fatal(err)
	}
	return body.Bytes()
}

// A small file that would unpack to a huge one is refused before it is unpacked.
func TestZipBombIsRefused(t *testing.T) {
	bomb := packed(t, 1<<30)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := (&Reporting{}).Import(context.Background(), uuid.New(), bytes.NewReader(bomb), int64(len(bomb)), nil)
	runtime.ReadMemStats(&after)
	if problem.KindOf(err) != problem.TooLarge || !strings.Contains(problem.MessageOf(err), "Nothing was brought in.") {
		t.Errorf("a bomb of %d bytes is told %v", len(bomb), err)
	}
	if taken := after.TotalAlloc - before.TotalAlloc; taken > 8<<20 {
		t.Errorf("looking at it took %d bytes of memory", taken)
	}
	t.Logf("%d bytes that unpack to %d: %v", len(bomb), 1<<30, err)
}

// Whatever an archive holds, it is read or refused, a row at a time.
func FuzzArchive(f *testing.F) {
	f.Add(packed(f, 100))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, body []byte) {
		archive, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
		if err != nil {
			return
		}
		m, err := readManifest(archive)
		if err != nil || unpacks(archive, int64(len(body))) != nil {
			return
		}
		for _, table := range m.Tables {
			if checkSum(archive, table.JSON, table.JSONSHA256) != nil {
				continue
			}
			file, err := archive.Open(table.JSON)
			if err != nil {
				t.Fatal("it was there before:", err)
			}
			next := lines(file)
			for row, err := next(); row != nil; row, err = next() {
				if err != nil || !json.Valid(row) {
					t.Fatalf("row %q, %v", row, err)
				}
			}
		}
	})
}
