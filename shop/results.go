package shop

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"kitwright/internal/filelock"
	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// Status is what came of an order.
type Status string

const (
	Made   Status = "made"   // now
	Same   Status = "same"   // made earlier, of this photo with these settings
	Failed Status = "failed" // Reason says why
)

// Result is what came of an order. It holds no times: the same orders give the
// same results.
type Result struct {
	Row    int      `json:"row"`
	Name   string   `json:"name"`
	Status Status   `json:"status"`
	Reason string   `json:"reason,omitempty"`
	Hint   string   `json:"hint,omitempty"`
	Photo  string   `json:"photo"`
	Key    string   `json:"key,omitempty"` // of photo, settings, card and release: the same key, the same kit
	Mark   string   `json:"mark,omitempty"`
	Cols   int      `json:"cols,omitempty"`
	Rows   int      `json:"rows,omitempty"`
	Drills int      `json:"drills,omitempty"`
	Colors int      `json:"colors,omitempty"`
	Off    float64  `json:"off,omitempty"` // mean CIEDE2000 off the photo
	Width  float64  `json:"sheet_width_mm,omitempty"`
	Height float64  `json:"sheet_height_mm,omitempty"`
	Files  []string `json:"files,omitempty"`
}

// resultsBase begins the name of every file of results.
const resultsBase = "results"

var resultColumns = []string{"row", "name", "status", "reason", "hint", "photo", "kit_mark", "columns", "rows", "drills", "colors", "off", "sheet_width_mm", "sheet_height_mm", "files"}

func (r Result) cells() []string {
	number := func(v float64) string {
		if v == 0 {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return []string{strconv.Itoa(r.Row), wording.Cell(r.Name), string(r.Status), wording.Cell(r.Reason), wording.Cell(r.Hint), wording.Cell(r.Photo), r.Mark,
		number(float64(r.Cols)), number(float64(r.Rows)), number(float64(r.Drills)), number(float64(r.Colors)), number(r.Off), number(r.Width), number(r.Height), strings.Join(r.Files, " ")}
}

// begun is the first line of a file of results: what it is about.
type begun struct {
	Kitwright string `json:"kitwright"` // the release
	Orders    int    `json:"orders"`
	Table     string `json:"orders_sha256"`
	Part      Part   `json:"part"`
	Names     []Name `json:"names"` // of the orders of this part
}

// Name tells an order by its row.
type Name struct {
	Row  int    `json:"row"`
	Name string `json:"name"`
}

// log is a pair of files that results are appended to, by one run at a time.
type log struct {
	lines, table *os.File
	mu           sync.Mutex
	waiting      []Result // what could not be written yet
	last         error
}

// openLog opens the results of a part, and returns what they tell of earlier
// runs: the last result of each name.
func openLog(dir string, head begun) (*log, map[string]Result, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, nil, say.File("the folder for the kits cannot be made", dir, err)
	}
	base := filepath.Join(dir, resultsBase+head.Part.suffix())
	l := &log{}
	var err error
	if l.lines, err = os.OpenFile(base+".jsonl", os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666); err != nil {
		return nil, nil, say.File("the results cannot be written", base+".jsonl", err)
	}
	if err := filelock.Try(l.lines); err != nil {
		l.close()
		if errors.Is(err, filelock.ErrLocked) {
			return nil, nil, say.Failed("wait until it ends, or give this one a folder of its own", "another batch is at work on %s", base+".jsonl")
		}
		return nil, nil, say.File("the results cannot be locked", base+".jsonl", err)
	}
	earlier, empty, err := readEarlier(l.lines)
	if err != nil {
		l.close()
		return nil, nil, err
	}
	if l.table, err = os.OpenFile(base+".csv", os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o666); err != nil {
		l.close()
		return nil, nil, say.File("the results cannot be written", base+".csv", err)
	}
	if err := l.start(head, empty); err != nil {
		l.close()
		return nil, nil, err
	}
	return l, earlier, nil
}

// readEarlier reads what earlier runs appended. A torn last line is what a run
// was killed at: it tells nothing.
func readEarlier(f *os.File) (map[string]Result, bool, error) {
	data, err := io.ReadAll(f)
	if err != nil {
		return nil, false, say.File("the results cannot be read", f.Name(), err)
	}
	earlier := map[string]Result{}
	for line := range bytes.Lines(data) {
		var r Result
		if json.Unmarshal(line, &r) == nil && r.Row > 0 {
			earlier[strings.ToLower(r.Name)] = r
		}
	}
	return earlier, len(data) == 0, nil
}

// start closes torn lines and says what this run is about.
func (l *log) start(head begun, empty bool) error {
	for _, f := range []*os.File{l.lines, l.table} {
		size, err := f.Seek(0, io.SeekEnd)
		var end [1]byte
		if err == nil && size > 0 {
			_, err = f.ReadAt(end[:], size-1)
		}
		if err == nil && size > 0 && end[0] != '\n' {
			_, err = f.WriteString("\n")
		}
		if err == nil && size == 0 && f == l.table {
			err = writeCSV(f, resultColumns)
		}
		if err != nil {
			return say.File("the results cannot be written", f.Name(), err)
		}
	}
	line, err := json.Marshal(head)
	if err != nil {
		return fmt.Errorf("results: %w", err)
	}
	if _, err := l.lines.Write(append(line, '\n')); err != nil {
		return say.File("the results cannot be written", l.lines.Name(), err)
	}
	return nil
}

func writeCSV(w io.Writer, cells []string) error {
	var b bytes.Buffer
	c := csv.NewWriter(&b)
	c.Write(cells) // a buffer takes everything
	c.Flush()
	_, err := w.Write(b.Bytes())
	return err
}

// add appends a result. Where the disk is full it is kept, and written with
// the next one that can be.
func (l *log) add(r Result) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.waiting = append(l.waiting, r)
	l.flush()
}

func (l *log) flush() {
	for len(l.waiting) > 0 {
		line, err := json.Marshal(l.waiting[0])
		if err == nil {
			err = appendWhole(l.lines, append(line, '\n'))
		}
		if err == nil {
			err = writeCSV(l.table, l.waiting[0].cells())
		}
		if l.last = err; err != nil {
			return
		}
		l.waiting = l.waiting[1:]
	}
}

// appendWhole takes back what a full disk let through of a line.
func appendWhole(f *os.File, line []byte) error {
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	if _, err := f.Write(line); err != nil {
		_ = f.Truncate(size) // else the next run finds a torn line, and closes it
		return err
	}
	return nil
}

// close writes what is waiting, and says if it can't.
func (l *log) close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.lines != nil && l.table != nil {
		l.flush()
	}
	for _, f := range []*os.File{l.lines, l.table} {
		if f == nil {
			continue
		}
		if err := errors.Join(f.Sync(), f.Close()); err != nil && l.last == nil {
			l.last = err
		}
	}
	if l.last != nil {
		return say.Failed("make room and run it again: what is made already is not made twice", "%s could not be written to the results: %w", say.Count(max(1, len(l.waiting)), "result"), l.last)
	}
	return nil
}

// readPart reads the results of one part: what it was about, and the last
// result of each row.
func readPart(path string) (head begun, results map[int]Result, err error) {
	f, err := os.Open(path)
	if err != nil {
		return begun{}, nil, say.File("the results cannot be read", path, err)
	}
	defer f.Close()
	results = map[int]Result{}
	lines := bufio.NewReader(f)
	for {
		line, err := lines.ReadBytes('\n')
		if b := (begun{}); json.Unmarshal(line, &b) == nil && b.Orders > 0 {
			if b.Table != head.Table {
				clear(results) // of another table
			}
			head = b
		} else if r := (Result{}); json.Unmarshal(line, &r) == nil && r.Row > 0 {
			results[r.Row] = r
		}
		if err == io.EOF {
			break
		} else if err != nil {
			return begun{}, nil, say.File("the results cannot be read", path, err)
		}
	}
	if head.Orders == 0 {
		return begun{}, nil, say.Failed("leave it out of the folder", "%s holds no results of a batch", path)
	}
	return head, results, nil
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
