//go:build unix && !linux

package localpg

import "syscall"

// endWithParent does nothing here: Stop ends the server, and the next start
// says so if a killed program left one running.
func endWithParent(*syscall.SysProcAttr) {}
