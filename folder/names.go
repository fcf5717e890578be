package folder

import (
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"kitwright/kit"
	"kitwright/render"
)

// File is the name under which the output of a job is written.
func (o Output) File() string {
	if o.file != "" {
		return o.file
	}
	return o.Name
}

// fileOf returns the name of the output of a kit: where files are to be named,
// what is printed begins with title, size and mark, as in
// Ginger-40x50cm-CDHXMH-canvas.pdf. Tables, and what programs read, keep theirs.
func (o Output) fileOf(k *kit.Kit, p render.Print) string {
	if ext := filepath.Ext(o.Name); !p.NameFiles || !o.Print || ext != ".pdf" && ext != ".png" {
		return o.Name
	}
	const most = 40 // characters of a title
	var title []rune
	for _, r := range k.Title {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.M, r) {
			r = '-'
		}
		if r != '-' || len(title) > 0 && title[len(title)-1] != '-' {
			title = append(title, r)
		}
	}
	name := strings.Trim(string(title[:min(len(title), most)]), "-")
	if name == "" {
		name = "kit"
	}
	return name + "-" + render.SizeWord(k, p) + "-" + k.Chart.Mark() + "-" + o.Name
}

// plain returns the output's own name of a file that we may have written, "" if
// it has no name of ours.
func (k Kind) plain(name string) string {
	for _, own := range k.files() {
		if name == own {
			return own
		}
		before, named := strings.CutSuffix(name, "-"+own)
		at := strings.LastIndexByte(before, '-')
		if named && at > 0 && len(before)-at == 7 && strings.Trim(before[at+1:], markLetters) == "" {
			return own
		}
	}
	return ""
}

// markLetters are the letters of a kit's mark.
const markLetters = "CDFHJKLMRTXY"

// named returns the files of ours in a folder, by name.
func (k Kind) named(dir string) (names []string, err error) {
	entries, err := os.ReadDir(dir)
	for _, e := range entries {
		if k.plain(e.Name()) != "" {
			names = append(names, e.Name())
		}
	}
	return names, err
}

// there says whether an output of a kit stands in its folder.
func (o Output) there(dir string, k *kit.Kit, p render.Print) bool {
	_, err := os.Stat(filepath.Join(dir, o.fileOf(k, p)))
	return err == nil
}
