package pdf_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"kitwright/internal/par"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// Documents made side by side are the one made alone, and none writes to the
// embedded fonts: seen by the race detector, and by the bytes themselves.
func TestDocumentsSideBySide(t *testing.T) {
	regular, bold := bytes.Clone(letters.Regular.TTF()), bytes.Clone(letters.Bold.TTF())
	write := func() []byte {
		d := pdf.Document{Title: "Side by side", Box: 0.72}
		p := &pdf.Page{W: 60, H: 40}
		p.Add(pdf.Text{X: 5, Y: 10, Size: 9, S: "Pebble, 3 bags"}, pdf.Text{X: 5, Y: 20, Size: 9, Face: letters.Bold, S: "Shell"})
		d.Pages = append(d.Pages, p)
		var b bytes.Buffer
		assert.NoError(t, d.Write(&b))
		return b.Bytes()
	}
	alone, beside := write(), make([][]byte, 8)
	par.Rows(len(beside), func(i int) { beside[i] = write() })
	for _, b := range beside {
		assert.Equal(t, alone, b)
	}
	assert.Equal(t, regular, letters.Regular.TTF())
	assert.Equal(t, bold, letters.Bold.TTF())
}
