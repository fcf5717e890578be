package stash

import (
	"fmt"
	"slices"
)

// order puts the lines in the order in which they were written, as a person may
// have sorted them, and finds lines that stand twice or are missing.
func (p *parser) order() {
	inOrder := p.recs
	if !slices.IsSortedFunc(p.recs, rec.compare) {
		inOrder = slices.Clone(p.recs)
		slices.SortStableFunc(inOrder, rec.compare)
	}
	out := make([]rec, 0, len(inOrder))
	p.broken = make([]int, 0, len(p.strays))
	for _, f := range p.strays {
		p.broken = append(p.broken, f.Line)
	}
	slices.Sort(p.broken)
	before := rec{part: 1, parts: 1} // as if entry 0 stood whole
	for _, r := range inOrder {
		if len(out) > 0 && r.compare(before) == 0 {
			p.twice(before, r)
			continue
		}
		follows := r.entry == before.entry && r.part == before.part+1 && r.parts == before.parts ||
			r.entry == before.entry+1 && r.part == 1 && before.part == before.parts
		if !follows && !p.strayBetween(before, r) {
			p.strays = append(p.strays, Fault{Why: missing(before, r), ref: gapRef(before, r)})
		}
		out = append(out, r)
		before = r
	}
	p.recs = out
	for _, r := range p.recs {
		if r.act == Undone || r.act == Repaired {
			p.refer(p.read(r))
		}
	}
	for _, f := range p.strays {
		if !p.asked[f.ref] {
			p.faults = append(p.faults, f)
		}
	}
	slices.SortStableFunc(p.faults, func(a, b Fault) int { return a.Line - b.Line })
}

// missing says in words what lies between two lines.
func missing(a, b rec) string {
	from, to := a.entry+1, b.entry-1
	switch {
	case a.part < a.parts || a.entry == b.entry:
		from = a.entry
	}
	if b.part > 1 {
		to = b.entry
	}
	if from >= to {
		return fmt.Sprintf("lines of entry %d are missing", from)
	}
	return fmt.Sprintf("lines of the entries %d to %d are missing", from, to)
}

// strayBetween says whether a broken line between two lines explains why they
// do not follow each other.
func (p *parser) strayBetween(a, b rec) bool {
	at, _ := slices.BinarySearch(p.broken, max(a.line, 1)+1)
	return at < len(p.broken) && p.broken[at] < b.line
}

// twice looks at a line that has the place of another. The very same line does
// no harm; another one has to be asked about.
func (p *parser) twice(first, again rec) {
	if text := p.data[again.off:again.end]; string(text) != string(p.data[first.off:first.end]) {
		p.stray(again.line, text, fmt.Sprintf("entry %d stands there twice, and they differ: two copies of the file were put together, or two runs wrote at once", again.entry))
	}
}

// count adds the drills up, and finds where the lots lie.
func (p *parser) count() {
	p.seen = make([]bool, len(p.lots))
	type words struct{ place, note int }
	last := make([]words, len(p.lots))
	for i := range last {
		last[i] = words{-1, -1}
	}
	for i, r := range p.recs {
		if r.lot < 0 {
			continue
		}
		p.lots[r.lot].Drills += r.drills
		p.seen[r.lot] = true
		if p.undone[r.entry] || r.act != Added && r.act != Counted && r.act != Repaired {
			continue
		}
		if r.placed {
			last[r.lot].place = i
		}
		if r.noted {
			last[r.lot].note = i
		}
	}
	for i, w := range last {
		if w.place >= 0 {
			p.lots[i].Place = p.read(p.recs[w.place]).Place
		}
		if w.note >= 0 {
			p.lots[i].Note = p.read(p.recs[w.note]).Note
		}
	}
}

// read returns a line whole.
func (p *parsed) read(r rec) Line {
	var f [columns][]byte
	split(p.data[r.off:r.end], &f)
	l, _ := read(&f)
	return l
}
