package web

import (
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// library is the folder of the kits on the table. Each has a folder of its
// own, with the photo, what is wanted of it (table.json) and the kit folder as
// the command makes it beside that photo. A kit is named by its folder's name,
// never by a path, and nothing outside the library is reached.
type library struct {
	dir  string
	root *os.Root

	mu   sync.Mutex
	open map[string]*entry
}

const (
	tableFile = "table.json"
	tableForm = "kitwright table 1"
	trashDir  = ".trash"
	comingDir = ".coming" // photos on their way in
)

// stored is what is kept of a kit beside its photo and its kit folder.
type stored struct {
	Format string            `json:"format"`
	Name   string            `json:"name"`  // on the table
	Photo  string            `json:"photo"` // the photo's file beside it
	Demo   bool              `json:"demo,omitempty"`
	Order  map[string]string `json:"order"` // by flag name, as in kit.json
	Print  map[string]string `json:"print"`
	Turns  []turn            `json:"turns,omitempty"`  // colors kept and left out at the chart, in order
	Undone []turn            `json:"undone,omitempty"` // those that can be made again, the next one last
	Spot   []float64         `json:"spot,omitempty"`   // what the loupes show: its middle, in shares of the picture
}

var goodID = regexp.MustCompile(`^[a-z0-9](?:[a-z0-9-]{0,60}[a-z0-9])?$`)

func openLibrary(dir string) (*library, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, say.File("the folder of your kits cannot be made", dir, err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, say.File("the folder of your kits cannot be opened", dir, err)
	}
	l := &library{dir: dir, root: root, open: map[string]*entry{}}
	if entries, err := fs.ReadDir(root.FS(), comingDir); err == nil { // of a run that was killed
		for _, e := range entries {
			_ = root.Remove(comingDir + "/" + e.Name())
		}
	}
	return l, nil
}

// path is a place in the library for what takes paths.
func (l *library) path(parts ...string) string {
	return filepath.Join(append([]string{l.dir}, parts...)...)
}

// get returns a kit of the library.
func (l *library) get(id string) (*entry, error) {
	if !goodID.MatchString(id) {
		return nil, faulty(http.StatusNotFound, "gone", "nokit")
	}
	l.mu.Lock()
	e := l.open[id]
	if e == nil {
		e = &entry{lib: l, id: id}
		l.open[id] = e
	}
	l.mu.Unlock()
	if err := e.look(); err != nil {
		l.mu.Lock()
		if l.open[id] == e {
			delete(l.open, id)
		}
		l.mu.Unlock()
		return nil, err
	}
	return e, nil
}

// readStored reads what is kept of a kit.
func (l *library) readStored(id string) (*stored, error) {
	f, err := l.root.Open(id + "/" + tableFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, faulty(http.StatusNotFound, "gone", "gone")
	} else if err != nil {
		return nil, say.File("the kit cannot be read", l.path(id, tableFile), err)
	}
	defer f.Close()
	st := &stored{}
	if err := json.NewDecoder(io.LimitReader(f, 8<<20)).Decode(st); err != nil || st.Format != tableForm || filepath.Base(st.Photo) != st.Photo || st.Photo == "" {
		return nil, say.Failed("restore the file, or move its folder away and begin the kit again from its photo", "%s is not as kitwright wrote it", l.path(id, tableFile))
	}
	for _, m := range []*map[string]string{&st.Order, &st.Print} {
		if *m == nil { // nothing but what is usual
			*m = map[string]string{}
		}
	}
	return st, nil
}

// list returns the names of all kits, those touched last first.
func (l *library) list() []string {
	entries, err := fs.ReadDir(l.root.FS(), ".")
	if err != nil {
		return nil
	}
	type touched struct {
		id string
		at time.Time
	}
	var all []touched
	for _, e := range entries {
		if !e.IsDir() || !goodID.MatchString(e.Name()) {
			continue
		}
		if info, err := l.root.Stat(e.Name() + "/" + tableFile); err == nil {
			all = append(all, touched{e.Name(), info.ModTime()})
		}
	}
	slices.SortFunc(all, func(a, b touched) int {
		if c := b.at.Compare(a.at); c != 0 {
			return c
		}
		return strings.Compare(a.id, b.id)
	})
	ids := make([]string, len(all))
	for i, t := range all {
		ids[i] = t.id
	}
	return ids
}

// write writes a file of the library whole or not at all.
func (l *library) write(name string, content []byte) error {
	tmp := name + "." + random(4) + ".new"
	err := func() error {
		f, err := l.root.OpenFile(tmp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		_, err = f.Write(content)
		if err == nil {
			err = f.Sync()
		}
		if cerr := f.Close(); err == nil {
			err = cerr
		}
		if err == nil {
			err = l.root.Rename(tmp, name)
		}
		return err
	}()
	if err != nil {
		_ = l.root.Remove(tmp)
		return say.File("the change cannot be saved", l.path(name), err)
	}
	return nil
}

// slug makes a folder's name of a photo's name.
func slug(name string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	s := b.String()
	s = strings.Trim(s[:min(len(s), 40)], "-")
	if s == "" {
		s = "kit"
	}
	return s
}

// makeFolder makes a folder with a name that is free.
func (l *library) makeFolder(want string) (string, error) {
	id := want
	for i := 2; ; i++ {
		err := l.root.Mkdir(id, 0o700)
		if err == nil {
			return id, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", say.File("the kit's folder cannot be made", l.path(id), err)
		}
		id = want + "-" + strconv.Itoa(i)
	}
}

// photoName makes a file name that any system can have of what a photo was
// called.
func photoName(name string) string {
	name = wording.Printable(filepath.Base(strings.ReplaceAll(name, `\`, "/")))
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`<>:"/\|?*`, r) {
			return '-'
		}
		return r
	}, name)
	ext := filepath.Ext(name)
	base := strings.Trim(strings.TrimSuffix(name, ext), ". -")
	if runes := []rune(base); len(runes) > 60 {
		base = strings.TrimSpace(string(runes[:60]))
	}
	switch {
	case base == "" || base+ext == tableFile:
		base = "photo"
	}
	if len(ext) > 6 {
		ext = ""
	}
	return base + ext
}

// trash moves a kit out of the way, and restore brings it back.
func (l *library) trash(id string) (string, error) {
	if err := l.root.Mkdir(trashDir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return "", say.File("the kit cannot be removed", l.path(trashDir), err)
	}
	place := id
	for i := 2; ; i++ {
		if _, err := l.root.Lstat(trashDir + "/" + place); errors.Is(err, fs.ErrNotExist) {
			break
		}
		place = id + "-" + strconv.Itoa(i)
	}
	if err := l.root.Rename(id, trashDir+"/"+place); err != nil {
		return "", say.File("the kit cannot be removed", l.path(id), err)
	}
	l.mu.Lock()
	delete(l.open, id)
	l.mu.Unlock()
	return place, nil
}

func (l *library) restore(place string) (string, error) {
	if !goodID.MatchString(place) {
		return "", faulty(http.StatusNotFound, "gone", "gone")
	}
	id := place
	for i := 2; ; i++ {
		if _, err := l.root.Lstat(id); errors.Is(err, fs.ErrNotExist) {
			break
		}
		id = place + "-" + strconv.Itoa(i)
	}
	err := l.root.Rename(trashDir+"/"+place, id)
	if errors.Is(err, fs.ErrNotExist) {
		return "", faulty(http.StatusNotFound, "gone", "gone")
	} else if err != nil {
		return "", say.File("the kit cannot be brought back", l.path(trashDir, place), err)
	}
	return id, nil
}

// copyKit copies a kit under a name of its own.
func (l *library) copyKit(id string, st stored) (string, error) {
	to, err := l.makeFolder(slug(st.Name))
	if err != nil {
		return "", err
	}
	err = fs.WalkDir(l.root.FS(), id, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rest := strings.TrimPrefix(strings.TrimPrefix(path, id), "/")
		switch {
		case rest == "" || rest == tableFile || strings.HasPrefix(d.Name(), ".") || strings.HasSuffix(d.Name(), ".before"):
			if d.IsDir() && rest != "" {
				return fs.SkipDir
			}
			return nil
		case d.IsDir():
			return l.root.Mkdir(to+"/"+rest, 0o700)
		case !d.Type().IsRegular():
			return nil
		}
		in, err := l.root.Open(path)
		if err != nil {
			return err
		}
		defer in.Close()
		out, err := l.root.OpenFile(to+"/"+rest, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return err
		}
		_, err = io.Copy(out, in)
		if cerr := out.Close(); err == nil {
			err = cerr
		}
		return err
	})
	if err == nil {
		err = l.writeStored(to, &st) // last: without it, the folder is no kit
	}
	if err != nil {
		_ = l.root.RemoveAll(to)
		return "", say.File("the kit cannot be copied", l.path(id), err)
	}
	return to, nil
}

func (l *library) writeStored(id string, st *stored) error {
	text, err := json.MarshalIndent(st, "", "  ")
	if err != nil {
		return err
	}
	return l.write(id+"/"+tableFile, append(text, '\n'))
}
