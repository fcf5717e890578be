package house

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The guide's table of folders that tests read by path names the packages that
// ask for each.
func TestGuideNamesWhoReadsByPath(t *testing.T) {
	used := map[string][]string{}
	asks := regexp.MustCompile(`(?:checker\.Folder\([\w.]+, |os\.Getenv\()"(KITWRIGHT_[A-Z]+)"`)
	for _, name := range goFiles(t) {
		if !strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(root, name))
		require.NoError(t, err)
		for _, m := range asks.FindAllStringSubmatch(string(text), -1) {
			used[m[1]] = append(used[m[1]], filepath.ToSlash(filepath.Dir(name)))
		}
	}
	guide, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	rows := regexp.MustCompile("(?m)^\\| `(KITWRIGHT_[A-Z]+)` \\|.*\\| ([^|]+) \\|$").FindAllStringSubmatch(string(guide), -1)
	require.NotEmpty(t, rows)
	for _, row := range rows {
		if row[2] == "all" {
			continue
		}
		want := used[row[1]]
		slices.Sort(want)
		assert.Equal(t, strings.Join(slices.Compact(want), ", "), row[2], row[1])
	}
}
