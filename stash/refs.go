package stash

import (
	"fmt"
	"strconv"
	"strings"
)

// What an entry refers to is written so:
//
//	entry 12                      an undo: the entry that no longer counts
//	line 14 x0123abcd             a repair: the line that was asked about, with its checksum
//	line 14 x0123abcd as take     the same, and the repair says what that line said
//	gap 11.1-14.1                 a repair: what is missing between two lines
//	rest, all                     a take, a return: how it was asked for
const (
	entryRef = "entry "
	asWord   = " as "
	restRef  = "rest"
	allRef   = "all"
)

func lineRef(n int, text []byte) string { return fmt.Sprintf("line %d %s", n, sumOf(text)) }

func gapRef(a, b rec) string {
	return fmt.Sprintf("gap %d.%d-%d.%d", a.entry, a.part, b.entry, b.part)
}

// refer takes in what an undo or a repair says about other lines.
func (p *parser) refer(l Line) {
	ref := l.Ref
	if l.Act == Repaired {
		before, as, said := strings.Cut(ref, asWord)
		if p.asked == nil {
			p.asked = map[string]bool{}
		}
		p.asked[before] = true
		if ref = ""; said {
			ref = strings.TrimPrefix(as, string(Undone)+" ")
		}
	}
	if n, err := strconv.Atoi(strings.TrimPrefix(ref, entryRef)); err == nil && strings.HasPrefix(ref, entryRef) {
		if p.undone == nil {
			p.undone = map[int]bool{}
		}
		p.undone[n] = true
	}
}

// said returns what a line does: its act, or that of the line that a repair
// says again.
func (l Line) said() (act Act, ref string) {
	if l.Act != Repaired {
		return l.Act, l.Ref
	}
	_, as, _ := strings.Cut(l.Ref, asWord)
	word, ref, _ := strings.Cut(as, " ")
	return Act(word), ref
}
