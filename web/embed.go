// Package web holds everything a browser is sent besides pages: style sheet,
// scripts, fonts and icons, each under an address that changes with its
// content. It knows nothing of HTTP and imports only the standard library.
package web

import (
	"embed"
	"fmt"
	"sync"
)

//go:embed static
var static embed.FS

// assets are read and packed once, on first use; they never change after.
var assets = sync.OnceValue(func() map[string]File {
	files, err := load(static)
	if err != nil {
		panic(err) // the files are part of the program; TestLoad proves they load
	}
	return files
})

// Asset returns the address of the static file called name, such as
// "css/app.css" → "/static/css/app.3f9c2a71b0.css". It panics if there is no
// such file: names are written in the program, never typed by people.
func Asset(name string) string {
	return Named(name).Path
}

// Named returns the static file called name, for the few that also need a
// fixed address. It panics if there is no such file.
func Named(name string) File {
	file, ok := assets()[name]
	if !ok {
		panic(fmt.Sprintf("static file %q is not in the program", name))
	}
	return file
}

// Files returns every static file by its address. Their answers may be kept
// by browsers for ever: another content has another address.
func Files() map[string]File {
	byPath := make(map[string]File, len(assets()))
	for _, file := range assets() {
		byPath[file.Path] = file
	}
	return byPath
}
