package home

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDir(t *testing.T) {
	for _, c := range []struct {
		system string
		env    map[string]string
		want   string
	}{
		{"linux", map[string]string{"HOME": "/home/maris"}, "/home/maris/.local/share/kitwright"},
		{"linux", map[string]string{"HOME": "/home/maris", "XDG_DATA_HOME": "/data"}, "/data/kitwright"},
		{"linux", map[string]string{"HOME": "/home/maris", "XDG_DATA_HOME": "data"}, "/home/maris/.local/share/kitwright"},
		{"freebsd", map[string]string{"HOME": "/home/maris"}, "/home/maris/.local/share/kitwright"},
		{"darwin", map[string]string{"HOME": "/Users/maris", "XDG_DATA_HOME": "/data"}, "/Users/maris/Library/Application Support/kitwright"},
		{"windows", map[string]string{"LOCALAPPDATA": `C:\Users\maris\AppData\Local`}, `C:\Users\maris\AppData\Local\kitwright`},
		{"windows", map[string]string{"USERPROFILE": `C:\Users\maris`}, `C:\Users\maris\AppData\Local\kitwright`},
		{"linux", nil, ""}, {"darwin", nil, ""}, {"windows", nil, ""},
	} {
		want := c.want
		if c.system != "windows" {
			want = filepath.FromSlash(want)
		}
		assert.Equal(t, want, Dir(c.system, func(k string) string { return c.env[k] }), "%s %v", c.system, c.env)
	}
}
