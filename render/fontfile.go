package render

import (
	"path/filepath"
	"strings"

	"kitwright/internal/say"
	"kitwright/kit"
	"kitwright/render/letters"
)

// FontFile is the value of a flag: a font's file. Its text is the file's name
// alone; Load reads it.
type FontFile struct {
	name string // of the file
	path string
	font *letters.Borrowed // nil = not read
}

func (f *FontFile) String() string { return f.name }

// Set takes a path. What was loaded stays where only a name comes, as a kit
// tells it.
func (f *FontFile) Set(path string) error {
	path = strings.TrimSpace(path)
	if path == "" || path == "none" {
		*f = FontFile{}
		return nil
	}
	if name := filepath.Base(path); f.font == nil || path != name {
		*f = FontFile{name: name, path: path}
	}
	return nil
}

// Type names the value in help.
func (f *FontFile) Type() string { return "FILE" }

// Wants returns the file that has to be read, "" for none.
func (f *FontFile) Wants() string {
	if f.font != nil {
		return ""
	}
	return f.path
}

// Load takes the file's content.
func (f *FontFile) Load(data []byte) (err error) {
	f.font, err = letters.Borrow(f.name, data)
	return err
}

// Kept returns how the setting is kept for other runs, which may be elsewhere.
func (f *FontFile) Kept() string {
	if abs, err := filepath.Abs(f.path); err == nil && f.path != "" {
		return abs
	}
	return f.path
}

// fontAdvice names what of a title does not print.
func (p Print) fontAdvice(k *kit.Kit) (out []say.Text) {
	none, joined := letters.LacksWith(k.Title, p.Font.font)
	switch {
	case none == "":
	case p.Font.font != nil:
		out = append(out, say.Textf("Neither the type of the prints nor %s has %s: in the title it prints as %c.", p.Font.name, none, letters.Missing))
	case p.Font.name != "":
		out = append(out, say.Textf("The font %s is not at hand, so %s of the title prints as %c: give it again with {font}.", p.Font.name, none, letters.Missing))
	default:
		out = append(out, say.Textf("The type of the prints has no %s: in the title it prints as %c. Give a font that has it with {font}; most Latin, Greek and Cyrillic letters print without.", none, letters.Missing))
	}
	if joined != "" {
		out = append(out, say.Textf("The letters %s have to be joined or stacked in writing, which the prints cannot do: in the title they print as %c.", joined, letters.Missing))
	}
	return out
}
