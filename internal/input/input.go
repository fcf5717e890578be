// Package input opens the files that a person names. What cannot be opened is
// told in a sentence, with the file that was probably meant.
package input

import (
	"os"
	"path/filepath"

	"kitwright/internal/say"
	"kitwright/internal/setting"
)

// NotThere says that a file cannot be opened, and names one beside it that was
// probably meant.
func NotThere(what, path string, err error) error {
	var beside []string
	if entries, derr := os.ReadDir(filepath.Dir(path)); derr == nil && os.IsNotExist(err) {
		for _, e := range entries {
			beside = append(beside, e.Name())
		}
	}
	if near := setting.Near(filepath.Base(path), beside); near != "" {
		if dir := filepath.Dir(path); dir != "." {
			near = filepath.Join(dir, near)
		}
		return say.Failed(say.Hint("%s is there", near), "the %s cannot be opened: %s: no such file", what, path)
	}
	return say.File("the "+what+" cannot be opened", path, err)
}

// Open opens a file to read. What is no file is refused: a pipe may never
// have an end, or anyone who writes into it.
func Open(path, what string) (*os.File, error) {
	info, err := os.Stat(path) // before it is opened: opening a pipe would wait for a writer
	if err != nil {
		return nil, NotThere(what, path, err)
	}
	if info.IsDir() {
		return nil, say.Failed(say.Hint("name one %s in it", what), "%s is a folder, not a %s", path, what)
	}
	if !info.Mode().IsRegular() {
		return nil, say.Failed("save it as a file first, and name that", "%s is not a file, so no %s can be read from it", path, what)
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, say.File("the "+what+" cannot be opened", path, err)
	}
	return file, nil
}
