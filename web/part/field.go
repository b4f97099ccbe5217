package part

import (
	"strconv"

	"github.com/a-h/templ"
)

// Kind is the kind of a field.
type Kind string

const (
	Text        Kind = "text" // also the zero Kind
	WholeNumber Kind = "whole-number"
	Decimal     Kind = "decimal"
	Date        Kind = "date"
	Time        Kind = "time"
	Email       Kind = "email"
	Password    Kind = "password"
	OneTimeCode Kind = "one-time-code"
	LongText    Kind = "long-text"
	Select      Kind = "select"
	Radios      Kind = "radios"
	Checks      Kind = "checks" // several boxes under one question
	Checkbox    Kind = "checkbox"
	File        Kind = "file"
)

// Input is one field of a form with all that belongs to it.
type Input struct {
	Kind         Kind
	Name         string
	ID           string // Name if empty; keep it the same over answers, so that focus stays
	Label        string
	Hint         string
	Error        string // what is wrong and how to mend it
	Value        string // for Checkbox: what is sent when it is ticked, "yes" if empty
	Values       []string
	Checked      bool     // Checkbox only
	Options      []Option // Select, Radios and Checks
	Unit         string   // stands after the field: "rotations", "s", "m"
	Autocomplete string   // HTML autocomplete token; "off" for counts
	EnterKey     string   // what the phone's enter key says: "next", "done", "send"
	Chars        int      // width in characters: 2, 3, 5, 10 or 20; 0: whole width
	MaxLength    int      // 0: no limit
	Rows         int      // LongText; 0: 4
	Optional     bool     // says so in the label
	Required     bool
	InRow        bool             // Radios and Checks: short answers side by side
	HideLabel    bool             // for a field whose column or row already names it
	Attributes   templ.Attributes // data-…, hx-… and the like
}

// Option is one answer to choose.
type Option struct {
	Value string
	Text  string
	Hint  string // Radios and Checks only
	Lang  string // of a text in a language of its own, BCP 47
}

// FieldError is one line of the error summary: the id of the field and the
// same words as beside it.
type FieldError struct {
	Field string
	Text  string
}

func (in Input) id() string {
	if in.ID == "" {
		return in.Name
	}
	return in.ID
}

func (in Input) hintID() string  { return in.id() + "-hint" }
func (in Input) errorID() string { return in.id() + "-error" }

// describedBy lists the ids of hint and error, or is empty.
func (in Input) describedBy() string {
	switch {
	case in.Hint != "" && in.Error != "":
		return in.hintID() + " " + in.errorID()
	case in.Hint != "":
		return in.hintID()
	case in.Error != "":
		return in.errorID()
	default:
		return ""
	}
}

// optionID gives the first option the field's own id, so that a line of the
// error summary leads to it.
func (in Input) optionID(i int) string {
	if i == 0 {
		return in.id()
	}
	return in.id() + "-" + strconv.Itoa(i+1)
}

func (in Input) chosen(option Option) bool {
	if in.Kind == Checks {
		for _, value := range in.Values {
			if value == option.Value {
				return true
			}
		}
		return false
	}
	return option.Value == in.Value
}

// attributes are those every control shares.
func (in Input) attributes() templ.Attributes {
	attributes := templ.Attributes{"id": in.id(), "name": in.Name}
	if by := in.describedBy(); by != "" {
		attributes["aria-describedby"] = by
	}
	if in.Error != "" {
		attributes["aria-invalid"] = "true"
	}
	if in.Autocomplete != "" {
		attributes["autocomplete"] = in.Autocomplete
	}
	if in.Required {
		attributes["aria-required"] = "true" // required alone would let the browser object in words of its own
	}
	if in.MaxLength > 0 {
		attributes["maxlength"] = strconv.Itoa(in.MaxLength)
	}
	if in.EnterKey != "" {
		attributes["enterkeyhint"] = in.EnterKey
	}
	if in.Chars > 0 {
		attributes["class"] = "chars-" + strconv.Itoa(in.Chars)
	}
	for name, value := range in.Attributes {
		attributes[name] = value
	}
	return attributes
}

// lineAttributes are those of a one-line box. Numbers are typed as text:
// number boxes change under the mouse wheel and differ by language.
func (in Input) lineAttributes() templ.Attributes {
	attributes := in.attributes()
	attributes["value"] = in.Value
	switch in.Kind {
	case WholeNumber:
		attributes["type"] = "text"
		attributes["inputmode"] = "numeric"
		setIfMissing(attributes, "autocomplete", "off")
	case Decimal:
		attributes["type"] = "text"
		attributes["inputmode"] = "decimal"
		setIfMissing(attributes, "autocomplete", "off")
	case OneTimeCode:
		attributes["type"] = "text"
		attributes["inputmode"] = "numeric"
		setIfMissing(attributes, "autocomplete", "one-time-code")
	case Email:
		attributes["type"] = "text"
		attributes["inputmode"] = "email"
		attributes["spellcheck"] = "false"
		setIfMissing(attributes, "autocomplete", "email")
	case Date, Time, Password, File:
		attributes["type"] = string(in.Kind)
		switch in.Kind {
		case File:
			delete(attributes, "value")
		case Password: // a script sets a button beside it
			attributes["data-show"], attributes["data-hide"] = wordShow, wordHide
		}
	default:
		attributes["type"] = "text"
	}
	return attributes
}

func setIfMissing(attributes templ.Attributes, name, value string) {
	if _, ok := attributes[name]; !ok {
		attributes[name] = value
	}
}

func (in Input) rows() string {
	if in.Rows == 0 {
		return "4"
	}
	return strconv.Itoa(in.Rows)
}

func (in Input) checkboxValue() string {
	if in.Value == "" {
		return "yes"
	}
	return in.Value
}

func (in Input) fieldClass() string {
	class := "field"
	if in.Error != "" {
		class += " has-error"
	}
	if in.Kind == WholeNumber || in.Kind == Decimal || in.Kind == OneTimeCode {
		class += " figure-field"
	}
	return class
}

func (in Input) choicesClass() string {
	if in.InRow {
		return "segments"
	}
	return "choices"
}

func (in Input) labelClass() string {
	if in.HideLabel {
		return "unseen"
	}
	return ""
}
