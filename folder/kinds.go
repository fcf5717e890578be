package folder

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"

	"kitwright/internal/say"
	"kitwright/kit"
)

// Kind is a kind of folder that we make.
type Kind struct {
	Name  string // "kit": in the folder's name, and in sentences
	key   string // the file that tells by its content that we made the folder
	known func(io.Reader) bool
	files func() []string
}

const (
	kitKey    = "kit.json"
	ladderKey = "ladder.csv"
)

// Kits is the kind of a kit folder.
var Kits = Kind{"kit", kitKey, isKit, func() []string {
	var names []string
	for _, o := range Outputs() {
		names = append(names, o.Name)
	}
	return names
}}

// Ladders is the kind of a ladder folder.
var Ladders = Kind{"ladder", ladderKey, isLadder, func() []string { return []string{ladderKey, "ladder.png", "subject.png"} }}

// maxKey is how much of a file is read to tell whether it is ours.
const maxKey = 64 << 20

// isKit tells a kit.json of our format, of this release or a newer one, from
// any other JSON.
func isKit(r io.Reader) bool {
	return kit.IsKit(io.LimitReader(r, maxKey))
}

// isLadder tells a ladder.csv by its first columns, which are never renamed.
func isLadder(r io.Reader) bool {
	var head bytes.Buffer
	if err := kit.WriteLadderCSV(&head, nil, kit.Pace{}); err != nil {
		return false
	}
	want := strings.Join(strings.Split(head.String(), ",")[:6], ",") + ","
	line, _ := bufio.NewReader(io.LimitReader(r, 1<<16)).ReadString('\n')
	return strings.HasPrefix(line, want)
}

// holds returns an error unless dir is a folder of this kind with nothing in
// it that we did not write.
func (k Kind) holds(dir string) error {
	const keep = "choose another place with {out}"
	info, err := os.Lstat(dir)
	if err != nil {
		return say.File("the folder cannot be looked at", dir, err)
	}
	if !info.IsDir() {
		return say.Failed(keep, "%s is not a folder that we made", dir)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return say.File("the folder cannot be looked at", dir, err)
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || k.plain(e.Name()) == "" {
			return say.Failed(keep+", or move that away", "%s holds %s, which we did not write, so it is not replaced", dir, e.Name())
		}
	}
	f, err := os.Open(filepath.Join(dir, k.key))
	if os.IsNotExist(err) {
		return say.Failed(keep, "%s holds no %s, so it is not a folder that we made", dir, k.key)
	} else if err != nil {
		return say.File("the folder cannot be looked at", filepath.Join(dir, k.key), err)
	}
	defer f.Close()
	if !k.known(f) {
		return say.Failed(keep, "%s in %s is not as we write it, so it is not a folder that we made", k.key, dir)
	}
	return nil
}
