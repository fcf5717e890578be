package wording

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCheck(t *testing.T) {
	for _, s := range []string{"", "SR-041", "5YR 6/8", "A,1", "блакитний", "ginger 🐱", "Ä", "+1", "👩‍🎨"} {
		assert.NoError(t, Code.Check(s), "%q", s)
	}
	for _, s := range []string{"a\nb", "\x1b[31m", "caf\xe9", "a\tb", "\u202etxt", "a\u2028b", "\x00", "\u0085"} {
		assert.EqualError(t, Name.Check(s), "the name holds characters that cannot be printed", "%q", s)
	}
	for kind, most := range map[Kind]int{Code: 40, Finish: 20, Name: 120, Title: 120, Caption: 120, Color: 120} {
		assert.NoError(t, kind.Check(strings.Repeat("ä", most)))
		assert.ErrorContains(t, kind.Check(strings.Repeat("ä", most+1)), "is longer than")
	}
	assert.Equal(t, "a b ", Printable("a\nb\x1b"))
	assert.NoError(t, Title.Check(Printable("a\u202eb\xe9")))
}

func TestShort(t *testing.T) {
	assert.Equal(t, "N 5", Short("N 5"))
	assert.Equal(t, strings.Repeat("ä", 40), Short(strings.Repeat("ä", 40)))
	assert.Equal(t, strings.Repeat("ä", 40)+"...", Short(strings.Repeat("ä", 1_000_000)))
	assert.Equal(t, strings.Repeat("\ufffd", 40)+"...", Short(strings.Repeat("\xff", 50)))
}

func TestCellsRunNothing(t *testing.T) {
	for text, want := range map[string]string{
		"SR-041": "SR-041", "": "", "=1+1": "'=1+1", "+1": "'+1", "-A": "'-A", "@x": "'@x", "\tx": "'\tx",
		"'": "'", "'tis": "'tis", "'=1": "''=1", "''+": "'''+",
	} {
		assert.Equal(t, want, Cell(text))
		assert.Equal(t, text, Uncell(want), "%q", want)
	}
}

func FuzzCell(f *testing.F) {
	f.Add("'=x")
	f.Fuzz(func(t *testing.T, s string) {
		c := Cell(s)
		assert.Equal(t, s, Uncell(c))
		if c != "" && strings.ContainsRune("=+-@\t\r", rune(c[0])) {
			t.Fatalf("%q runs", c)
		}
	})
}
