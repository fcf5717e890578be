package palettes

import (
	_ "embed"
	"strings"

	"kitwright/internal/say"
)

//go:embed nbs.csv
var nbsCSV string

//go:embed munsell.csv
var munsellCSV string

// builtin holds the cards carried in the program, in the order they are
// listed. Their files say how each number came about.
var builtin = []struct{ name, csv, source, license string }{
	{"munsell", munsellCSV,
		"Munsell renotations (Newhall, Nickerson, Judd, JOSA 33 (1943) 385; Judd, Wyszecki, JOSA 46 (1956) 281), chosen to leave small holes",
		"published measurements; the selection is part of this program"},
	{"nbs", nbsCSV,
		"ISCC-NBS centroid colors (K. L. Kelly, J. Res. NBS 61 (1958) 427, RP2911)",
		"published facts of a US government bureau"},
}

// Names returns the names of the cards carried in the program.
func Names() []string {
	var names []string
	for _, b := range builtin {
		names = append(names, b.name)
	}
	return names
}

// Named returns a card carried in the program. Each call returns a card of
// its own.
func Named(name string) (*Card, error) {
	for _, b := range builtin {
		if !strings.EqualFold(b.name, name) {
			continue
		}
		card, err := Read(b.name, strings.NewReader(b.csv))
		if err != nil {
			return nil, err
		}
		card.Source, card.License, card.Builtin = b.source, b.license, true
		return card, nil
	}
	return nil, say.Usage("choose "+strings.Join(Names(), " or ")+", or give a card of your own as a CSV file",
		"there is no built-in card called %q", name)
}
