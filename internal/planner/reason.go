package planner

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// A Reason is one rule that shaped a plan, with the numbers it worked on.
type Reason struct {
	Rule   Rule   `json:"rule"`
	Values Values `json:"values"`
}

// Values are named numbers in a fixed order. In JSON they are one object.
type Values []Value

// A Value is one named number.
type Value struct {
	Name   string
	Number float64
}

// Of returns the number called name, 0 if there is none.
func (v Values) Of(name string) float64 {
	for _, value := range v {
		if value.Name == name {
			return value.Number
		}
	}
	return 0
}

// MarshalJSON writes v as an object with its keys in order.
func (v Values) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, value := range v {
		if i > 0 {
			out = append(out, ',')
		}
		name, err := json.Marshal(value.Name)
		if err != nil {
			return nil, err
		}
		number, err := json.Marshal(value.Number)
		if err != nil {
			return nil, fmt.Errorf("value %s: %w", value.Name, err)
		}
		out = append(append(append(out, name...), ':'), number...)
	}
	return append(out, '}'), nil
}

// UnmarshalJSON reads an object of numbers and keeps the order of its keys.
func (v *Values) UnmarshalJSON(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	open, err := dec.Token()
	if err != nil {
		return err
	}
	if open != json.Delim('{') {
		return errors.New("values must be an object of numbers")
	}
	values := Values{}
	for dec.More() {
		name, err := dec.Token()
		if err != nil {
			return err
		}
		value := Value{Name: fmt.Sprint(name)}
		if err := dec.Decode(&value.Number); err != nil {
			return fmt.Errorf("value %s: %w", value.Name, err)
		}
		values = append(values, value)
	}
	*v = values
	return nil
}

// why collects the reasons of one plan. The values of all reasons share one
// array.
type why struct {
	reasons []Reason
	values  []Value
}

func newWhy() why {
	return why{make([]Reason, 0, 16), make([]Value, 0, 40)}
}

// add notes that rule fired with values.
func (w *why) add(rule Rule, values ...Value) {
	start := len(w.values)
	w.values = append(w.values, values...)
	w.reasons = append(w.reasons, Reason{rule, Values(w.values[start:len(w.values):len(w.values)])})
}
