package letters

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/gofont/goregular"

	"kitwright/internal/checker"
)

// noto returns a font of Debian's fonts-noto-core.
func noto(t *testing.T, name string) *Borrowed {
	t.Helper()
	data, err := os.ReadFile("/usr/share/fonts/truetype/noto/" + name)
	if err != nil {
		checker.Missing(t, "fonts-noto-core")
	}
	b, err := Borrow(name, data)
	require.NoError(t, err)
	return b
}

func TestBorrowedLetters(t *testing.T) {
	hebrew := noto(t, "NotoSansHebrew-Regular.ttf")
	for _, c := range []struct {
		text         string
		runes        int
		none, joined string
	}{
		{"Mia", 3, "", ""},
		{"שלום", 4, "", ""},
		{"שָׁלוֹם", 4, "", ""}, // points are left out
		{"שלום  猫\n", 6, "猫", ""},
		{"قط", 2, "", "قط"},
		{"हिन्दी", 3, "", "हद"},
		{string(rune(firstBorrowed)), 1, string(rune(firstBorrowed)), ""}, // typed by a person: it means nothing
	} {
		clean := []rune(CleanWith(c.text, hebrew))
		none, joined := LacksWith(c.text, hebrew)
		assert.Equal(t, c.none, none, c.text)
		if c.joined != "हद" { // its marks may count as letters or not
			assert.Equal(t, c.joined, joined, c.text)
			assert.Len(t, clean, c.runes, c.text)
		} else {
			assert.NotEmpty(t, joined)
		}
		for _, r := range clean {
			assert.GreaterOrEqual(t, Width(Regular, 10, string(r)), 0.0)
		}
	}
	alef, bet := []rune(CleanWith("אב", hebrew)), []rune(CleanWith("ב", hebrew))
	assert.Equal(t, bet[0], alef[0], "the second letter stands first")
	assert.True(t, IsBorrowed(bet[0]))
	assert.Greater(t, Width(Regular, 10, string(bet)), 1.0)
	assert.Equal(t, CleanWith("שלום", nil), Clean("□□□□"), "no font, no letters")
}

// A font that is broken is refused, or lacks letters; it never stops a run.
func TestBrokenFonts(t *testing.T) {
	whole := goregular.TTF
	try := func(data []byte) {
		b, err := Borrow("broken.ttf", data)
		if err != nil {
			assert.Equal(t, "broken.ttf is not a font that can be read", err.Error())
			return
		}
		for _, r := range "aÉ€\u2603" {
			b.lend(r)
		}
	}
	for _, n := range []int{0, 1, 4, 11, 12, 200, 1000, len(whole) / 2, len(whole) - 1} {
		try(whole[:n])
	}
	for i := 0; i < 400; i++ {
		data := append([]byte(nil), whole...)
		data[(i*7919)%600] ^= byte(1 + i)
		try(data)
	}
	_, err := Borrow("broken.ttf", []byte("no font"))
	assert.Error(t, err)
}
