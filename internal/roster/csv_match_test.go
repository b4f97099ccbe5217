package roster

import (
	"testing"

	"github.com/google/uuid"
)

func TestMatch(t *testing.T) {
	born2013 := Known{ID: uuid.UUID{13}, Name: "Amara Fisk", BirthYear: 2013}
	unborn := Known{ID: uuid.UUID{1}, Name: "Amara Fisk"}
	other := Known{ID: uuid.UUID{2}, Name: "Bea", BirthYear: 2013}
	for _, test := range []struct {
		name     string
		row      Row
		existing []Known
		verdict  Verdict
		known    uuid.UUID
		sentence string
	}{
		{"nobody here", Row{Name: "Amara Fisk", BirthYear: 2013}, nil, New, uuid.Nil, ""},
		{"others here", Row{Name: "Amara Fisk", BirthYear: 2013}, []Known{other}, New, uuid.Nil, ""},
		{"same name and year", Row{Name: "AMARA FISK", BirthYear: 2013}, []Known{other, unborn, born2013}, Same, born2013.ID, ""},
		{"same name, no years", Row{Name: "Amara Fisk"}, []Known{unborn}, Same, unborn.ID, ""},
		{"another year", Row{Name: "Amara Fisk", BirthYear: 2012}, []Known{born2013}, New, uuid.Nil,
			"Another Amara Fisk is here already, born 2013. This line is read as a different person."},
		{"year missing in the file", Row{Name: "Amara Fisk"}, []Known{born2013}, Ask, born2013.ID,
			"Amara Fisk is here already, born 2013. Is this the same person? Birth years on both would tell."},
		{"year missing here", Row{Name: "Amara Fisk", BirthYear: 2012}, []Known{born2013, unborn}, Ask, unborn.ID,
			"Amara Fisk is here already, without a birth year. Is this the same person? Birth years on both would tell."},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := Preview{Rows: []Row{test.row}}
			m := p.Match(test.existing)[0]
			if m.Verdict != test.verdict || m.Known.ID != test.known || m.Sentence != test.sentence {
				t.Errorf("match %+v", m)
			}
			if m.Verdict == Ask && m.Like[0] != m.Known {
				t.Errorf("%+v is not first of %+v", m.Known, m.Like)
			}
		})
	}
}

func TestMatchAsksAboutTwoOfOneFile(t *testing.T) {
	p := parse(t, "Name,Born\nAmara,\nAmara,2013\nAmara,2012\n")
	var verdicts []Verdict
	matches := p.Match(nil)
	for _, m := range matches {
		verdicts = append(verdicts, m.Verdict)
	}
	if len(verdicts) != 3 || verdicts[0] != New || verdicts[1] != Ask || verdicts[2] != Ask {
		t.Errorf("verdicts %v", verdicts)
	}
	want := "Amara is on line 2 too, without a birth year. Is this the same person? Birth years on both would tell."
	if matches[1].Sentence != want || matches[1].Known.Line != 2 {
		t.Errorf("match %+v", matches[1])
	}
}

func TestImportingTheSameFileTwiceAddsNothing(t *testing.T) {
	p := parse(t, "Name,Born\nAmara,\nAmara,2013\nBea O’Hara,2012\n李晓澜,\nSia\u0302n,2014\n")
	var kept []Known
	for _, row := range p.Rows { // as if the person had said that all are different
		kept = append(kept, Known{ID: uuid.New(), Name: row.Name, BirthYear: row.BirthYear})
	}
	for _, m := range p.Match(kept) {
		if m.Verdict != Same {
			t.Errorf("%s is %v", m.Row.Name, m.Verdict)
		}
	}
}
