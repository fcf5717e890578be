package palettes

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
)

// rewritten is the card written and read again.
func rewritten(t *testing.T, c *Card) *Card {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, c.WriteCSV(&out))
	again, err := Read(c.Name, &out)
	require.NoError(t, err)
	return again
}

func TestWriteCSV(t *testing.T) {
	c := &Card{Drills: []Drill{
		NewDrill("SR-041", "dune sand", lab.Color{L: 79.90049, A: -0.0001, B: 17.1}),
		NewDrill("#2", `the "red, hot" one`, lab.Color{L: 50, A: 70, B: 50}),
	}}
	c.Drills[1].Finish = "AB"
	var out strings.Builder
	require.NoError(t, c.WriteCSV(&out))
	assert.Equal(t, "code,name,finish,hex,L,a,b\n"+
		"SR-041,dune sand,,#d3c5a6,79.9,0,17.1\n"+
		"\"#2\",\"the \"\"red, hot\"\" one\",AB,#e72525,50,70,50\n", out.String())
}

func TestWrittenCardsReadTheSame(t *testing.T) {
	for _, name := range Names() {
		c := named(t, name)
		again := rewritten(t, c)
		assert.Equal(t, c.Drills, again.Drills)
		assert.Equal(t, c.SHA256(), again.SHA256())
	}
}

// Every 8-bit color keeps its hex value through 3 decimals of Lab.
func TestHexSurvives(t *testing.T) {
	for v := 0; v < 1<<24; v += 997 {
		rgb := [3]uint8{uint8(v >> 16), uint8(v >> 8), uint8(v)}
		if d := NewDrill("", "", lab.FromSRGB(rgb)); d.RGB != rgb || d.Beyond {
			t.Fatalf("%v became %v, beyond %v", rgb, d.RGB, d.Beyond)
		}
	}
}

// The hashes of the built-in cards: kits name their card by them, so a change
// here is a change of the product.
func TestSHA256(t *testing.T) {
	for name, want := range map[string]string{
		"munsell": "64b373d548004c8dd009d1c71cbff7dfecdb0a93518fb945b8b7d427ec73f3d8",
		"nbs":     "7536282b231686019fd56de0f5a94d3e129a60dde55e9b75232cb09cb634b4de",
	} {
		assert.Equal(t, want, named(t, name).SHA256(), name)
	}
}

func TestWriteCSVToAFullDisk(t *testing.T) {
	full := errors.New("no space left")
	assert.ErrorIs(t, named(t, "nbs").WriteCSV(failing{full}), full)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

func TestIndex(t *testing.T) {
	c := &Card{Drills: []Drill{{Code: "SR-1"}, {Code: "sr-2"}, {Code: "5YR 6/8"}}}
	for code, want := range map[string]int{"SR-1": 0, "sr-1": 0, "SR-2": 1, "5yr 6/8": 2, "SR-3": -1, "": -1} {
		got, ok := c.Index(code)
		assert.Equal(t, want, got, code)
		assert.Equal(t, want >= 0, ok, code)
	}
}

func ExampleCard_WriteCSV() {
	card, err := Read("mine.csv", strings.NewReader("code,hex\nSR-041,#d8c3a5\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	card.WriteCSV(writer{})
	// Output:
	// code,name,finish,hex,L,a,b
	// SR-041,SR-041,,#d8c3a5,79.811,2.731,17.79
}

type writer struct{}

func (writer) Write(p []byte) (int, error) { return fmt.Print(string(p)) }
