package main

import (
	"io"
	"strings"

	"kitwright/internal/input"
	"kitwright/internal/say"
	"kitwright/internal/setting"
	"kitwright/palettes/gauge"
	"kitwright/palettes/intake"
)

// codeList is a flag's value for codes with commas between them.
type codeList struct{ to *[]string }

func (c codeList) String() string {
	if c.to == nil {
		return ""
	}
	quoted := make([]string, len(*c.to))
	for i, code := range *c.to {
		quoted[i] = setting.Quote(code)
	}
	return strings.Join(quoted, ",")
}

func (c codeList) Set(s string) error {
	for _, part := range setting.Split(s, ",") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		code, err := setting.Unquote(part)
		if err != nil {
			return err
		}
		*c.to = append(*c.to, code)
	}
	return nil
}

func (c codeList) Type() string { return "CODE,..." }

// readCodes reads codes from a file: one a line, or the first cell of each
// line; a first line that only says "code" is a header.
func readCodes(path string) ([]string, error) {
	text, err := readSmall(path, "list of codes")
	if err != nil {
		return nil, err
	}
	return gauge.ParseCodes(path, text)
}

// readSmall reads a small text file, in any encoding that a card may have.
func readSmall(path, what string) (string, error) {
	const most = 1 << 20
	f, err := input.Open(path, what)
	if err != nil {
		return "", err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return "", say.File("the "+what+" cannot be read", path, err)
	}
	if len(text) > most {
		return "", say.Failed("name a small text file", "%s is over 1 MB, too much for a %s", path, what)
	}
	return intake.Text(path, text)
}
