package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A testCase is one row of testdata/calc/cases/NAME.json: either an answer to compare
// within a share of each number, with where it comes from, or a refusal.
type testCase struct {
	Case, Source string
	In           json.RawMessage
	Text         string // instead of In, where the input is no JSON
	Out          any
	Within       float64
	Exit         int
	Field        string
}

func (c testCase) input() string {
	if c.Text != "" {
		return c.Text
	}
	return string(c.In)
}

func casesOf(t testing.TB, name string) []testCase {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "calc", "cases", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var cases []testCase
	if err := json.Unmarshal(text, &cases); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return cases
}

func TestCalculations(t *testing.T) {
	for _, row := range rows() {
		for _, test := range casesOf(t, row.name) {
			t.Run(row.name+"/"+test.Case, func(t *testing.T) {
				var out bytes.Buffer
				err := Run(row.name, strings.NewReader(test.input()), &out)
				if test.Exit != 0 {
					refused(t, err, test.Exit, test.Field)
					if out.Len() > 0 {
						t.Errorf("refused, yet wrote %s", out.String())
					}
					return
				}
				if err != nil {
					t.Fatal(err)
				}
				if test.Source == "" {
					t.Error("the case has no source")
				}
				var got any
				if err := json.Unmarshal(out.Bytes(), &got); err != nil {
					t.Fatal(err)
				}
				compare(t, "", got, test.Out, test.Within)
			})
		}
	}
}

// refused checks the exit code and the field that err names.
func refused(t *testing.T, err error, exit int, field string) {
	t.Helper()
	e, ok := errors.AsType[*Error](err)
	if !ok {
		t.Fatalf("error %v, want exit %d about %s", err, exit, field)
	}
	if e.Exit != exit || e.Field != field {
		t.Errorf("exit %d, %q; want exit %d about %s", e.Exit, e.Error(), exit, field)
	}
	if e.Problem == "" || strings.Contains(e.Error(), "\n") {
		t.Errorf("not one line that says what is wrong: %q", e.Error())
	}
}

// compare checks got against want, numbers within a share of want. Objects may
// hold more fields than want names.
func compare(t *testing.T, where string, got, want any, within float64) {
	t.Helper()
	switch want := want.(type) {
	case map[string]any:
		object, ok := got.(map[string]any)
		if !ok {
			t.Errorf("%s is %v, want an object", where, got)
			return
		}
		for _, key := range slices.Sorted(maps.Keys(want)) {
			value, given := object[key]
			if !given {
				t.Errorf("%s.%s is missing", where, key)
				continue
			}
			compare(t, where+"."+key, value, want[key], within)
		}
	case []any:
		list, ok := got.([]any)
		if !ok || len(list) != len(want) {
			t.Errorf("%s is %v, want %v", where, got, want)
			return
		}
		for i := range want {
			compare(t, fmt.Sprintf("%s[%d]", where, i), list[i], want[i], within)
		}
	case float64:
		number, ok := got.(float64)
		if !ok || !(math.Abs(number-want) <= within*max(math.Abs(want), within)) {
			t.Errorf("%s = %v, want %v", where, got, want)
		}
	default:
		if got != want {
			t.Errorf("%s is %v, want %v", where, got, want)
		}
	}
}

// optional lists the fields that need not be given.
var optional = map[string][]string{
	"balance": {"tau_seconds", "start"},
	"runs":    {"confidence"},
	"trend":   {"confidence"},
	"double":  {"sweep_seconds"},
	"groups":  {"tolerance_rpm"},
	"plan":    {"burst_rpm", "all_out", "phase", "split", "hazard", "minutes", "contacts_left"},
}

// Every calculation refuses what is not one whole, known, strict JSON object.
func TestStrictInput(t *testing.T) {
	for _, row := range rows() {
		valid := compact(t, casesOf(t, row.name)[0].In)
		var fields map[string]json.RawMessage
		if err := json.Unmarshal([]byte(valid), &fields); err != nil {
			t.Fatal(err)
		}
		keys := slices.Sorted(maps.Keys(fields))
		check := func(what, text string, exit int, field string) {
			t.Run(row.name+"/"+what, func(t *testing.T) {
				err := Run(row.name, strings.NewReader(text), io.Discard)
				if exit == 0 {
					if e, ok := errors.AsType[*Error](err); err != nil && !(ok && e.Exit == ExitEvidence) {
						t.Errorf("%s: %v", text, err)
					}
					return
				}
				refused(t, err, exit, field)
			})
		}
		check("empty", "", ExitInput, "input")
		check("blank", " \n", ExitInput, "input")
		check("null", "null", ExitInput, "input")
		check("a list", "["+valid+"]", ExitInput, "input")
		check("a number", "5", ExitInput, "input")
		check("empty object", "{}", ExitInput, firstRequired(row.name))
		check("two objects", valid+valid, ExitInput, "input")
		check("trailing text", valid+" x", ExitInput, "input")
		check("cut short", valid[:len(valid)-1], ExitInput, "input")
		check("comma at the end", valid[:len(valid)-1]+",}", ExitInput, "input")
		check("unknown field", `{"colour":1,`+valid[1:], ExitInput, "colour")
		check("unknown field with a line break", `{"a\nb":1,`+valid[1:], ExitInput, `"a\nb"`)
		check("comment", valid+"// done", ExitInput, "input")
		check("white space about it", "\n\t "+valid+"\r\n", 0, "")
		check("byte order mark", "\ufeff"+valid, 0, "")
		for _, key := range keys {
			needed := !slices.Contains(optional[row.name], key)
			check(key+" twice", fmt.Sprintf(`{"%s":%s,%s`, key, fields[key], valid[1:]), ExitInput, key)
			check(key+" in capitals", strings.Replace(valid, `"`+key+`"`, `"`+strings.ToUpper(key)+`"`, 1), ExitInput, strings.ToUpper(key))
			check(key+" as text", replaced(t, fields, key, `"x"`), ExitInput, key)
			if needed {
				check(key+" left out", replaced(t, fields, key, ""), ExitInput, key)
				check(key+" null", replaced(t, fields, key, "null"), ExitInput, key)
			} else {
				check(key+" left out", replaced(t, fields, key, ""), 0, "")
				check(key+" null", replaced(t, fields, key, "null"), 0, "")
			}
		}
	}
}

// firstRequired returns the field that an empty object lacks first.
func firstRequired(name string) string {
	return map[string]string{
		"rate": "tests", "taps": "seconds_at", "judges": "counts", "line": "x", "capacity": "tests",
		"balance": "sustainable_rpm", "runs": "runs", "attempts": "p", "groups": "rates", "change": "first",
		"trend": "x", "load": "days", "summary": "values", "double": "rope_rpm", "jump": "flight_seconds",
		"plan": "base_rpm",
	}[name]
}

func compact(t *testing.T, text []byte) string {
	t.Helper()
	var b bytes.Buffer
	if err := json.Compact(&b, text); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// replaced writes the object with one field's value replaced, or left out.
func replaced(t *testing.T, fields map[string]json.RawMessage, key, value string) string {
	t.Helper()
	changed := maps.Clone(fields)
	if value == "" {
		delete(changed, key)
	} else {
		changed[key] = json.RawMessage(value)
	}
	text, err := json.Marshal(changed)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestUnknownCalculation(t *testing.T) {
	for _, name := range []string{"", "Rate", "rates"} {
		refused(t, Run(name, strings.NewReader("{}"), io.Discard), ExitInput, "NAME")
	}
}

type deaf struct{}

func (deaf) Write([]byte) (int, error) { return 0, errors.New("the pipe is closed") }

func TestCommand(t *testing.T) {
	folder := t.TempDir()
	file := filepath.Join(folder, "jump.json")
	if err := os.WriteFile(file, []byte(`{"flight_seconds":0.5}`), 0o600); err != nil {
		t.Fatal(err)
	}
	const height = `{"height_m":0.3064578125}` + "\n"
	tests := []struct {
		name        string
		args        []string
		stdin       string
		exit        int
		out, errOut string // errOut: how the line on standard error begins
	}{
		{"from a file", []string{"jump", file}, "", 0, height, ""},
		{"from standard input", []string{"jump"}, `{"flight_seconds":0.5}`, 0, height, ""},
		{"from standard input by a dash", []string{"jump", "-"}, `{"flight_seconds":0.5}`, 0, height, ""},
		{"no name", nil, "", 2, "", "calc: "},
		{"too many words", []string{"jump", file, file}, "", 2, "", "calc: "},
		{"unknown name", []string{"leap"}, "{}", 2, "", "NAME: "},
		{"unknown flag", []string{"-x"}, "{}", 2, "", "NAME: "},
		{"no such file", []string{"jump", filepath.Join(folder, "none.json")}, "", 2, "", "FILE: "},
		{"a folder", []string{"jump", folder}, "", 2, "", "FILE: "},
		{"input that cannot be right", []string{"jump"}, `{"flight_seconds":-1}`, 2, "", "flight_seconds: "},
		{"evidence that supports no answer", []string{"line"}, `{"x":[1,1],"y":[2,3]}`, 3, "", "x: "},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var out, errOut bytes.Buffer
			exit := Main(test.args, strings.NewReader(test.stdin), &out, &errOut)
			if exit != test.exit || out.String() != test.out {
				t.Errorf("exit %d, output %q; want %d, %q", exit, out.String(), test.exit, test.out)
			}
			if !strings.HasPrefix(errOut.String(), test.errOut) || strings.Count(errOut.String(), "\n") != min(1, test.exit) {
				t.Errorf("standard error %q, want one line beginning %q", errOut.String(), test.errOut)
			}
		})
	}
	example := filepath.Join("..", "..", "testdata", "calc", "plan.json")
	if exit := Main([]string{"plan", example}, strings.NewReader(""), io.Discard, io.Discard); exit != 0 {
		t.Errorf("the plan that ships as an example: exit %d", exit)
	}
	if exit := Main([]string{"jump", file}, strings.NewReader(""), deaf{}, io.Discard); exit != 1 {
		t.Errorf("an answer that could not be written: exit %d, want 1", exit)
	}
}

func TestHelpListsEveryCalculation(t *testing.T) {
	for _, flag := range []string{"-h", "--help", "-help"} {
		var out bytes.Buffer
		if exit := Main([]string{flag}, strings.NewReader(""), &out, io.Discard); exit != 0 {
			t.Errorf("%s: exit %d", flag, exit)
		}
		for _, row := range rows() {
			if !strings.Contains(out.String(), "  "+row.name+" ") {
				t.Errorf("%s does not list %s", flag, row.name)
			}
		}
	}
}
