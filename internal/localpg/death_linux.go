package localpg

import "syscall"

// endWithParent makes Linux stop the server in good order when the program
// that started it is gone, even if that was killed.
func endWithParent(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGINT }
