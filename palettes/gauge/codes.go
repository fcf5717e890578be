package gauge

import (
	"encoding/csv"
	"strings"

	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// ParseCodes reads the codes of a measuring sheet: one a line, or the first
// cell of each line; a first line that only says "code" is a header. Errors
// name the text.
func ParseCodes(name, text string) ([]string, error) {
	var codes []string
	for i, line := range strings.Split(strings.ReplaceAll(strings.TrimPrefix(text, "\ufeff"), "\r", "\n"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		sep := ","
		for _, s := range []string{"\t", ";"} {
			if strings.Contains(line, s) {
				sep = s
			}
		}
		code, err := setting.Unquote(strings.TrimSpace(setting.Split(line, sep)[0]))
		if err != nil || code == "" {
			return nil, say.Failed("write one code a line", "%s, line %d: no code can be read", name, i+1)
		}
		if len(codes) == 0 && (strings.EqualFold(code, "code") || strings.EqualFold(code, "number")) {
			continue
		}
		codes = append(codes, code)
	}
	return codes, nil
}

// ParseLayout reads the codes of a supplier's card as they lie: rows, parted by what stands most often in the
// first of them: a comma, a semicolon or a tab.
func ParseLayout(name, text string) ([][]string, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	first, _, _ := strings.Cut(text, "\n")
	for _, sep := range ";\t" {
		if strings.Count(first, string(sep)) > strings.Count(first, string(r.Comma)) {
			r.Comma = sep
		}
	}
	rows, err := r.ReadAll()
	if err != nil {
		return nil, say.Failed("write the codes as they lie, a row a line, with commas between", "the layout %s cannot be read (%s)", name, err)
	}
	return rows, nil
}
