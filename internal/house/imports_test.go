package house

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	root   = "../.."
	module = "kitwright/"
)

// goFiles returns the Go files of the project, by slashed path from its root.
func goFiles(t *testing.T) (files []string) {
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		switch base := d.Name(); {
		case d.IsDir() && name != "." && (strings.HasPrefix(base, ".") || base == "testdata"):
			return fs.SkipDir
		case !d.IsDir() && strings.HasSuffix(base, ".go"):
			files = append(files, filepath.ToSlash(name))
		}
		return nil
	}))
	require.Greater(t, len(files), 100, "the project has files")
	return files
}

// imports returns the packages of ours that each package imports outside its
// tests, sorted. What lies in internal is open to all, so it is left out but for
// packages that lie there themselves.
func imports(t *testing.T) map[string][]string {
	all := map[string][]string{}
	for _, name := range goFiles(t) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), filepath.Join(root, name), nil, parser.ImportsOnly)
		require.NoError(t, err)
		dir := filepath.ToSlash(filepath.Dir(name))
		if all[dir] == nil {
			all[dir] = []string{}
		}
		for _, i := range file.Imports {
			path, err := strconv.Unquote(i.Path.Value)
			require.NoError(t, err)
			if ours, ok := strings.CutPrefix(path, module); ok && (strings.HasPrefix(dir, "internal/") || !strings.HasPrefix(ours, "internal/")) {
				all[dir] = append(all[dir], ours)
			}
		}
	}
	for dir := range all {
		slices.Sort(all[dir])
		all[dir] = slices.Compact(all[dir])
	}
	return all
}

// The table of DEVELOPERS.md names every package and what it imports.
func TestImportTable(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	_, table, found := strings.Cut(string(text), "| folder | what lives there | imports of ours |\n")
	require.True(t, found)
	table, _, _ = strings.Cut(table, "\n\n")
	drawn := map[string][]string{}
	for _, row := range strings.Split(table, "\n")[1:] {
		cells := strings.Split(strings.Trim(row, "| "), " | ")
		require.Len(t, cells, 3, row)
		name := strings.Trim(cells[0], "`")
		require.NotContains(t, drawn, name, "two rows")
		drawn[name] = []string{}
		if cells[2] != "none" {
			drawn[name] = strings.Split(cells[2], ", ")
		}
		slices.Sort(drawn[name])
	}
	real := imports(t)
	for name, of := range real {
		assert.Equal(t, of, drawn[name], "what %s imports: | `%s` | ... | %s |", name, name, strings.Join(of, ", "))
	}
	for name := range drawn {
		assert.Contains(t, real, name, "there is no such package")
	}
}

// Arrows that the house stands on: each package and what it must not reach,
// directly or through others.
func TestForbiddenArrows(t *testing.T) {
	real := imports(t)
	for from, never := range map[string][]string{
		"lab":           {"palettes", "photo", "quantize", "place", "chart", "kit", "render"},
		"quantize":      {"palettes", "photo", "place", "chart", "kit", "render"},
		"place":         {"palettes", "photo", "quantize", "chart", "kit", "render"},
		"photo":         {"palettes", "quantize", "place", "chart", "kit", "render"},
		"palettes":      {"quantize", "place", "chart", "kit", "render"},
		"chart":         {"photo", "quantize", "place", "kit", "render"},
		"chart/symbols": {"chart", "palettes", "photo", "kit", "render"},
		"kit":           {"render"},
	} {
		require.Contains(t, real, from)
		seen := map[string]bool{}
		var walk func(string)
		walk = func(at string) {
			for _, to := range real[at] {
				if !seen[to] {
					seen[to] = true
					walk(to)
				}
			}
		}
		walk(from)
		for _, to := range never {
			assert.False(t, seen[to], "%s reaches %s", from, to)
		}
	}
}
