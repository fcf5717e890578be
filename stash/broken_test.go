package stash

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// written returns a ledger with five entries: SR-1 +100, SR-2 +200, SR-3 +300,
// a take of 40 and 70 of the first two with 20 extra each, SR-1 +7.
func written(t *testing.T) *Ledger {
	t.Helper()
	ctx, l := context.Background(), fresh(t)
	for i := range 3 {
		_, err := l.Add(ctx, day, Amount{Key: modelKeys[i], Drills: 100 * (i + 1)})
		require.NoError(t, err)
	}
	_, err := l.Take(ctx, day, modelKits[0], How{})
	require.NoError(t, err)
	_, err = l.Add(ctx, day, Amount{Key: modelKeys[0], Drills: 7})
	require.NoError(t, err)
	return l
}

// change edits the file by hand.
func edit(t *testing.T, l *Ledger, how func(lines []string) []string) *Ledger {
	t.Helper()
	text, err := os.ReadFile(l.Path())
	require.NoError(t, err)
	lines := how(strings.SplitAfter(strings.TrimSuffix(string(text), "\n"), "\n"))
	require.NoError(t, os.WriteFile(l.Path(), []byte(strings.Join(lines, "")+"\n"), 0o644))
	again, err := Open(l.Path())
	require.NoError(t, err)
	return again
}

func counts(l *Ledger) (n [3]int) {
	for i := range n {
		n[i] = l.Lot(modelKeys[i]).Drills
	}
	return n
}

func TestALineChangedByHand(t *testing.T) {
	ctx := context.Background()
	l := edit(t, written(t), func(lines []string) []string {
		lines[2] = strings.Replace(lines[2], ",200,", ",250,", 1)
		return lines
	})
	require.Len(t, l.Faults(), 1)
	f := l.Faults()[0]
	assert.Equal(t, "line 3: it is not as it was written: its checksum does not fit", f.String())
	require.NotNil(t, f.Says)
	assert.Equal(t, 250, f.Says.Drills)
	assert.Equal(t, [3]int{47, -90, 300}, counts(l), "the rest stays readable")
	assert.NotContains(t, l.Owned("seaside", "square", 2500), "SR-2", "nobody owns less than nothing")

	for name, do := range map[string]func() error{
		"take":   func() error { _, err := l.Take(ctx, day, modelKits[1], How{Partly: true}); return err },
		"return": func() error { _, err := l.Return(ctx, day, modelKits[0], Back{}); return err },
		"undo":   func() error { _, _, err := l.Undo(ctx, day); return err },
	} {
		assert.ErrorContains(t, do(), name+" has to wait, as "+l.Path()+" is broken: line 3: ")
	}
	_, err := l.Add(ctx, day, Amount{Key: modelKeys[2], Drills: 1})
	require.NoError(t, err, "what comes in need not wait")

	_, err = l.Repair(ctx, day, Verdict{f, true})
	require.NoError(t, err)
	assert.Empty(t, l.Faults())
	assert.Equal(t, [3]int{47, 160, 301}, counts(l))
	text, err := os.ReadFile(l.Path())
	require.NoError(t, err)
	assert.Contains(t, string(text), ",250,", "the broken line stays")
	_, err = l.Repair(ctx, day, Verdict{f, true})
	require.NoError(t, err)
	assert.Equal(t, [3]int{47, 160, 301}, counts(l), "a second answer changes nothing")
	_, err = l.Take(ctx, day, modelKits[0], How{Again: true})
	require.NoError(t, err)
}

func TestATakeThatWasBrokenIsStillATake(t *testing.T) {
	ctx := context.Background()
	l := edit(t, written(t), func(lines []string) []string {
		for i := range lines {
			if strings.Contains(lines[i], ",take,") {
				lines[i] = strings.Replace(lines[i], "ginger", "Ginger", 1)
			}
		}
		return lines
	})
	require.Len(t, l.Faults(), 2)
	assert.Zero(t, l.KitState(modelKits[0].Mark).Taken.Entry)
	_, err := l.Repair(ctx, day, Verdict{l.Faults()[0], true}, Verdict{l.Faults()[1], true})
	require.NoError(t, err)
	assert.Equal(t, [3]int{47, 110, 300}, counts(l))
	_, err = l.Take(ctx, day, modelKits[0], How{})
	assert.ErrorContains(t, err, "already")
	_, err = l.Return(ctx, day, modelKits[0], Back{All: true})
	require.NoError(t, err)
	assert.Equal(t, [3]int{107, 200, 300}, counts(l))
}

func TestLinesAreMissingSortedOrTwice(t *testing.T) {
	ctx := context.Background()
	l := edit(t, written(t), func(lines []string) []string { return append(lines[:2:2], lines[4:]...) })
	require.Len(t, l.Faults(), 1)
	assert.Equal(t, "lines of the entries 2 to 3 are missing", l.Faults()[0].String())
	assert.ErrorContains(t, func() error { _, _, err := l.Undo(ctx, day); return err }(), "wait")
	_, err := l.Repair(ctx, day, Verdict{l.Faults()[0], false})
	require.NoError(t, err)
	assert.Empty(t, l.Faults())

	l = edit(t, written(t), func(lines []string) []string {
		lines[1], lines[3], lines[4], lines[5] = lines[5], lines[4], lines[3], lines[1]
		return append(lines, "\n"+lines[2]+"\r\n\n")
	})
	assert.Empty(t, l.Faults(), "sorted by a person, a line copied, the lines' ends changed")
	assert.Equal(t, [3]int{47, 110, 300}, counts(l))
	_, err = l.Take(ctx, day, modelKits[0], How{})
	assert.ErrorContains(t, err, "already")

	// The file on two machines, both with an entry 6, put together.
	a := written(t)
	text, err := os.ReadFile(a.Path())
	require.NoError(t, err)
	_, err = a.Add(ctx, day, Amount{Key: modelKeys[0], Drills: 1})
	require.NoError(t, err)
	b, err := Open(filepath.Join(t.TempDir(), "b.csv"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(b.Path(), text, 0o644))
	_, err = b.Add(ctx, day, Amount{Key: modelKeys[1], Drills: 2})
	require.NoError(t, err)
	more, err := os.ReadFile(b.Path())
	require.NoError(t, err)
	l = edit(t, a, func(lines []string) []string {
		return append(lines, "\n"+string(bytes.TrimPrefix(more, text)))
	})
	require.Len(t, l.Faults(), 1)
	assert.Contains(t, l.Faults()[0].String(), "entry 6 stands there twice")
	_, err = l.Repair(ctx, day, Verdict{l.Faults()[0], true})
	require.NoError(t, err)
	assert.Equal(t, [3]int{48, 112, 300}, counts(l))
}

func TestASpreadsheetSavedIt(t *testing.T) {
	l := edit(t, written(t), func(lines []string) []string {
		lines[0] = "\ufeff" + lines[0]
		for i, line := range lines { // every field in quotes, ends of Windows
			lines[i] = `"` + strings.ReplaceAll(strings.TrimSpace(line), ",", `","`) + "\"\r\n"
		}
		lines[0] = "\ufeff" + header + "\r\n"
		return lines
	})
	assert.Empty(t, l.Faults())
	assert.Equal(t, [3]int{47, 110, 300}, counts(l))
	_, err := l.Add(context.Background(), day, Amount{Key: modelKeys[0], Drills: 3})
	require.NoError(t, err)
	assert.Equal(t, [3]int{50, 110, 300}, counts(l))
}

func TestAnotherFileIsLeftAlone(t *testing.T) {
	for name, text := range map[string]string{
		"a table":       "code,drills\nSR-1,5\n",
		"a novel":       "It was a dark\nand stormy night",
		"bytes":         "\x7fELF\x00\x00\x00\n\x01",
		"one empty row": "\n",
	} {
		path := filepath.Join(t.TempDir(), Name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		_, err := Open(path)
		assert.ErrorContains(t, err, "is no stash", name)
		l := &Ledger{path: path, disk: system{}, parsed: &parsed{}}
		_, err = l.Add(context.Background(), day, Amount{Key: modelKeys[0], Drills: 3})
		assert.ErrorContains(t, err, "is no stash", name)
		is, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, text, string(is))
	}
}

// A torn end is cut off, told, and kept aside; every length of it is healed.
func TestTornAtEveryByte(t *testing.T) {
	l := written(t)
	whole, err := os.ReadFile(l.Path())
	require.NoError(t, err)
	ends := map[int]bool{}
	want := map[int][3]int{0: {}, 1: {100}, 2: {100, 200}, 3: {100, 200, 300}, 4: {40, 110, 300}, 5: {47, 110, 300}}
	for i, c := range whole {
		if c == '\n' {
			ends[i] = true
		}
	}
	for n := range whole {
		p, ok := parse(whole[:n])
		require.True(t, ok)
		entry := 0
		if len(p.recs) > 0 {
			entry = p.recs[len(p.recs)-1].entry
		}
		got := [3]int{}
		for i := range got {
			got[i] = (&Ledger{parsed: p}).Lot(modelKeys[i]).Drills
		}
		require.Equal(t, want[entry], got, "%d bytes", n)
		require.Empty(t, p.faults, "%d bytes", n)
		if n > 0 && p.good == n && !p.open {
			require.Equal(t, byte('\n'), whole[n-1])
		}
	}
	cutAt := bytes.Index(whole, []byte(",take,")) + 30
	require.NoError(t, os.WriteFile(l.Path(), append(whole[:cutAt:cutAt], 0, 0, 0), 0o644))
	l, err = Open(l.Path())
	require.NoError(t, err)
	assert.Equal(t, []string{"the last entry was stopped before it was written to its end, and does not count"}, l.Notes())
	_, err = l.Take(context.Background(), day, modelKits[0], How{})
	require.NoError(t, err)
	assert.Equal(t, [3]int{40, 110, 300}, counts(l))
	assert.Contains(t, fmt.Sprint(l.Notes()), "the torn piece was moved to "+l.Path()+".torn")
	aside, err := os.ReadFile(l.Path() + ".torn")
	require.NoError(t, err)
	assert.Contains(t, string(aside), ",take,")
}

func TestClocksThatJump(t *testing.T) {
	ctx, l := context.Background(), fresh(t)
	for _, date := range []string{"2026-11-26", "2019-01-01", "2026-11-27"} {
		_, err := l.Add(ctx, date, Amount{Key: modelKeys[0], Drills: 5})
		require.NoError(t, err)
	}
	assert.Equal(t, []string{"today is 2019-01-01 by this machine's clock, and the entry before is of 2026-11-26: entries count in the order they were written"}, l.Notes())
	was, _, err := l.Undo(ctx, day)
	require.NoError(t, err)
	assert.Equal(t, "2026-11-27", was[0].Date, "the last one written")
	_, err = l.Add(ctx, "26.11.2026", Amount{Key: modelKeys[0], Drills: 5})
	assert.ErrorContains(t, err, "its date is none")
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(header + "\n"))
	var text []byte
	text = append(text, header+"\n"...)
	x := Line{Entry: 1, Part: 1, Parts: 2, Date: day, Act: Added, Key: modelKeys[0], Drills: 5, Counted: -1, Place: `a "b", c`}
	text = x.append(text)
	x.Part, x.Note = 2, "=1"
	text = x.append(text)
	f.Add(text)
	f.Add(text[:len(text)-5])
	f.Add(append(text, 0, 0, '\n'))
	f.Add([]byte(header + "\n1,1,1,\"2026-11-26\",add,,,,,,,,,,,,,x00000000\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, ok := parse(data)
		if !ok {
			return
		}
		if p.good > len(data) {
			t.Fatal("more is whole than there is")
		}
		for _, r := range p.recs { // what reads must write and read again
			l := p.read(r)
			l.Entry, l.Part, l.Parts = 1, 1, 1
			q, ok := parse(append([]byte(header+"\n"), l.append(nil)...))
			if !ok || len(q.recs) != 1 {
				t.Fatalf("%+v does not read back", l)
			}
			if again := q.read(q.recs[0]); again != l {
				t.Fatalf("%+v reads back as %+v", l, again)
			}
		}
	})
}
