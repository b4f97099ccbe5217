// Package stats holds the few statistics that several parts of Ropewalk share
// and gonum lacks: a careful least-squares line, Theil–Sen, DerSimonian–Laird
// and distribution quantiles by one short name each. It knows nothing of
// ropes, does no I/O, and imports only the standard library and gonum.
package stats

import "errors"

// Errors of this package. They are about the numbers given, so callers wrap
// them with the words of their own subject.
var (
	// ErrLengths reports paired slices of different length.
	ErrLengths = errors.New("x and y differ in length")
	// ErrTooFew reports fewer points than the statistic needs.
	ErrTooFew = errors.New("too few points")
	// ErrNoSpread reports that all x are equal, so that no slope exists.
	ErrNoSpread = errors.New("all x are equal")
	// ErrConfidence reports a confidence outside the open range 0 to 1.
	ErrConfidence = errors.New("confidence must lie between 0 and 1")
	// ErrUncertainty reports a standard uncertainty that is not above 0.
	ErrUncertainty = errors.New("a standard uncertainty must be above 0")
)
