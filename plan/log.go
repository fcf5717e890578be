package plan

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitwright/chart"
	"kitwright/internal/say"
	"kitwright/internal/wording"
)

// LogFile is the log's name beside kit.json.
const LogFile = "progress.csv"

// Act is what a tick does.
type Act string

// The acts. Undo is a tick like the others: nothing is ever taken out of a log.
const (
	Done Act = "done" // drills are set
	Open Act = "open" // they are not, after all
	Undo Act = "undo" // the last tick that counts no longer does
)

// Tick is what a crafter said she had done at one go: by color and place, so
// that it stays true when the chart is edited or divided in another way.
type Tick struct {
	Number  int // from 1 up
	Act     Act
	Section string
	Box     chart.Box // of the section
	Marks   []Mark
	Minutes int    // that it took; 0 = not said
	Date    string // as in 2026-11-26; "" = not said

	part, of, line int // while it is read: parts seen, parts there are, its first line
}

// Mark is drills of one color.
type Mark struct {
	Code    string // with the finish, as it stands on paper
	Cells   []int  // counted row by row in the tick's box, from 0, rising
	Presses int    // that setting them took
}

// Log is what was ticked off, in its order.
type Log struct {
	Ticks  []Tick
	Faults []Fault

	last int  // the highest number seen, also of ticks that are not whole
	torn bool // the last line has no end
	any  bool // there is a heading already
}

// Fault is a line of a log that does not count, and why.
type Fault struct {
	Line int
	Why  string
}

// logColumns are a contract: columns may be added before the last, never
// renamed. The last one is the CRC-32C of what stands before it on the line.
var logColumns = []string{"tick", "part", "action", "section", "left", "top", "right", "bottom", "code", "drills", "presses", "minutes", "date", "cells", "check"}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// MostLog is how large a log may be, in bytes.
const MostLog = 64 << 20

// MostMinutes is the longest that one tick may have taken.
const MostMinutes = 100 * 60

// ReadLog reads a log. A line that is damaged or was changed by hand does not
// count and is named; a tick counts if all its lines are there.
func ReadLog(r io.Reader) (*Log, error) {
	all, err := io.ReadAll(io.LimitReader(r, MostLog+1))
	if err != nil {
		return nil, say.File("the file cannot be read", LogFile, err)
	}
	if len(all) > MostLog {
		return nil, say.Failed("move it away to begin anew", "%s is larger than any that we write", LogFile)
	}
	l := &Log{}
	if len(all) == 0 {
		return l, nil
	}
	l.torn = all[len(all)-1] != '\n'
	head := strings.Join(logColumns, ",")
	text := string(all)
	begun := func(line string) bool { // a heading that was cut off, be it with nothing but zeros behind it
		return strings.HasPrefix(head, strings.TrimRight(line, "\x00"))
	}
	if begun(text) {
		return l, nil
	}
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	for n, line := range lines {
		line = strings.TrimSuffix(line, "\r")
		switch {
		case line == head:
			l.any = true
		case line == "" || begun(line) && n+1 < len(lines) && lines[n+1] == head: // begun again
		case n == 0:
			return nil, say.Failed("move it away to begin anew", "%s is not as we write it", LogFile)
		default:
			l.read(n+1, line, n == len(lines)-1 && l.torn)
		}
	}
	l.whole()
	return l, nil
}

// read reads a line. Parts of a tick are gathered in the last of Ticks.
func (l *Log) read(number int, line string, torn bool) {
	fault := func(why string) {
		if torn {
			why = "it was cut off when the run that wrote it was stopped"
		}
		l.Faults = append(l.Faults, Fault{number, why})
	}
	at := strings.LastIndexByte(line, ',')
	if at < 0 || check(line[:at]) != line[at+1:] {
		fault("it is damaged, or was changed by hand")
		return
	}
	in := csv.NewReader(strings.NewReader(line))
	in.FieldsPerRecord = len(logColumns)
	row, err := in.Read()
	if err != nil {
		fault("it is not as we write it")
		return
	}
	t, part, of, err := readTick(row)
	if err != nil {
		fault(err.Error())
		return
	}
	l.last = max(l.last, t.Number)
	if n := len(l.Ticks); n > 0 && l.Ticks[n-1].Number == t.Number && l.Ticks[n-1].part == part-1 && l.Ticks[n-1].of == of {
		l.Ticks[n-1].Marks = append(l.Ticks[n-1].Marks, t.Marks...)
		l.Ticks[n-1].part = part
		return
	}
	if part != 1 {
		fault("the lines before it that belong to it are missing")
		return
	}
	t.part, t.of, t.line = part, of, number
	l.Ticks = append(l.Ticks, t)
}

// whole leaves out ticks that are not whole.
func (l *Log) whole() {
	l.Ticks = slices.DeleteFunc(l.Ticks, func(t Tick) bool {
		if t.part < t.of {
			l.Faults = append(l.Faults, Fault{t.line, "the rest of what was ticked with it is missing"})
		}
		return t.part < t.of
	})
	slices.SortFunc(l.Faults, func(a, b Fault) int { return a.Line - b.Line })
}

func check(payload string) string {
	return fmt.Sprintf("%08x", crc32.Checksum([]byte(payload), castagnoli))
}

// readTick reads a checked line.
func readTick(row []string) (t Tick, part, of int, err error) {
	bad := errors.New("its numbers make no sense")
	number := func(s string, least int) int {
		n, ok := whole(s)
		if !ok || n < least {
			err = bad
		}
		return n
	}
	t.Number = number(row[0], 1)
	first, last, _ := strings.Cut(row[1], "/")
	part, of = number(first, 1), number(last, 1)
	t.Act = Act(row[2])
	if part > of {
		err = bad
	}
	if t.Act == Undo {
		return t, part, of, err
	}
	if t.Act != Done && t.Act != Open {
		return t, part, of, errors.New("there is no such action")
	}
	t.Section = wording.Uncell(row[3])
	x, y := number(row[4], 1)-1, number(row[5], 1)-1
	t.Box = chart.Box{X: x, Y: y, W: number(row[6], 1) - x, H: number(row[7], 1) - y}
	m := Mark{Code: wording.Uncell(row[8]), Presses: number(row[10], 0)}
	if row[11] != "" {
		t.Minutes = number(row[11], 1)
	}
	t.Date = row[12]
	if err != nil || t.Box.W < 1 || t.Box.H < 1 || t.Box.W > 4e6/t.Box.H || t.Minutes > MostMinutes || wording.Code.Check(m.Code) != nil && wording.Color.Check(m.Code) != nil || wording.Title.Check(t.Section) != nil {
		return t, part, of, bad
	}
	if t.Date != "" {
		if _, derr := time.Parse(time.DateOnly, t.Date); derr != nil {
			return t, part, of, bad
		}
	}
	if m.Cells, err = readCells(row[13], t.Box.W*t.Box.H); err == nil && len(m.Cells) != number(row[9], 1) {
		err = bad
	}
	t.Marks = []Mark{m}
	return t, part, of, err
}

// readCells reads "1-3 17": places in a box, from 1, rising.
func readCells(s string, most int) (cells []int, err error) {
	bad := errors.New("its drills make no sense")
	for _, part := range strings.Fields(s) {
		first, last, run := strings.Cut(part, "-")
		if !run {
			last = first
		}
		a, ok1 := whole(first)
		b, ok2 := whole(last)
		if !ok1 || !ok2 || a < 1 || b < a || b > most || len(cells) > 0 && a-1 <= cells[len(cells)-1] {
			return nil, bad
		}
		for i := a - 1; i < b; i++ {
			cells = append(cells, i)
		}
	}
	if cells == nil {
		return nil, bad
	}
	return cells, nil
}

func cellsText(cells []int) string {
	var b []byte
	for i := 0; i < len(cells); {
		n := 1
		for i+n < len(cells) && cells[i+n] == cells[i]+n {
			n++
		}
		if i > 0 {
			b = append(b, ' ')
		}
		b = strconv.AppendInt(b, int64(cells[i]+1), 10)
		if n > 1 {
			b = append(b, '-')
			b = strconv.AppendInt(b, int64(cells[i]+n), 10)
		}
		i += n
	}
	return string(b)
}

// Lines returns what has to be added to the log's file for a tick, which gets
// the next number: its lines, after the heading where there is none yet, and
// after the end of a line that was cut off.
func (l *Log) Lines(t Tick) []byte {
	var b bytes.Buffer
	if l.torn {
		b.WriteByte('\n')
	}
	if !l.any {
		b.WriteString(strings.Join(logColumns, ",") + "\n")
	}
	t.Number = l.last + 1
	marks := t.Marks
	if t.Act == Undo {
		marks = []Mark{{}}
	}
	for i, m := range marks {
		row := make([]string, len(logColumns)-1)
		row[0], row[1], row[2] = strconv.Itoa(t.Number), fmt.Sprintf("%d/%d", i+1, len(marks)), string(t.Act)
		if t.Act != Undo {
			copy(row[3:], []string{
				wording.Cell(t.Section), strconv.Itoa(t.Box.X + 1), strconv.Itoa(t.Box.Y + 1), strconv.Itoa(t.Box.X + t.Box.W), strconv.Itoa(t.Box.Y + t.Box.H),
				wording.Cell(m.Code), strconv.Itoa(len(m.Cells)), strconv.Itoa(m.Presses), "", t.Date, cellsText(m.Cells),
			})
			if t.Minutes > 0 {
				row[11] = strconv.Itoa(t.Minutes)
			}
		}
		var line bytes.Buffer
		out := csv.NewWriter(&line)
		_ = out.Write(row) // into memory
		out.Flush()
		payload := strings.TrimSuffix(line.String(), "\n")
		b.WriteString(payload + "," + check(payload) + "\n")
	}
	return b.Bytes()
}

// InForce returns the ticks that count.
func (l *Log) InForce() (force []Tick) {
	for _, t := range l.Ticks {
		if t.Act != Undo {
			force = append(force, t)
		} else if n := len(force); n > 0 {
			force = force[: n-1 : n-1]
		}
	}
	return force
}
