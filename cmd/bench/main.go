// Bench measures Ropewalk's speed. See docs/performance.md; it is not part of
// what is installed.
package main

import (
	"os"

	"ropewalk.example/internal/bench"
)

func main() { os.Exit(bench.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
