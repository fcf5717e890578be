package render

import (
	"io"

	"kitwright/render/pdf"
)

// Decided returns the pages that a print decides on, before they are written:
// write is what writes the print, such as an Output of package folder. It
// returns nil where what is written is no print of pages.
func Decided(write func(io.Writer) error) (*pdf.Document, error) {
	t := &taker{}
	if err := write(t); err != nil {
		return nil, err
	}
	return t.doc, nil
}

// taker takes a document instead of its bytes.
type taker struct{ doc *pdf.Document }

func (t *taker) Take(d *pdf.Document) error { t.doc = d; return nil }

// Write throws away what is no document.
func (t *taker) Write(p []byte) (int, error) { return len(p), nil }
