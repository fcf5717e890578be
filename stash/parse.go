package stash

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"kitwright/internal/wording"
)

// rec is a line that stands whole in the file and counts.
type rec struct {
	line, off, end     int // its number, and where it lies without its end
	entry, part, parts int
	lot                int // index; -1 = none
	drills             int
	act                Act
	placed, noted      bool // it says a place, a note
	kit                bool // it says a kit
}

// before orders lines as they were written.
func (a rec) compare(b rec) int {
	return cmp.Or(cmp.Compare(a.entry, b.entry), cmp.Compare(a.part, b.part))
}

// Fault is a place where the ledger is broken: changed by hand, or by a disk.
// What it says does not count before somebody was asked about it.
type Fault struct {
	Line int    // in the file; 0 where lines are missing
	Text string // what stands there
	Why  string
	Says *Line // what it would say, where that can be read
	ref  string
}

func (f Fault) String() string {
	if f.Line == 0 {
		return f.Why
	}
	return fmt.Sprintf("line %d: %s", f.Line, f.Why)
}

// parsed is a ledger's file as it was read.
type parsed struct {
	data   []byte
	recs   []rec       // in the order they were written
	lots   []Lot       // in the order they came
	at     map[Key]int // of the lots; made when it is asked for
	seen   []bool      // which of them a line that counts is about
	good   int         // how much of the file is whole
	open   bool        // the last line has no end, though it is whole
	faults []Fault
	undone map[int]bool // entries
	asked  map[string]bool
	strays []Fault // broken lines on the way, before it is known which were asked about
}

// parser reads a ledger line by line.
type parser struct {
	parsed
	head  bool           // the first line names the columns
	byKey map[string]int // lots by the fields of their key
	key   []byte
	date  []byte // the last one that was a date
	torn  []int  // numbers of lines that a stop left behind: no end, or holes of zeros
	begin []int  // where each line begins

	broken []int // numbers of the broken lines, ascending
}

// parse reads a ledger. It fails only where the file is none.
func parse(data []byte) (*parsed, bool) {
	p := &parser{byKey: map[string]int{}}
	p.data = data
	p.good = len(data)
	if tornHeader(data) {
		p.good = 0
		return &p.parsed, true
	}
	lines := bytes.Count(data, []byte{'\n'})
	p.recs, p.begin = make([]rec, 0, lines), make([]int, 0, lines+1)
	n := 0
	for off := 0; off < len(data); {
		end, next := len(data), len(data)
		if at := bytes.IndexByte(data[off:], '\n'); at >= 0 {
			end, next = off+at, off+at+1
		} else {
			p.open = true
		}
		n++
		p.begin = append(p.begin, off)
		p.line(n, off, end)
		off = next
	}
	if len(p.recs) == 0 && n > 0 && !p.head && !holedHeader(data) {
		return nil, false
	}
	p.cutTorn(n)
	p.order()
	p.count()
	return &p.parsed, true
}

// tornHeader tells a file whose making was stopped: a piece of the first line,
// or zeros.
func tornHeader(data []byte) bool {
	first := bytes.TrimRight(data, "\x00")
	return len(data) > 0 && len(first) <= len(header) && strings.HasPrefix(header, string(first))
}

// holedHeader tells a file whose first line a loss of power left with holes of
// zeros.
func holedHeader(data []byte) bool {
	for i := range min(len(data), len(header)) {
		if data[i] != 0 && data[i] != header[i] {
			return false
		}
	}
	return bytes.IndexByte(data[:min(len(data), len(header)+1)], 0) >= 0
}

// line reads one line.
func (p *parser) line(n, off, end int) {
	text := p.data[off:end]
	if n == 1 {
		text = bytes.TrimPrefix(text, []byte("\ufeff"))
		if string(bytes.TrimSuffix(text, []byte{'\r'})) == header {
			p.head = true
			return
		}
	}
	off = end - len(text)
	text = bytes.TrimSuffix(text, []byte{'\r'})
	var f [columns][]byte
	if split(text, &f) && fits(text, &f) {
		r, why := p.rec(&f)
		if why == "" {
			r.line, r.off, r.end = n, off, off+len(text)
			p.recs = append(p.recs, r)
			return
		}
		p.stray(n, text, why)
		return
	}
	if bytes.IndexByte(text, 0) >= 0 || p.open && !isSum(f[columns-1]) {
		p.torn = append(p.torn, n)
		return
	}
	if len(bytes.TrimSpace(text)) == 0 {
		return // somebody's empty line says nothing
	}
	why := "it is not as it was written: its checksum does not fit"
	if n == 1 {
		why = "the names of the columns are not as they were written"
	}
	p.stray(n, text, why)
}

// fits says whether a line's checksum is the one it should have. Quotes that a
// spreadsheet put around fields do not matter.
func fits(text []byte, f *[columns][]byte) bool {
	sum := f[columns-1]
	if sumIs(sum, text[:max(0, len(text)-len(sum)-1)]) {
		return true
	}
	if bytes.IndexByte(text, '"') < 0 {
		return false
	}
	var plain []byte
	for i, field := range f[:columns-1] {
		if i > 0 {
			plain = append(plain, ',')
		}
		plain = appendField(plain, string(field))
	}
	return sumIs(sum, plain)
}

// rec makes a line of its fields. A key is looked at once.
func (p *parser) rec(f *[columns][]byte) (r rec, why string) {
	var ok [4]bool
	r.entry, ok[0] = number(f[0])
	r.part, ok[1] = number(f[1])
	r.parts, ok[2] = number(f[2])
	r.drills, ok[3] = number(f[10])
	r.lot = -1
	r.placed, r.noted, r.kit = len(f[12]) > 0, len(f[13]) > 0, len(f[14]) > 0
	p.key = p.key[:0]
	for _, field := range f[5:10] {
		p.key = append(append(p.key, field...), 0)
	}
	lot, known := p.byKey[string(p.key)]
	r.act = actOf(f[4])
	fine := known && ok == [4]bool{true, true, true, true} && string(p.date) == string(f[3]) &&
		r.act != "" && r.act != Repaired && r.act != Undone && r.entry > 0 && r.part > 0 && r.part <= r.parts &&
		max(r.drills, -r.drills) <= MaxDrills
	if n, is := number(f[11]); len(f[11]) > 0 && (!is || n < 0 || n > MaxDrills) {
		fine = false
	}
	for _, text := range f[12:17] {
		fine = fine && plainText(text)
	}
	if !fine {
		var l Line
		if l, why = read(f); why != "" {
			return r, why
		}
		p.date = f[3]
		if l.Code == "" { // nothing of a lot
			return r, ""
		}
		if !known {
			lot = len(p.lots)
			p.byKey[string(p.key)] = lot
			p.lots = append(p.lots, Lot{Key: l.Key})
		}
	}
	r.lot = lot
	return r, ""
}

// plainText says at a glance that a text holds nothing to look at twice.
func plainText(b []byte) bool {
	for _, c := range b {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return len(b) <= 100
}

// actOf returns an act without making a new text of it.
func actOf(b []byte) Act {
	switch string(b) {
	case string(Added):
		return Added
	case string(Counted):
		return Counted
	case string(Taken):
		return Taken
	case string(Returned):
		return Returned
	case string(Undone):
		return Undone
	case string(Repaired):
		return Repaired
	}
	return ""
}

// stray keeps a broken line in mind.
func (p *parser) stray(n int, text []byte, why string) {
	f := Fault{Line: n, Text: wording.Printable(string(bytes.ToValidUTF8(text, []byte("?")))), Why: why, ref: lineRef(n, text)}
	var fields [columns][]byte
	if n > 1 && split(text, &fields) {
		if l, wrong := read(&fields); wrong == "" {
			f.Says = &l
		}
	}
	p.strays = append(p.strays, f)
}

// cutTorn finds what a stop has left at the end of the file: lines without an
// end or with holes of zeros, and with them the lines of an entry that has not
// all its parts. No one was told that such an entry stands.
func (p *parser) cutTorn(lines int) {
	isTorn := func(n int) bool { _, is := slices.BinarySearch(p.torn, n); return is }
	tail := lines + 1 // the first torn line
	for tail > 1 && isTorn(tail-1) {
		tail--
	}
	if n := len(p.recs); n > 0 {
		last := p.recs[n-1]
		from, holes := n-1, tail <= lines
		for at := last.line - 1; at > 0; at-- { // back to the begin of its entry
			if isTorn(at) {
				holes = true
			} else if from > 0 && p.recs[from-1].line == at && p.recs[from-1].entry == last.entry {
				from--
			} else {
				break
			}
		}
		whole := last.part == last.parts && n-from == last.parts
		elsewhere := slices.ContainsFunc(p.recs, func(r rec) bool { return r.entry > last.entry }) ||
			slices.ContainsFunc(p.recs[:from], func(r rec) bool { return r.entry == last.entry })
		if last.line == tail-1 && !whole && !elsewhere && (last.part < last.parts || holes && n-from < last.parts && p.holed(p.recs[from:])) {
			tail = p.recs[from].line
			for tail > 1 && isTorn(tail-1) {
				tail--
			}
			p.recs = p.recs[:from]
		}
	}
	if tail <= lines {
		p.good, p.open = p.begin[tail-1], false
	}
	for _, n := range p.torn {
		if n < tail { // not at the end: no stop of ours leaves that
			p.stray(n, p.textOf(n), "it holds zeros or has no end: a disk may have lost it")
		}
	}
}

// holed says whether torn lines lie among an entry's lines or before them.
func (p *parser) holed(of []rec) bool {
	return slices.ContainsFunc(p.torn, func(n int) bool {
		return n < of[len(of)-1].line && n >= of[0].line-1
	})
}

// textOf returns a line by its number.
func (p *parser) textOf(n int) []byte {
	end := len(p.data)
	if n < len(p.begin) {
		end = p.begin[n] - 1
	}
	return bytes.TrimSuffix(p.data[p.begin[n-1]:end], []byte{'\r'})
}
