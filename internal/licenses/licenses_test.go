package licenses

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every module that is compiled in has its license here, word for word as the
// module carries it. The list of modules is the build's own.
func TestEveryModuleHasItsText(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Dir}}{{end}}{{end}}", "kitwright/cmd/kitwright").Output()
	require.NoError(t, err)
	seen := map[string]bool{}
	for line := range strings.Lines(string(out)) {
		path, dir, ok := strings.Cut(strings.TrimSpace(line), " ")
		if !ok || seen[path] {
			continue
		}
		seen[path] = true
		files, err := filepath.Glob(filepath.Join(dir, "LICENSE*"))
		require.NoError(t, err)
		copying, err := filepath.Glob(filepath.Join(dir, "COPYING*"))
		require.NoError(t, err)
		files = append(files, copying...)
		require.NotEmpty(t, files, path)
		want, err := os.ReadFile(files[0])
		require.NoError(t, err)
		found := false
		for _, p := range Parts() {
			if p.Name == path {
				found = true
				assert.Contains(t, p.Text, strings.TrimSpace(string(want)), path)
			}
		}
		assert.True(t, found, "%s has no license here", path)
	}
	assert.Greater(t, len(seen), 5)
}

func TestWrite(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b))
	notices, err := os.ReadFile("../../NOTICES.md")
	require.NoError(t, err)
	for _, p := range Parts() {
		assert.Greater(t, len(p.Text), 500, p.Name)
		assert.Contains(t, b.String(), "\n"+p.Name+": "+p.License+"\n")
		assert.Contains(t, string(notices), strings.Split(p.Name, ",")[0])
	}
	own, err := os.ReadFile("../../LICENSE")
	require.NoError(t, err)
	assert.Equal(t, strings.TrimSpace(string(own)), Parts()[0].Text)
}
