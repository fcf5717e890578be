package kit

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCodesInQuotes(t *testing.T) {
	for text, want := range map[string][]string{
		"":                     nil,
		"SR-001, SR-002,":      {"SR-001", "SR-002"},
		`"A,1",B`:              {"A,1", "B"},
		` "A,1" , "say ""x"""`: {"A,1", `say "x"`},
		`3" wide,B`:            {`3" wide`, "B"},
		`"""",""",""",`:        {`"`, `","`},
		"5YR 6/8,SR-041/AB":    {"5YR 6/8", "SR-041/AB"},
	} {
		var got []string
		require.NoError(t, codes(&got).Set(text), text)
		assert.Equal(t, want, got, text)
		var back []string
		require.NoError(t, codes(&back).Set(codes(&got).String()), text)
		assert.Equal(t, want, back, text)
	}
	for _, text := range []string{`"A,1`, `"A"1"`, `""`, `"A" B`} {
		var got []string
		assert.Error(t, codes(&got).Set(text), text)
	}
}

func FuzzCodes(f *testing.F) {
	f.Add(`"A,1",B`)
	f.Fuzz(func(t *testing.T, text string) {
		var got, back []string
		if codes(&got).Set(text) != nil {
			return
		}
		require.NoError(t, codes(&back).Set(codes(&got).String()))
		require.True(t, slices.Equal(got, back), "%q %q", got, back)
	})
}

// A caption of two lines may be written with a real line break or as \n, and is
// written so.
func TestCaptionLines(t *testing.T) {
	for given, want := range map[string]string{"Mog": "Mog", "Mog\n2019": "Mog\n2019", "Mog\r\n2019": "Mog\n2019", `Mog\n2019`: "Mog\n2019"} {
		var got, back string
		c := captionLines{text{&got, "TEXT"}}
		require.NoError(t, c.Set(given))
		assert.Equal(t, want, got)
		assert.NotContains(t, c.String(), "\n")
		require.NoError(t, captionLines{text{&back, "TEXT"}}.Set(c.String()))
		assert.Equal(t, got, back)
	}
	assert.Error(t, captionLines{text{new(string), "TEXT"}}.Set("Mog\n\x1b[31m"))
}
