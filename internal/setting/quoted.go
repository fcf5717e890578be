package setting

import (
	"strings"

	"kitwright/internal/say"
)

// Quote puts quotes around a code that would not read back without them.
func Quote(code string) string {
	if strings.ContainsAny(code, `",`) || strings.TrimSpace(code) != code {
		return `"` + strings.ReplaceAll(code, `"`, `""`) + `"`
	}
	return code
}

// Unquote reads a code that may stand in quotes.
func Unquote(text string) (string, error) {
	if !strings.HasPrefix(text, `"`) {
		return text, nil
	}
	inner, closed := strings.CutSuffix(text[1:], `"`)
	code := strings.ReplaceAll(inner, `""`, `"`)
	if !closed || code == "" || strings.Contains(strings.ReplaceAll(inner, `""`, ""), `"`) {
		return "", say.Usage(`write a code with a comma as "A,1"; the whole list may need single quotes in your shell`, "a quote is not closed in %s", text)
	}
	return code, nil
}

// Split splits at each separator that stands outside quotes; a quote
// opens at the beginning of a part only.
func Split(s, sep string) (parts []string) {
	begin, open := 0, false
	for i := 0; i < len(s); i++ {
		switch {
		case open && strings.HasPrefix(s[i:], `""`):
			i++ // a quote inside quotes
		case s[i] == '"' && (open || strings.TrimSpace(s[begin:i]) == ""):
			open = !open
		case !open && strings.HasPrefix(s[i:], sep):
			parts = append(parts, s[begin:i])
			begin = i + len(sep)
		}
	}
	return append(parts, s[begin:])
}
