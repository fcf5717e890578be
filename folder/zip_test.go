package folder

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// An archive holds its files in a folder, in order, with one time, and has the
// same bytes every time; what fails inside is told.
func TestZip(t *testing.T) {
	made := func() []byte {
		var b bytes.Buffer
		z := NewZip(&b, "ginger-kit")
		for _, name := range []string{"kit.json", "canvas.pdf"} {
			require.NoError(t, z.Write(name, func(w io.Writer) error { _, err := io.WriteString(w, "this is "+name); return err }))
		}
		require.NoError(t, z.Close())
		return b.Bytes()
	}
	first := made()
	assert.Equal(t, first, made())
	r, err := zip.NewReader(bytes.NewReader(first), int64(len(first)))
	require.NoError(t, err)
	require.Len(t, r.File, 2)
	for i, name := range []string{"kit.json", "canvas.pdf"} {
		f := r.File[i]
		assert.Equal(t, "ginger-kit/"+name, f.Name)
		assert.Equal(t, 1980, f.Modified.Year())
		in, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		assert.Equal(t, "this is "+name, string(text))
	}
	full := errors.New("the disk is full")
	assert.ErrorIs(t, NewZip(io.Discard, "x").Write("y", func(io.Writer) error { return full }), full)
}
