// Package faults breaks a running Ropewalk on purpose and counts what is left:
// what was acknowledged must be there once, however the program, the database,
// the network or the disk ended. It holds tests only. make test runs them small,
// make faults runs them in full and prints the figures.
package faults
