// Mutants asks whether the tests would notice. Each entry of list.txt is a
// small fault that a crafter would see; the program builds it in, runs the
// tests, and reports whether they fail (killed) or pass (living). It takes half
// an hour or more, so it is run by hand now and then, not with every change:
//
//	go run ./internal/mutants [-least N] [-only TEXT] [-near] [-check]
//
// No file is touched: the fault goes in by the go command's -overlay. An entry
// is a line "== words", then
//
//	in FOLDER      where to look, its subfolders too
//	- a line as it is, several for several lines in a row
//	+ a line as it becomes, any number
//	by ./a ./b     packages whose tests are asked first (the file's own unless given)
//
// Lines are compared without the blanks around them, and have to be found in
// one place of one file alone: so an entry outlives moves and renames. One that
// is not found, or does not compile, is an error of the list.
package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

//go:embed list.txt
var list string

// mutant is one fault.
type mutant struct {
	says     string
	folder   string
	old, new []string
	by       []string

	file string
	text []byte // of the file with the fault in it
}

func main() {
	least := flag.Int("least", 55, "how many have to be killed")
	only := flag.String("only", "", "only those whose words contain this")
	check := flag.Bool("check", false, "only find and build them")
	near := flag.Bool("near", false, "ask only the packages that an entry names, not all")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, *least, *only, *check, *near); err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		stop()
		os.Exit(1)
	}
}

func run(ctx context.Context, least int, only string, check, near bool) error {
	all, err := read(list)
	if err != nil {
		return err
	}
	var lost []error
	for _, m := range all {
		if err := m.find(); err != nil {
			lost = append(lost, err)
		}
	}
	if err := errors.Join(lost...); err != nil {
		return err
	}
	if !check && !near {
		if out, err := exec.CommandContext(ctx, "go", "test", "./...").CombinedOutput(); err != nil {
			return fmt.Errorf("the tests fail without any mutant:\n%s", out)
		}
	}
	var living []string
	killed := 0
	for _, m := range all {
		if !strings.Contains(m.says, only) {
			continue
		}
		start := time.Now()
		dead, err := m.try(ctx, check, near)
		if err != nil {
			return err
		}
		word := "killed"
		if !dead {
			word = "LIVING"
			living = append(living, m.says)
		} else {
			killed++
		}
		if check {
			word = "builds"
		}
		fmt.Printf("%s  %-72s  %s  %.0f s\n", word, m.says, m.file, time.Since(start).Seconds())
	}
	if check {
		fmt.Printf("%d mutants\n", len(all))
		return nil
	}
	fmt.Printf("%d of %d killed\n", killed, killed+len(living))
	if only == "" && killed < least {
		return fmt.Errorf("at least %d have to be killed", least)
	}
	return nil
}

// read takes the list apart.
func read(text string) (all []*mutant, err error) {
	var m *mutant
	for n, line := range strings.Split(text, "\n") {
		head, rest, _ := strings.Cut(line, " ")
		rest = strings.TrimSpace(rest)
		switch {
		case strings.TrimSpace(line) == "" || head == "#":
		case head == "==":
			m = &mutant{says: rest}
			all = append(all, m)
		case m == nil:
			return nil, fmt.Errorf("list.txt, line %d: an entry begins with ==", n+1)
		case head == "in":
			m.folder = rest
		case head == "by":
			m.by = strings.Fields(rest)
		case head == "-":
			m.old = append(m.old, rest)
		case head == "+":
			m.new = append(m.new, rest)
		default:
			return nil, fmt.Errorf("list.txt, line %d: %q begins no line of an entry", n+1, head)
		}
	}
	return all, nil
}

// find looks for the lines and puts the fault in.
func (m *mutant) find() error {
	if len(m.old) == 0 {
		return fmt.Errorf("%q changes nothing", m.says)
	}
	places := 0
	err := filepath.WalkDir(m.folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		lines := strings.Split(string(text), "\n")
		for at := range lines {
			if at+len(m.old) > len(lines) || !slices.EqualFunc(lines[at:at+len(m.old)], m.old, func(a, b string) bool { return strings.TrimSpace(a) == b }) {
				continue
			}
			places++
			m.file = path
			out := slices.Concat(lines[:at:at], m.new, lines[at+len(m.old):])
			m.text = []byte(strings.Join(out, "\n"))
		}
		return nil
	})
	if err != nil {
		return err
	}
	if places != 1 {
		return fmt.Errorf("%q: its lines are found in %d places of %s, not in one", m.says, places, m.folder)
	}
	if len(m.by) == 0 {
		m.by = []string{"./" + filepath.ToSlash(filepath.Dir(m.file))}
	}
	return nil
}

// try tells whether the tests notice: those asked first, then all.
func (m *mutant) try(ctx context.Context, check, near bool) (dead bool, err error) {
	dir, err := os.MkdirTemp("", "mutant")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(dir)
	made, overlay := filepath.Join(dir, "mutant.go"), filepath.Join(dir, "overlay.json")
	file, err := filepath.Abs(m.file)
	if err != nil {
		return false, err
	}
	over, err := json.Marshal(map[string]map[string]string{"Replace": {file: made}})
	if err != nil {
		return false, err
	}
	if err := os.WriteFile(made, m.text, 0o666); err != nil {
		return false, err
	}
	if err := os.WriteFile(overlay, over, 0o666); err != nil {
		return false, err
	}
	if out, err := exec.CommandContext(ctx, "go", "build", "-overlay", overlay, "./"+filepath.ToSlash(filepath.Dir(m.file))).CombinedOutput(); err != nil {
		return false, fmt.Errorf("%q does not compile:\n%s", m.says, out)
	}
	if check {
		return true, nil
	}
	for _, packages := range [][]string{m.by, {"./..."}} {
		if near && packages[0] == "./..." {
			break
		}
		args := append([]string{"test", "-vet=off", "-failfast", "-timeout", "10m", "-overlay", overlay}, packages...)
		out, err := exec.CommandContext(ctx, "go", args...).CombinedOutput()
		if ctx.Err() != nil {
			return false, ctx.Err()
		}
		if err != nil {
			if bytes.Contains(out, []byte("[build failed]")) || bytes.Contains(out, []byte("[setup failed]")) {
				return false, fmt.Errorf("%q: the tests do not build:\n%s", m.says, out)
			}
			return true, nil
		}
	}
	return false, nil
}
