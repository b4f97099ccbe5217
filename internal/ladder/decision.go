package ladder

import "errors"

// An Outcome is the answer of a rule.
type Outcome string

// The outcomes, mildest first. Nudged is allowed with a word of advice.
const (
	Allowed Outcome = "allowed"
	Nudged  Outcome = "nudged"
	Refused Outcome = "refused"
)

// A Decision is what the rules say of something a person wants to do. The zero
// Decision allows it.
type Decision struct {
	Reasons []Reason `json:"reasons,omitempty"`
	// OverriddenBy and Why record who took the refusal over, see
	// [Decision.Override].
	OverriddenBy string `json:"overridden_by,omitempty"`
	Why          string `json:"why,omitempty"`
}

// A Reason is one rule that spoke, as a code and its values; [Words.Reason] puts
// it in a sentence.
type Reason struct {
	Code        string            `json:"code"`
	Outcome     Outcome           `json:"outcome"`
	Overridable bool              `json:"overridable,omitempty"` // by a coach, on the record
	Values      map[string]string `json:"values,omitempty"`
}

// Errors of [Decision.Override].
var (
	ErrNotOverridable = errors.New("ladder: this refusal cannot be overridden")
	ErrNoName         = errors.New("ladder: an override needs who and why")
)

// Outcome returns the strictest outcome of d's reasons; a refusal that was
// overridden is a nudge.
func (d Decision) Outcome() Outcome {
	outcome := Allowed
	for _, r := range d.Reasons {
		if r.Outcome == Refused {
			outcome = Refused
			break
		}
		outcome = Nudged
	}
	if outcome == Refused && d.OverriddenBy != "" {
		return Nudged
	}
	return outcome
}

// Overridable reports whether every refusal of d can be overridden.
func (d Decision) Overridable() bool {
	for _, r := range d.Reasons {
		if r.Outcome == Refused && !r.Overridable {
			return false
		}
	}
	return true
}

// Override returns d taken over by the coach named by, for the reason why. It
// returns [ErrNoName] if either is empty and [ErrNotOverridable] if a rule stands
// whoever asks.
func (d Decision) Override(by, why string) (Decision, error) {
	switch {
	case by == "" || why == "":
		return d, ErrNoName
	case !d.Overridable():
		return d, ErrNotOverridable
	}
	d.OverriddenBy, d.Why = by, why
	return d, nil
}

func (d *Decision) refuse(code string, overridable bool, values ...string) {
	d.Reasons = append(d.Reasons, Reason{code, Refused, overridable, pairs(values)})
}

func (d *Decision) nudge(code string, values ...string) {
	d.Reasons = append(d.Reasons, Reason{code, Nudged, false, pairs(values)})
}

// pairs makes a map of name, value, name, value.
func pairs(values []string) map[string]string {
	if len(values) == 0 {
		return nil
	}
	m := map[string]string{}
	for i := 0; i+1 < len(values); i += 2 {
		m[values[i]] = values[i+1]
	}
	return m
}
