package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"strings"
)

// File is one static file, ready to send.
type File struct {
	Name string // below static/, such as "css/app.css"
	Path string // address with a hash of the content
	Type string // Content-Type
	Body []byte
	Gzip []byte // nil where packing does not help
}

// mediaTypes lists what we ship. Anything else is a licence text.
var mediaTypes = map[string]string{
	".css":         "text/css; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".png":         "image/png",
	".svg":         "image/svg+xml",
	".webmanifest": "application/manifest+json",
	".woff2":       "font/woff2",
}

// reference is a quoted address of another static file.
var reference = regexp.MustCompile(`"/static/([^"]+)"`)

// load reads all files below static/ in files, by name.
func load(files fs.FS) (map[string]File, error) {
	l := loader{files: files, done: map[string]File{}, open: map[string]bool{}}
	err := fs.WalkDir(files, "static", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		_, err = l.file(strings.TrimPrefix(name, "static/"))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("static files: %w", err)
	}
	return l.done, nil
}

// A loader follows references between files, so that a file's hash covers the
// addresses it names.
type loader struct {
	files fs.FS
	done  map[string]File
	open  map[string]bool // being loaded; meeting one again is a circle
}

func (l *loader) file(name string) (File, error) {
	if file, ok := l.done[name]; ok {
		return file, nil
	}
	if l.open[name] {
		return File{}, fmt.Errorf("%s refers to itself through other files", name)
	}
	l.open[name] = true
	body, err := fs.ReadFile(l.files, "static/"+name)
	if err != nil {
		return File{}, err
	}
	file := File{Name: name, Type: mediaTypes[path.Ext(name)]}
	switch path.Ext(name) {
	case ".css", ".js", ".webmanifest":
		switch {
		case path.Ext(name) == ".css":
			if body, err = l.join(slim(body)); err != nil {
				return File{}, fmt.Errorf("%s: %w", name, err)
			}
		case path.Dir(name) == "js":
			body = remark.ReplaceAll(body, nil)
		}
		if body, err = l.resolve(name, body); err != nil {
			return File{}, err
		}
	case ".png", ".svg", ".woff2":
	default:
		file.Type = "text/plain; charset=utf-8"
	}
	file.Body = body
	file.Path = hashed(name, body)
	if file.Gzip, err = packed(body); err != nil {
		return File{}, fmt.Errorf("packing %s: %w", name, err)
	}
	l.done[name] = file
	return file, nil
}

// imported is the line of a style sheet that names a part of it.
var imported = regexp.MustCompile(`@import "/static/([^"]+)";`)

// join puts the parts of a style sheet where it names them, so that a browser
// asks once.
func (l *loader) join(sheet []byte) ([]byte, error) {
	var firstErr error
	sheet = imported.ReplaceAllFunc(sheet, func(line []byte) []byte {
		part, err := fs.ReadFile(l.files, "static/"+string(imported.FindSubmatch(line)[1]))
		if err != nil && firstErr == nil {
			firstErr = err
		}
		return slim(part)
	})
	return sheet, firstErr
}

// A style sheet is written for readers; browsers get it without comments, line
// ends and the spaces that only readers need. No text in quotes may hold a sign
// of these followed by a space.
var (
	comment  = regexp.MustCompile(`(?s)/\*.*?\*/`)
	lineEnds = regexp.MustCompile(`\s*\n\s*`)
	spaced   = regexp.MustCompile(`\s*([{};,])\s*`)
	lastMark = regexp.MustCompile(`;}`)
	valued   = regexp.MustCompile(`:\s+`) // in a selector nothing stands between a colon and what follows
)

func slim(sheet []byte) []byte {
	sheet = lineEnds.ReplaceAll(comment.ReplaceAll(sheet, nil), []byte(" "))
	sheet = valued.ReplaceAll(spaced.ReplaceAll(sheet, []byte("$1")), []byte(":"))
	sheet = lastMark.ReplaceAll(sheet, []byte("}"))
	return bytes.TrimSpace(sheet)
}

// remark is what only readers of a script of ours need: what stands before the
// first word of a line, and remarks. No text in a script may run over the end of a
// line; a remark behind a statement goes if it holds no quotes, so that it cannot be
// a part of a text.
var remark = regexp.MustCompile("(?m)^[ \t]*(//.*\n)?|[ \t]+// [^\"'`\n]*$")

// resolve replaces each quoted "/static/…" in body by the hashed address.
func (l *loader) resolve(name string, body []byte) ([]byte, error) {
	var firstErr error
	body = reference.ReplaceAllFunc(body, func(quoted []byte) []byte {
		other, err := l.file(string(reference.FindSubmatch(quoted)[1]))
		if err != nil && firstErr == nil {
			firstErr = fmt.Errorf("%s: %w", name, err)
		}
		return []byte(`"` + other.Path + `"`)
	})
	return body, firstErr
}

// hashed puts ten hex digits of the content's SHA-256 before the extension.
func hashed(name string, body []byte) string {
	sum := sha256.Sum256(body)
	ext := path.Ext(path.Base(name))
	return "/static/" + strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:5]) + ext
}

// packed returns body in gzip form, or nil if that saves less than a tenth.
func packed(body []byte) ([]byte, error) {
	var buffer bytes.Buffer
	w, err := gzip.NewWriterLevel(&buffer, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(body); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	if buffer.Len() > len(body)*9/10 {
		return nil, nil
	}
	return buffer.Bytes(), nil
}
