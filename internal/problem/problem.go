// Package problem classifies errors by what a person may be told about them.
// Any error that is not a *problem.Error is a fault of ours: the person sees
// one general sentence, the log gets the whole chain. It imports only the
// standard library.
package problem

import (
	"errors"
	"fmt"
)

// Kind says what sort of problem occurred. The HTTP layer maps each Kind to
// one status code.
type Kind int

// The kinds of problem.
const (
	Internal    Kind = iota // a fault of ours; details stay in the log
	Invalid                 // the input breaks a rule that the person can mend
	NotFound                // no such thing, or not for this person to know of
	Gone                    // it was there, and will not be again
	Forbidden               // known person, missing right
	Conflict                // the data changed meanwhile, or exists already
	Evidence                // the evidence supports no answer yet
	TooMany                 // too many tries; wait
	TooLarge                // more bytes than we take
	Unavailable             // the database is away; trying again will help
	SignedOut               // nobody is signed in
)

// Error carries a message that is written for a person, never for a log.
type Error struct {
	Kind    Kind
	Message string            // one or two full sentences, safe to show
	Fields  map[string]string // messages by form field, may be nil
	Err     error             // cause, may be nil; logged, never shown
}

// New returns an Error of the given kind with a sentence for people.
func New(kind Kind, format string, args ...any) *Error {
	return &Error{Kind: kind, Message: fmt.Sprintf(format, args...)}
}

// Wrap returns an Error like New that keeps err as its cause.
func Wrap(err error, kind Kind, format string, args ...any) *Error {
	return &Error{Kind: kind, Message: fmt.Sprintf(format, args...), Err: err}
}

// Form returns an Invalid error with a message per form field, or nil if
// fields is empty.
func Form(fields map[string]string) error {
	if len(fields) == 0 {
		return nil
	}
	return &Error{Kind: Invalid, Message: "There is a problem.", Fields: fields}
}

func (e *Error) Error() string {
	text := e.Message
	for field, message := range e.Fields {
		text += " [" + field + ": " + message + "]"
	}
	if e.Err != nil {
		text += ": " + e.Err.Error()
	}
	return text
}

func (e *Error) Unwrap() error { return e.Err }

// KindOf returns the Kind of the outermost *Error in err's chain, or Internal.
func KindOf(err error) Kind {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return Internal
}

// MessageOf returns the sentence to show for err.
func MessageOf(err error) string {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Message
	}
	return "Something went wrong on our side. Try again in a minute; if it stays, tell the person who runs this server."
}

// FieldsOf returns the messages by form field that err carries, or nil.
func FieldsOf(err error) map[string]string {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Fields
	}
	return nil
}
