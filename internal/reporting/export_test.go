package reporting_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"ropewalk.example/internal/gym"
	"ropewalk.example/internal/problem"
	"ropewalk.example/internal/reporting"
	"ropewalk.example/internal/store"
)

// unpack returns the files of an archive by name.
func unpack(t *testing.T, body []byte) map[string][]byte {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// pack makes an archive of files.
func pack(t *testing.T, files map[string][]byte) []byte {
	t.Helper()
	var body bytes.Buffer
	archive := zip.NewWriter(&body)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		w, err := archive.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(files[name]); err != nil {
			t.Fatal(err)
		}
	}
	if err := archive.Close(); err != nil {
		t.Fatal(err)
	}
	return body.Bytes()
}

func manifestOf(t *testing.T, files map[string][]byte) reporting.Manifest {
	t.Helper()
	var m reporting.Manifest
	if err := json.Unmarshal(files["manifest.json"], &m); err != nil {
		t.Fatal(err)
	}
	return m
}

// A whole term of a gym goes out, into an empty gym, and out again: the second
// file is the first, byte for byte. What is told here rests on one filled gym.
func TestExportOfAGym(t *testing.T) {
	h := fill(t)
	first := h.export(h.gym)
	if !bytes.Equal(first, h.export(h.gym)) {
		t.Error("two exports of one gym differ")
	}
	files := unpack(t, first)
	t.Run("manifest", func(t *testing.T) { checkManifest(t, files) })
	t.Run("schema", func(t *testing.T) { checkSchema(t, files) })
	t.Run("what is refused", func(t *testing.T) { h.refuses(t, files) })
	t.Run("in and out again", func(t *testing.T) {
		other := uuid.New()
		done, err := h.Import(t.Context(), other, bytes.NewReader(first), int64(len(first)), nil)
		if err != nil {
			t.Fatal(err)
		}
		if done.Name != "Tallowmere Rope Hall" || done.Rows < 1000 {
			t.Errorf("brought in: %+v", done)
		}
		if again := h.export(other); !bytes.Equal(again, first) {
			for name, body := range unpack(t, again) {
				if !bytes.Equal(body, files[name]) {
					t.Errorf("%s came back different", name)
				}
			}
		}
		var classes []gym.Class
		h.read(other, store.Classes(&classes))
		for i, c := range classes {
			if c.Code == "" || c.Code == h.classes[i].Code {
				t.Errorf("class %s has the code %q, in the first gym %q", c.Name, c.Code, h.classes[i].Code)
			}
		}
		_, err = h.Import(t.Context(), other, bytes.NewReader(first), int64(len(first)), nil)
		if problem.KindOf(err) != problem.Conflict {
			t.Errorf("into a gym that is there: %v", err)
		}
	})
}

// checkManifest holds the manifest against the files.
func checkManifest(t *testing.T, files map[string][]byte) {
	m := manifestOf(t, files)
	listed := map[string]bool{"manifest.json": true, "schema.json": true, "README.txt": true}
	for _, table := range m.Tables {
		listed[table.JSON], listed[table.CSV] = true, true
		for name, want := range map[string]string{table.JSON: table.JSONSHA256, table.CSV: table.CSVSHA256} {
			if sum := sha256.Sum256(files[name]); hex.EncodeToString(sum[:]) != want {
				t.Errorf("%s has another checksum than the manifest says", name)
			}
		}
		var rows []map[string]json.RawMessage
		if err := json.Unmarshal(files[table.JSON], &rows); err != nil || len(rows) != table.Rows {
			t.Errorf("%s holds %d rows, the manifest says %d (%v)", table.JSON, len(rows), table.Rows, err)
		}
		plain, marked := bytes.CutPrefix(files[table.CSV], []byte("\ufeff"))
		cells, err := csv.NewReader(bytes.NewReader(plain)).ReadAll()
		if err != nil || !marked || len(cells) != table.Rows+1 || !slices.Equal(cells[0], table.Columns) {
			t.Errorf("%s: %d lines, marked %t, heads %v (%v)", table.CSV, len(cells), marked, cells[0], err)
		}
	}
	for name := range files {
		if !listed[name] {
			t.Errorf("%s is not in the manifest", name)
		}
	}
	for _, left := range m.LeftOut {
		if left.Why == "" {
			t.Errorf("nobody says why %s is left out", left.Table)
		}
	}
}

// checkSchema holds an export against the schema that the documents publish and,
// column by column, against the one that it brings along, with a validator of
// others.
func checkSchema(t *testing.T, files map[string][]byte) {
	t.Helper()
	published, err := os.ReadFile("../../docs/export.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	for name, body := range map[string][]byte{"published.json": published, "own.json": files["schema.json"]} {
		schema, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		if err := compiler.AddResource(name, schema); err != nil {
			t.Fatal(err)
		}
	}
	holds := func(name, schema string) {
		t.Helper()
		compiled, err := compiler.Compile(schema)
		if err != nil {
			t.Fatal(err)
		}
		value, err := jsonschema.UnmarshalJSON(bytes.NewReader(files[name]))
		if err != nil {
			t.Fatal(err)
		}
		if err := compiled.Validate(value); err != nil {
			t.Errorf("%s is not as %s says: %v", name, schema, err)
		}
	}
	holds("manifest.json", "published.json")
	for _, table := range manifestOf(t, files).Tables {
		holds(table.JSON, "published.json#/$defs/table")
		if len(manifestOf(t, files).Athlete) > 0 && (table.Name == "class" || table.Name == "session") {
			continue // one athlete's data tell less of meetings than their schema has
		}
		holds(table.JSON, "own.json#/$defs/"+table.Name)
	}
}

// refuses tries files that are no whole export of a gym. Nothing of them stays.
func (h *hall) refuses(t *testing.T, files map[string][]byte) {
	with := func(change func(files map[string][]byte, m *reporting.Manifest)) []byte {
		changed := maps.Clone(files)
		m := manifestOf(t, files)
		change(changed, &m)
		if _, ok := changed["manifest.json"]; ok {
			body, err := json.Marshal(m)
			if err != nil {
				t.Fatal(err)
			}
			changed["manifest.json"] = body
		}
		return pack(t, changed)
	}
	table := func(m *reporting.Manifest, name string) *reporting.ManifestTable {
		return &m.Tables[slices.IndexFunc(m.Tables, func(t reporting.ManifestTable) bool { return t.Name == name })]
	}
	replace := func(name, old, by string) []byte {
		return with(func(files map[string][]byte, m *reporting.Manifest) {
			entry := table(m, name)
			files[entry.JSON] = bytes.Replace(files[entry.JSON], []byte(old), []byte(by), 1)
			sum := sha256.Sum256(files[entry.JSON])
			entry.JSONSHA256 = hex.EncodeToString(sum[:])
		})
	}
	for what, test := range map[string]struct {
		file []byte
		want string
	}{
		"no archive":      {[]byte("name,birth year\nAmara,2014\n"), "not an export"},
		"another archive": {pack(t, map[string][]byte{"word/document.xml": []byte("<x/>")}), "not an export"},
		"no manifest":     {with(func(f map[string][]byte, _ *reporting.Manifest) { delete(f, "manifest.json") }), "not an export"},
		"one athlete":     {with(func(_ map[string][]byte, m *reporting.Manifest) { m.Format = reporting.FormatAthlete }), "one athlete"},
		"another format":  {with(func(_ map[string][]byte, m *reporting.Manifest) { m.Format = "something" }), "not an export"},
		"a newer one":     {with(func(_ map[string][]byte, m *reporting.Manifest) { m.Version++ }), "newer Ropewalk"},
		"an unknown table": {with(func(_ map[string][]byte, m *reporting.Manifest) {
			table(m, "term").Name = "moon"
		}), "newer Ropewalk"},
		"an unknown column": {with(func(_ map[string][]byte, m *reporting.Manifest) {
			table(m, "term").Columns[0] = "moon"
		}), "newer Ropewalk"},
		"a changed byte": {with(func(f map[string][]byte, m *reporting.Manifest) {
			f["json/term.json"] = bytes.Replace(f["json/term.json"], []byte("Autumn"), []byte("Spring"), 1)
		}), "damaged"},
		"a missing part":  {with(func(f map[string][]byte, _ *reporting.Manifest) { delete(f, "json/result.json") }), "damaged"},
		"a wrong count":   {with(func(_ map[string][]byte, m *reporting.Manifest) { table(m, "result").Rows-- }), "damaged"},
		"a broken row":    {replace("term", `{`, `{{`), ""},
		"a row of nobody": {replace("enrolment", `"athlete_id":"`, `"athlete_id":"00000000-0000-7000-8000-000000000000","was":"`), "damaged"},
	} {
		t.Run(what, func(t *testing.T) {
			other := uuid.New()
			_, err := h.Import(t.Context(), other, bytes.NewReader(test.file), int64(len(test.file)), nil)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("it was answered with %v", err)
			}
			var g gym.Gym
			if err := h.Store.Read(t.Context(), other, store.TheGym(&g)); problem.KindOf(err) != problem.NotFound {
				t.Errorf("a part came in: %+v, %v", g, err)
			}
		})
	}
}

// One athlete's data hold that athlete and nobody else of the roster.
func TestExportOfOneAthlete(t *testing.T) {
	h := fill(t)
	about := h.athletes[0]
	id := uuid.New()
	if err := h.Ask(t.Context(), h.owner, reporting.Order{ID: id, Kind: gym.ReportAthleteData, Format: gym.FormatZip, Athlete: about.AthleteID}); err != nil {
		t.Fatal(err)
	}
	m, ok, err := h.Take(t.Context(), h.gym, id)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	var body bytes.Buffer
	if err := h.Export(t.Context(), m, &body); err != nil {
		t.Fatal(err)
	}
	files := unpack(t, body.Bytes())
	checkManifest(t, files)
	checkSchema(t, files)
	if m := manifestOf(t, files); m.Format != reporting.FormatAthlete || m.Athlete != about.AthleteID.String() {
		t.Errorf("the manifest says %q of %q", m.Format, m.Athlete)
	}
	for name, text := range files {
		for _, other := range h.athletes[1:] {
			if bytes.Contains(text, []byte(other.AthleteID.String())) || bytes.Contains(text, []byte(other.Name)) {
				t.Errorf("%s tells of %s", name, other.Name)
			}
		}
	}
	for _, table := range []string{"athlete", "result", "attendance", "stage_decision", "session", "class"} {
		if len(files["json/"+table+".json"]) < 20 {
			t.Errorf("%s is empty", table)
		}
	}
	if !bytes.Contains(files["csv/athlete.csv"], []byte(about.Name)) {
		t.Errorf("the name %s is not in athlete.csv", about.Name)
	}
	_, err = h.Import(t.Context(), uuid.New(), bytes.NewReader(body.Bytes()), int64(body.Len()), nil)
	if err == nil || !strings.Contains(err.Error(), "one athlete") {
		t.Errorf("as a gym it was answered with %v", err)
	}
}
