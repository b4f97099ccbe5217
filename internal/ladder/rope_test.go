package ladder

import (
	"errors"
	"testing"
)

func codes(d Decision) string {
	var list []string
	for _, r := range d.Reasons {
		list = append(list, r.Code)
	}
	return ids(list)
}

func TestLend(t *testing.T) {
	grown := Borrower{Tested: true, Catches: 1}
	checked := Rope{Kind: Steel, CheckedOn: today - 6}
	change := func(b Borrower, c func(*Borrower)) Borrower { c(&b); return b }
	tests := []struct {
		name        string
		rope        Rope
		borrower    Borrower
		outcome     Outcome
		codes       string
		overridable bool
	}{
		{"beads for anybody", Rope{Kind: Beaded}, Borrower{Athlete: Athlete{Minor: true}}, Allowed, "", true},
		{"steel for an adult who seldom catches", checked, grown, Allowed, "", true},
		{"steel, never checked", Rope{Kind: Steel}, grown, Refused, "steel_check", false},
		{"steel, checked a week ago", Rope{Kind: Steel, CheckedOn: today - 7}, grown, Refused, "steel_check", false},
		{"steel for a minor", checked, change(grown, func(b *Borrower) { b.Minor = true }), Refused, "steel_minor", true},
		{"steel for a minor whom a coach approved", checked, change(grown, func(b *Borrower) { b.Minor, b.SteelApproved = true, true }), Allowed, "", true},
		{"steel for someone who often catches", checked, change(grown, func(b *Borrower) { b.Catches = 3 }), Refused, "steel_catches", true},
		{"steel without a test", checked, Borrower{}, Refused, "steel_untested", true},
		{"steel for starters", checked, change(grown, func(b *Borrower) { b.ClassKinds = []RopeKind{Beaded, Cord} }), Refused, "class_rope", true},
		{"cord for starters", Rope{Kind: Cord}, Borrower{ClassKinds: []RopeKind{Beaded, Cord}}, Allowed, "", true},
		{"another rope in the middle of a skill", Rope{Kind: Cord}, Borrower{SkillRope: Beaded}, Nudged, "one_rope", true},
		{"the same rope", Rope{Kind: Cord}, Borrower{SkillRope: Cord}, Allowed, "", true},
		{"everything at once", Rope{Kind: Steel}, Borrower{Athlete: Athlete{Minor: true}, ClassKinds: []RopeKind{Beaded}, SkillRope: Beaded, Tested: true, Catches: 4},
			Refused, "class_rope steel_minor steel_catches steel_check one_rope", false},
	}
	w := words(t)
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			d := Lend(test.rope, test.borrower, today)
			if d.Outcome() != test.outcome || codes(d) != test.codes || d.Overridable() != test.overridable {
				t.Errorf("%s by %q, overridable %v", d.Outcome(), codes(d), d.Overridable())
			}
			for _, r := range d.Reasons {
				plainText(t, w.Reason(r), 20)
			}
		})
	}
}

func TestOverrideRecordsWhoAndWhy(t *testing.T) {
	refused := Lend(Rope{Kind: Steel, CheckedOn: today}, Borrower{Athlete: Athlete{Minor: true}, Tested: true}, today)
	if _, err := refused.Override("Marit Okonjo-Lindqvist", ""); !errors.Is(err, ErrNoName) {
		t.Errorf("without a reason: %v", err)
	}
	got, err := refused.Override("Marit Okonjo-Lindqvist", "one set, open area, I stand by")
	if err != nil || got.Outcome() != Nudged || got.OverriddenBy != "Marit Okonjo-Lindqvist" || got.Why == "" {
		t.Errorf("%+v, %v", got, err)
	}
	if refused.Outcome() != Refused {
		t.Error("the override changed the decision it came from")
	}
	unchecked := Lend(Rope{Kind: Steel}, Borrower{Tested: true}, today)
	if _, err := unchecked.Override("Marit Okonjo-Lindqvist", "in a hurry"); !errors.Is(err, ErrNotOverridable) {
		t.Errorf("an unchecked steel rope: %v", err)
	}
}

func TestReasonsAreSentences(t *testing.T) {
	tests := []struct {
		reason Reason
		want   string
	}{
		{Reason{Code: "class_rope", Values: map[string]string{"rope": "steel"}}, "This class does not use this kind of rope: coated steel cable."},
		{Reason{Code: "one_rope", Values: map[string]string{"from": "beaded", "to": "cord"}}, "This skill was begun on another kind of rope: beaded. Learn one skill on one rope."},
		{Reason{Code: "steel_catches", Values: map[string]string{"catches": "4", "most": "2"}}, "4 catches in the last minute tested. Steel is for people with 2 or fewer."},
		{Reason{Code: "unattended", Values: map[string]string{"activity": "doubles"}}, "Double unders: only while an adult is present."},
	}
	for _, test := range tests {
		if got := words(t).Reason(test.reason); got != test.want {
			t.Errorf("got  %q\nwant %q", got, test.want)
		}
	}
}

func TestMay(t *testing.T) {
	l := english(t)
	minor, adult := Athlete{Age: 13, Minor: true}, Athlete{Age: 30}
	tests := []struct {
		name     string
		stage    string
		do       Activity
		athlete  Athlete
		attended bool
		outcome  Outcome
		codes    string
	}{
		{"a burst before stage 6", "alternate-step", Bursts, adult, true, Refused, "stage_too_low"},
		{"a burst at stage 6", "changes-of-pace", Bursts, minor, false, Allowed, ""},
		{"all out before stage 6", "alternate-step", AllOutTest, adult, true, Refused, "stage_too_low"},
		{"a minor all out, alone", "changes-of-pace", AllOutTest, minor, false, Refused, "unattended"},
		{"a minor all out, with an adult", "changes-of-pace", AllOutTest, minor, true, Allowed, ""},
		{"an adult all out, alone", "changes-of-pace", AllOutTest, adult, false, Allowed, ""},
		{"a double at stage 9", "both-handles", Doubles, adult, true, Refused, "stage_too_low"},
		{"two turns a jump at stage 9", "both-handles", SingleHanded, minor, false, Allowed, ""},
		{"a minor's double alone", "one-double-stop", Doubles, minor, false, Refused, "unattended"},
		{"a gate attempt alone", "turn-in-time", GateAttempt, minor, false, Refused, "unattended"},
		{"a gate attempt in class", "turn-in-time", GateAttempt, minor, true, Allowed, ""},
		{"a triple at stage 15", "fifty-in-a-row", Triples, minor, false, Refused, "stage_too_low unattended"},
		{"something unknown", "fifty-in-a-row", "somersault", adult, true, Refused, "stage_too_low"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s, _ := l.Stage(test.stage)
			d := s.May(test.do, test.athlete, test.attended)
			if d.Outcome() != test.outcome || codes(d) != test.codes {
				t.Errorf("%s by %q", d.Outcome(), codes(d))
			}
			if alone := test.athlete.Minor && !test.attended && test.outcome == Refused; alone && d.Overridable() {
				t.Error("an override would make up for the missing adult")
			}
		})
	}
}
