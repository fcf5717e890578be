package say

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func dashed(s string) string { return "--" + s }
func onPage(s string) string { return "“" + strings.ToUpper(s) + "”" }

func TestSettingsAreWrittenByTheDoor(t *testing.T) {
	for _, c := range []struct {
		err                        error
		what, plain, page, setting string
		try                        string
	}{
		{Usage("ask for more {colors}", "{keep} names %d colors", 3),
			"--keep names 3 colors", "keep names 3 colors", "“KEEP” names 3 colors", "keep", "ask for more --colors"},
		{Usage("", "{sheet-cell} of %q, {sheet-cell}", "{colors}"),
			`--sheet-cell of "{colors}", --sheet-cell`, `sheet-cell of "{colors}", sheet-cell`, `“SHEET-CELL” of "{colors}", “SHEET-CELL”`, "sheet-cell", ""},
		{Failed("100 % of it", "no {Setting} {here 1} {} { {{size} in %s", "{title}"),
			"no {Setting} {here 1} {} { {size} in {title}", "no {Setting} {here 1} {} { {size} in {title}", "no {Setting} {here 1} {} { {size} in {title}", "", "100 % of it"},
		{Usage("", "%s: %s", Setting("crop"), Usage("", "{turn} and %d %%", 4)),
			"--crop: --turn and 4 %", "crop: turn and 4 %", "“CROP”: “TURN” and 4 %", "crop", ""},
		{Usage(Hint("see {card} %s, %d %%", "{colors}{{", 5), "%s", Textf("{card} %s", "a\x00b\x00\x00")),
			"--card a\x00b\x00\x00", "card a\x00b\x00\x00", "“CARD” a\x00b\x00\x00", "card", "see --card {colors}{{, 5 %"},
		{Failed("", "{card} %s", strings.Repeat("\x00", 30)+"{card}"),
			"{card} " + strings.Repeat("\x00", 30) + "{card}", "{card} " + strings.Repeat("\x00", 30) + "{card}", "{card} " + strings.Repeat("\x00", 30) + "{card}", "", ""},
	} {
		var said *Error
		require.True(t, errors.As(c.err, &said))
		what, try := said.Words(dashed)
		assert.Equal(t, c.what, what)
		assert.Equal(t, c.try, try)
		assert.Equal(t, c.plain, c.err.Error())
		what, _ = said.Words(onPage)
		assert.Equal(t, c.page, what)
		assert.Equal(t, c.setting, said.Setting)
	}
}

func TestLongTextsAreShortened(t *testing.T) {
	err := Usage("", "%q is too long", strings.Repeat("ä", 5000)+"\"end")
	assert.Less(t, len([]rune(err.Error())), 300)
	assert.Contains(t, err.Error(), `ä ... ä`)
	assert.Contains(t, err.Error(), `\"end" is too long`)
	assert.Equal(t, strings.Repeat("x", 240), Textf("%s", strings.Repeat("x", 240)).String())
}

func TestAnErrorIsPlacedAndKeepsItsParts(t *testing.T) {
	inner := Usage("", "{colors} takes 2 to 100: %w", io.ErrUnexpectedEOF)
	var said *Error
	require.True(t, errors.As(inner, &said))
	at := said.At("%s", "{x}.jpg").OrTry("100 %, {size}")
	what, try := at.Words(dashed)
	assert.Equal(t, "{x}.jpg: --colors takes 2 to 100: unexpected EOF", what)
	assert.Equal(t, "100 %, --size", try)
	assert.Equal(t, "colors", at.Setting)
	assert.True(t, at.Usage)
	assert.ErrorIs(t, at, io.ErrUnexpectedEOF)
	assert.Equal(t, "100 %, size", at.OrTry("another").Try)
	assert.Equal(t, "colors takes 2 to 100: unexpected EOF", inner.Error(), "the first one stays as it was")

	assert.ErrorIs(t, Usage("", "%s: %w", Setting("crop"), inner), io.ErrUnexpectedEOF)
	assert.Equal(t, "around: colors takes 2 to 100: unexpected EOF", fmt.Sprint(Failed("", "around: %w", inner)))
}

// TestNoFlagBelowTheCommand walks the source: what a page shows too names
// settings as {colors}, and only the command writes them as flags.
func TestNoFlagBelowTheCommand(t *testing.T) {
	flag := regexp.MustCompile(`(^|[^-\w])--[a-z]`)
	seen := 0
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); name == "cmd" || name == "testdata" || name == "checker" || name != ".." && strings.HasPrefix(name, ".") {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		seen++
		ast.Inspect(file, func(n ast.Node) bool {
			if s, ok := n.(*ast.BasicLit); ok && s.Kind == token.STRING && !onPaper[filepath.ToSlash(path)] {
				assert.NotRegexp(t, flag, s.Value, path)
			}
			return true
		})
		return nil
	})
	require.NoError(t, err)
	assert.Greater(t, seen, 100, "the source was not found")
}

// onPaper are files whose words are printed on a page that has no form.
var onPaper = map[string]bool{
	"../../render/testprint.go":        true,
	"../../render/ticket.go":           true,
	"../../render/look/beforeafter.go": true,
}
