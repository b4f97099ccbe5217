// Ropewalk is a self-hosted web app for jump-rope coaches. See README.md.
package main

import (
	"os"

	"ropewalk.example/internal/app"
)

func main() { os.Exit(app.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
