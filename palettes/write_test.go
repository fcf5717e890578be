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
		"munsell": "0c9176aa2824150aa534cbe45125aa938b7ce926ad9bc59c0b56eab064f95681",
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
	c := &Card{Drills: []Drill{{Code: "SR-1"}, {Code: "sr-2"}, {Code: "5YR 6/8"}, {Code: "A,1"}}}
	for code, want := range map[string]int{"SR-1": 0, "sr-1": 0, "SR-2": 1, "5yr 6/8": 2, "a,1": 3, "SR-3": -1, "": -1} {
		got, ok := c.Index(code)
		assert.Equal(t, want, got, code)
		assert.Equal(t, want >= 0, ok, code)
	}
}

// A plain and an AB drill of one code are two, and each can be named.
func TestFinishIsPartOfIdentity(t *testing.T) {
	c, err := Read("mine.csv", strings.NewReader("code,finish,hex\nSR-1,,#112233\nSR-1,ab,#112244\nSR-2,AB,#445566\nSR-3,neon,#fff\nSR-3,metallic,#ffe\nSR-4,plain,#000\n"))
	require.NoError(t, err)
	var addresses []string
	for _, d := range c.Drills {
		addresses = append(addresses, d.Address())
	}
	assert.Equal(t, []string{"SR-1", "SR-1/AB", "SR-2/AB", "SR-3/neon", "SR-3/metallic", "SR-4"}, addresses)
	for address, want := range map[string]int{
		"SR-1": 0, "sr-1/plain": 0, "SR-1/AB": 1, "sr-1/ab": 1, "SR-2": 2, "SR-2/AB": 2, "SR-2/plain": -1,
		"SR-3": -1, "SR-3/NEON": 3, "SR-3/metallic": 4, "SR-4": 5, "SR-4/plain": 5, "SR-4/AB": -1,
	} {
		got, _ := c.Index(address)
		assert.Equal(t, want, got, address)
	}
	assert.Equal(t, []string{"SR-3/neon", "SR-3/metallic"}, c.Finishes("sr-3"))
	assert.Equal(t, c.Drills, rewritten(t, c).Drills)

	_, err = Read("mine.csv", strings.NewReader("code,finish,hex\nSR-1,AB,#112233\nsr-1,ab,#112244\n"))
	assert.EqualError(t, err, `mine.csv, line 3: the code "sr-1/AB" stands on line 2 already`)
	_, err = Read("mine.csv", strings.NewReader("code,finish,hex\nSR-1,AB,#112233\nSR-1/AB,,#112244\n"))
	assert.EqualError(t, err, `mine.csv, line 3: the code "SR-1/AB" stands on line 2 already`)
}

// Source and license travel with the card, and change nothing about its hash.
func TestSourceIsKept(t *testing.T) {
	const rows = "code,hex\nSR-041,#d8c3a5\n"
	c, err := Read("mine.csv", strings.NewReader("# my drills\n#source:  measured in the print room, June\n# LICENSE: ours\n"+rows))
	require.NoError(t, err)
	assert.Equal(t, "measured in the print room, June", c.Source)
	assert.Equal(t, "ours", c.License)
	assert.Equal(t, c, rewritten(t, c))
	bare, err := Read("mine.csv", strings.NewReader(rows))
	require.NoError(t, err)
	assert.Equal(t, bare.SHA256(), c.SHA256())
}

// Nothing that a card writes runs in a spreadsheet, and it reads back.
func TestFormulasAreDefused(t *testing.T) {
	c, err := Read("mine.csv", strings.NewReader("code,name,finish,hex\n=1+1,@name,-x,#fff\n\"'+1\",a,,#000\n"))
	require.NoError(t, err)
	var out strings.Builder
	require.NoError(t, c.WriteCSV(&out))
	assert.Contains(t, out.String(), "\n'=1+1,'@name,'-x,#ffffff,")
	assert.Equal(t, c, rewritten(t, c))
	assert.Equal(t, "+1", c.Drills[1].Code)
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
