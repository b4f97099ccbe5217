package docs

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// elsewhere lists, by how they begin, the commands of blocks that are not run
// here, with the test or the script that proves each: a server would not end by
// itself, containers need an engine, and this test is part of make test.
var elsewhere = []struct{ begins, proof string }{
	{"make run", "TestPages"}, // the demo in a browser
	{"make test", "TestCommandsOfBlocks"},
	{"make build", "TestCommandsOfBlocks"}, // it builds the program itself
	{"ropewalk serve", "TestFromRosterToPhone"},
	{"ropewalk work", "TestWorkApart"},
	{"ropewalk demo", "TestPages"},
	{"ropewalk migrate", "TestMigrate"},
	{"ropewalk backup", "TestRestore"},
	{"ropewalk restore", "TestRestore"},
	{"ropewalk health", "TestHealth"},
	{"ropewalk doctor", "TestWhatTheDoctorSaysOfADatabase"},
	{"ropewalk import", "TestImportMakesTheGym"},
	{"ropewalk user", "TestServe"},
	{"curl -H \"Authorization: Bearer TOKEN\" http://localhost:8080/api/v1/terms", "TestProgramsReadByToken"},
	{"docker build", ".ci/test-deploy-inside"},
	{"docker run", ".ci/test-deploy-inside"},
	{"docker exec", ".ci/test-deploy-inside"},
}

// proofOf returns what proves a command elsewhere, "" if nothing does.
func proofOf(c command) string {
	for _, e := range elsewhere {
		if strings.HasPrefix(c.plain(), e.begins) {
			return e.proof
		}
	}
	return ""
}

// A command of a shell as a page shows it.
type command struct{ page, text string }

// plain takes off what stands before the program's name: settings and its folder.
var plain = regexp.MustCompile(`^(?:[A-Z_]+=\S+ )*(?:\./)?(?:bin/)?`)

func (c command) plain() string { return plain.ReplaceAllString(c.text, "") }

// programs begin a command where a block does not say that it is for a shell.
var programs = regexp.MustCompile(`^(sudo |make\b|go |git |ropewalk |docker |podman |kubectl |systemctl |apt|curl |psql |openssl )`)

// commands returns the commands of blocks, comments left out.
func commands(t *testing.T) []command {
	t.Helper()
	var all []command
	for _, d := range documents(t) {
		for _, b := range d.blocks {
			for line := range strings.Lines(strings.ReplaceAll(b.text, "\\\n", " ")) {
				line, _, _ = strings.Cut(line, " #")
				c := command{d.path, strings.Join(strings.Fields(line), " ")}
				if c.text == "" || strings.HasPrefix(c.text, "#") || b.lang != "sh" && !programs.MatchString(c.plain()) {
					continue
				}
				all = append(all, c)
			}
		}
	}
	return all
}

// runnable are commands that need nothing but the program.
var runnable = regexp.MustCompile(`^(echo '[^']*' \| )?ropewalk (calc|version|help)\b|^make plan$|^make$`)

// Every command of a block is run, or listed with what proves it.
func TestCommandsOfBlocks(t *testing.T) {
	ran := 0
	bin := t.TempDir()
	shell := func(folder, text string) {
		t.Helper()
		ctx, cancel := context.WithTimeout(t.Context(), 8*time.Minute)
		defer cancel()
		cmd := exec.CommandContext(ctx, "sh", "-euc", text)
		cmd.Dir = folder
		cmd.Env = append(os.Environ(), "PATH="+bin+string(os.PathListSeparator)+os.Getenv("PATH"))
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", text, err, out)
		}
		ran++
	}
	shell(root, "go build -o "+filepath.Join(bin, "ropewalk")+" ./cmd/ropewalk")
	for _, c := range commands(t) {
		switch {
		case runnable.MatchString(c.plain()) && strings.HasPrefix(c.plain(), "make"):
			shell(root, c.text)
		case runnable.MatchString(c.plain()):
			shell(filesOf(t, c.page), c.plain())
		case proofOf(c) == "":
			t.Errorf("%s shows %q, which is neither run here nor in the list of what is proven elsewhere", c.page, c.text)
		}
	}
	if ran < 4 {
		t.Errorf("only %d commands were run", ran)
	}
}

// filesOf is a folder with tests.json, which pages take from their first example.
func filesOf(t *testing.T, page string) string {
	t.Helper()
	folder := t.TempDir()
	for _, d := range documents(t) {
		i := slices.IndexFunc(d.blocks, func(b block) bool { return b.lang == "json" })
		if d.path == page && i >= 0 {
			if err := os.WriteFile(filepath.Join(folder, "tests.json"), []byte(d.blocks[i].text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	return folder
}

// What proves a command elsewhere is there.
func TestProofsElsewhere(t *testing.T) {
	tests := map[string]bool{}
	declared := regexp.MustCompile(`(?m)^func (Test\w+)\(t \*testing\.T\)`)
	eachFile(t, ".", "_test.go", func(_, text string) {
		for _, found := range declared.FindAllStringSubmatch(text, -1) {
			tests[found[1]] = true
		}
	})
	for _, c := range commands(t) {
		proof := proofOf(c)
		if _, err := os.Stat(filepath.Join(root, proof)); proof != "" && !tests[proof] && err != nil {
			t.Errorf("%q should be proven by %s, which is not there", c.text, proof)
		}
	}
}

var (
	spoken  = regexp.MustCompile("`((?:make|ropewalk|bin/ropewalk)(?: [^`]*)?)`")
	targets = regexp.MustCompile(`(?m)^([a-z][a-z-]*):.*##`)
	setting = regexp.MustCompile(`\bROPEWALK_[A-Z][A-Z_]*[A-Z]\b`)
	subject = regexp.MustCompile(`(?m)^  ropewalk ([a-z]+)`)
)

// Every target of make, every command of ropewalk and every setting that a page
// speaks of is there.
func TestWhatPagesSpeakOfIsThere(t *testing.T) {
	made := read(t, "Makefile")
	usage := read(t, "internal/app/app.go")
	source := settings(t)
	check := func(page, text string) {
		t.Helper()
		words := strings.Fields(plain.ReplaceAllString(text, ""))
		if len(words) < 2 {
			return
		}
		if words[0] == "make" {
			for _, target := range words[1:] {
				if !strings.Contains(target, "=") && !has(targets, made, target) {
					t.Errorf("%s speaks of make %s, which is no target", page, target)
				}
			}
		}
		if words[0] == "ropewalk" && !has(subject, usage, words[1]) && words[1] != "help" {
			t.Errorf("%s speaks of ropewalk %s, which is no command", page, words[1])
		}
	}
	for _, d := range documents(t) {
		for _, found := range spoken.FindAllStringSubmatch(d.text, -1) {
			check(d.path, found[1])
		}
		for _, name := range setting.FindAllString(d.text, -1) {
			if !slices.Contains(source, name) {
				t.Errorf("%s speaks of the setting %s, which nothing reads", d.path, name)
			}
		}
	}
	for _, c := range commands(t) {
		check(c.page, c.text)
	}
}

// has reports whether an expression finds a word as its first part.
func has(expression *regexp.Regexp, text, word string) bool {
	return slices.ContainsFunc(expression.FindAllStringSubmatch(text, -1), func(found []string) bool { return found[1] == word })
}

// settings are all that some Go file or the Makefile reads.
func settings(t *testing.T) []string {
	t.Helper()
	all := setting.FindAllString(read(t, "Makefile"), -1)
	eachFile(t, "internal", ".go", func(_, text string) { all = append(all, setting.FindAllString(text, -1)...) })
	return all
}
