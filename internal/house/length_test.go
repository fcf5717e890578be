package house

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// How long product files and functions may be unless a comment says why. Test
// files may be as long as their tables.
const (
	mostFileLines = 400
	mostFuncLines = 80
)

// A reason is a comment of its own: "// long: the tables of the standard".
var reason = regexp.MustCompile(`(?m)^\s*// long: \S.{9,}$`)

// A file that is too long says why above its package clause, a function in its
// comment.
func TestLengths(t *testing.T) {
	for _, name := range goFiles(t) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(filepath.Join(root, name))
		require.NoError(t, err)
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, src, parser.ParseComments)
		require.NoError(t, err)
		if lines := bytes.Count(src, []byte("\n")); lines > mostFileLines {
			assert.Regexp(t, reason, string(src[:file.Package-1]), "%s has %d lines: part it, or say why with // long: ...", name, lines)
		}
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			if lines := set.Position(f.End()).Line - set.Position(f.Pos()).Line + 1; lines > mostFuncLines {
				doc := ""
				if f.Doc != nil {
					doc = string(src[f.Doc.Pos()-1 : f.Doc.End()-1])
				}
				assert.Regexp(t, reason, doc, "%s: %s has %d lines: part it, or say why with // long: ...", name, f.Name.Name, lines)
			}
		}
	}
}
