package app

import "syscall"

// timeError is what the kernel says of a clock that nothing keeps right
// (Linux manual, adjtimex(2), TIME_ERROR).
const timeError = 5

// clockKept reports whether something keeps the machine's clock right; known is
// false where the system does not say.
func clockKept() (kept, known bool) {
	state, err := syscall.Adjtimex(&syscall.Timex{})
	return state != timeError, err == nil
}
