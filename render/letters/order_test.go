package letters

import (
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Text that runs from right to left is put in the order that fribidi, an
// implementation of the same rules by others, puts it in.
func TestSeenAsFribidiSeesIt(t *testing.T) {
	checker.Need(t, "fribidi")
	texts := []string{
		"Mia", "שלום", "Kiko שלום", "שלום Kiko", "שלום 12", "שלום 12.5 ab", "Kiko 12 שלום 34 cd", "Kiko שלום 12 34 cd", "שלום 3%",
		"שלום, Mia!", "2026 שלום", "שלום - Mia - 7", "Mia & שלום & Kiko", "אב גד 5-6 הו", "3 אב", "אב 1,000 דרילס", "#5 אב", "Mia's אב?", "אב: Mia 40 x 50",
		"אב 20°", "a1 אב b2", "אב +5", "אב / ג", "x אב. y",
	}
	// Joined at random from pieces of every kind.
	seed := uint32(5)
	pieces := []string{"אב", "ab", "12", " ", ".", ",", "-", "%", "!", "ג", "3", "/", "°", "É", "(", ")", "(", ")", "[", "]"}
	for range 600 {
		var b strings.Builder
		for range 9 {
			seed = seed*1664525 + 1013904223
			b.WriteString(pieces[seed>>16%uint32(len(pieces))])
		}
		if s := strings.TrimSpace(strings.Join(strings.Fields(b.String()), " ")); s != "" {
			texts = append(texts, s)
		}
	}
	cmd := exec.Command("fribidi", "--nopad", "--nobreak", "--charset", "UTF-8")
	cmd.Stdin = strings.NewReader(strings.Join(texts, "\n") + "\n")
	out, err := cmd.Output()
	require.NoError(t, err)
	want := strings.Split(strings.TrimSuffix(string(out), "\n"), "\n")
	require.Len(t, want, len(texts))
	for i, text := range texts {
		assert.Equal(t, want[i], string(seen([]rune(text))), "%q", text)
	}
}

// Brackets are mirrored with the text around them.
func TestSeenMirrors(t *testing.T) {
	assert.Equal(t, "(בא) ג", string(seen([]rune("ג (אב)"))))
	assert.Equal(t, "Mia (בא)", string(seen([]rune("Mia (אב)"))))
}
