package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// Every command of the page for print shops, line by line, with the files the
// page shows. A line says with which codes it may end; 0 where it says none.
func TestPageForPrintShops(t *testing.T) {
	if testing.Short() {
		t.Skip("it makes many kits")
	}
	page, err := os.ReadFile(filepath.Join("..", "..", "docs", "print-shop.md"))
	require.NoError(t, err)
	dir := t.TempDir()
	shopOrders(t, dir, 2)
	require.NoError(t, os.Rename(filepath.Join(dir, "cat0.png"), filepath.Join(dir, "mia.png")))
	require.NoError(t, os.Rename(filepath.Join(dir, "cat1.png"), filepath.Join(dir, "tom.png")))
	profile, err := os.ReadFile("/usr/share/color/icc/ghostscript/default_cmyk.icc")
	if err != nil {
		checker.Missing(t, "Debian's libgs-common")
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "shop.icc"), profile, 0o666))
	t.Chdir(dir)
	lines := 0
	for _, block := range regexp.MustCompile("(?s)```(\\w+) ?(\\S*)\n(.*?)```").FindAllStringSubmatch(string(page), -1) {
		if file := block[2]; file != "" {
			require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o777))
			require.NoError(t, os.WriteFile(file, []byte(block[3]), 0o666))
			continue
		}
		require.Equal(t, "sh", block[1])
		for line := range strings.Lines(block[3]) {
			call, note, _ := strings.Cut(strings.TrimSpace(line), "#")
			words := strings.Fields(call)
			lines++
			if words[0] == "cp" {
				data, err := os.ReadFile(words[1])
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(words[2], data, 0o666))
				continue
			}
			require.Equal(t, "kitwright", words[0])
			code, out, errs := kitwright(t, words[1:]...)
			want := "0"
			if note != "" {
				want = note
			}
			assert.Contains(t, want, string(rune('0'+code)), "%s\n%s%s", line, out, errs)
		}
	}
	assert.GreaterOrEqual(t, lines, 8)
	for _, dir := range []string{"kits/mia", "kits/tom", "made/tom", "mia-kit", "shards/mia", "shards/tom"} {
		assert.FileExists(t, filepath.Join(dir, "canvas.pdf"))
	}
	assert.NoDirExists(t, "kits/eve")
	results, err := os.ReadFile("kits/results.csv")
	require.NoError(t, err)
	assert.Equal(t, 1, strings.Count(string(results), ",mia,made,"), "nothing is made twice")
}
