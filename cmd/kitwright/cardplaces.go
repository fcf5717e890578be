package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"kitwright/internal/home"
	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/palettes"
	"kitwright/palettes/intake"
	"kitwright/palettes/shelf"
)

// cardPlaces is where cards are looked for: built in, on the user's shelf, and
// in files.
type cardPlaces struct{ home string }

func (c *cardPlaces) bind(fs *pflag.FlagSet) {
	fs.StringVar(&c.home, "home", "", "the folder that keeps your cards, instead of this system's usual place")
}

func (c cardPlaces) shelf() shelf.Shelf {
	if c.home != "" {
		return shelf.Shelf{Dir: c.home}
	}
	return shelf.Shelf{Dir: home.Dir(runtime.GOOS, os.Getenv)}
}

// open returns the card of a name or path: a built-in one, one from the shelf,
// or a file of any kind that is read. The name is then the card's, never a
// path. What was guessed or left out of a file is told.
func (c cardPlaces) open(e env, called *string) (*palettes.Card, error) {
	res, err := c.read(called)
	if err != nil {
		return nil, err
	}
	if e.stderr != nil {
		tellIntake(e.stderr, *called, res, 3)
	}
	return res.Card, nil
}

// read is open that leaves telling to the caller.
func (c cardPlaces) read(called *string) (*intake.Result, error) {
	if slices.Contains(palettes.Names(), *called) {
		card, err := palettes.Named(*called)
		return &intake.Result{Card: card}, err
	}
	onShelf := c.shelf()
	if !strings.ContainsAny(*called, `./\`) && onShelf.Has(*called) {
		card, err := onShelf.Open(*called)
		if err == nil {
			*called = card.Name
		}
		return &intake.Result{Card: card}, err
	}
	if _, err := os.Lstat(*called); os.IsNotExist(err) && !strings.ContainsAny(*called, `./\`) {
		known := append(palettes.Names(), onShelf.Names()...)
		return nil, say.Usage("choose "+strings.Join(known, ", ")+", or give a file: a table, a spreadsheet, an instrument's measurements",
			"there is no card called %q", *called)
	}
	res, err := readCardFile(*called, intake.Options{})
	if err != nil {
		return nil, err
	}
	*called = filepath.Base(*called)
	return res, nil
}

// readCardFile reads a card from a file. Only regular files are: opening a
// pipe would wait for somebody to write into it.
func readCardFile(path string, opt intake.Options) (*intake.Result, error) {
	file, err := input.Open(path, "card")
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return intake.Read(filepath.Base(path), file, opt)
}

// tellIntake says what was guessed, and names up to so many rows that gave no
// color or a doubtful one.
func tellIntake(w io.Writer, name string, res *intake.Result, most int) {
	for _, note := range res.Notes {
		fmt.Fprintf(w, "%s: %s\n", name, say.Reading(note).Words(asFlag))
	}
	for _, rows := range []struct {
		what string
		rows []intake.Row
	}{{"gave no color", res.Left}, {"look doubtful", res.Doubt}} {
		if len(rows.rows) == 0 {
			continue
		}
		fmt.Fprintf(w, "%s: %s\n", name, amountOf(len(rows.rows), rows.what))
		for i, r := range rows.rows {
			if i == most {
				fmt.Fprintf(w, "  and %d more; kitwright card import names them all\n", len(rows.rows)-most)
				break
			}
			fmt.Fprintf(w, "  %s\n", r)
		}
	}
}

func amountOf(n int, what string) string {
	if n == 1 {
		return "1 row " + strings.Replace(what, "look ", "looks ", 1)
	}
	return fmt.Sprintf("%d rows %s", n, what)
}
