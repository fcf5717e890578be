package photo

import (
	"context"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Pictures that others made to try decoders with, each read or refused with a
// sentence and a hint: those of Go's image packages (with a part of PngSuite,
// by W. van Schaik) and of golang.org/x/image.
func TestPicturesOfOthers(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: -short")
	}
	folder := func(pkg string) string {
		out, err := exec.Command("go", "list", "-f", "{{.Dir}}", pkg).Output()
		if err != nil {
			checker.Missing(t, "the source of "+pkg)
		}
		return strings.TrimSpace(string(out))
	}
	for _, c := range []struct {
		dir    string
		read   int      // at least so many are read
		refuse []string // these must be refused, by what their names begin with
	}{
		{filepath.Join(folder("image/png"), "testdata"), 30, []string{"invalid-crc32", "invalid-zlib"}},
		{filepath.Join(folder("image/png"), "..", "testdata"), 20, nil},
		{filepath.Join(folder("golang.org/x/image/tiff"), "..", "testdata"), 40, nil},
	} {
		read, refused := walkPictures(t, c.dir, c.refuse)
		t.Logf("%s: %d read, %d refused", filepath.Base(filepath.Dir(c.dir)), read, refused)
		assert.GreaterOrEqual(t, read, c.read, c.dir)
	}
}

// More of them, in a folder that the environment names.
func TestPicturesInAFolder(t *testing.T) {
	dir := checker.Folder(t, "KITWRIGHT_PHOTOS")
	read, refused := walkPictures(t, dir, nil)
	t.Logf("%d read, %d refused", read, refused)
	assert.NotZero(t, read)
}

func walkPictures(t *testing.T, dir string, refuse []string) (read, refused int) {
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		switch strings.ToLower(filepath.Ext(path)) {
		case ".png", ".jpg", ".jpeg", ".gif", ".tif", ".tiff", ".bmp", ".webp", ".heic", ".heif", ".avif":
		default:
			return nil
		}
		f, err := os.Open(path)
		require.NoError(t, err)
		defer f.Close()
		p, err := Read(context.Background(), f, Limits{})
		if err != nil {
			refused++
			checkSaid(t, err)
			return nil
		}
		for _, r := range refuse {
			assert.False(t, strings.HasPrefix(filepath.Base(path), r), path)
		}
		read++
		p.Sample(Crop{}, 7, 5)
		p.Picture(Crop{}, 30, 30)
		return nil
	}))
	return read, refused
}
