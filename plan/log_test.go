package plan

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func logOf(t testing.TB, text string) *Log {
	t.Helper()
	l, err := ReadLog(strings.NewReader(text))
	require.NoError(t, err)
	return l
}

// ticked returns the log after everything left of some colors of a section was
// ticked.
func ticked(t testing.TB, p *Plan, text string, minutes int, section string, colors ...int) string {
	t.Helper()
	l := logOf(t, text)
	i, ok := p.Find(section)
	require.True(t, ok)
	tick, err := l.On(p).Mark(Done, i, colors...)
	require.NoError(t, err)
	tick.Minutes = minutes
	return text + string(l.Lines(tick))
}

func TestLogReadsBack(t *testing.T) {
	p := Of(picture(t, 4, 100, 90, 7), usual(2500))
	p.Chart.Legend[1].Drill.Code = "=SR,\"041\""
	text := ticked(t, p, "", 45, "B1")
	text = ticked(t, p, text, 0, "A2", p.Sections[2].Work[1].Color)
	l := logOf(t, text)
	assert.Empty(t, l.Faults)
	require.Len(t, l.Ticks, 2)
	assert.Equal(t, "B1", l.Ticks[0].Section)
	assert.Equal(t, 45, l.Ticks[0].Minutes)
	assert.Equal(t, p.Sections[1].Drills(), l.Ticks[0].Drills())
	assert.Len(t, l.Ticks[0].Marks, len(p.Sections[1].Work))
	again := logOf(t, "")
	back := ""
	for _, tick := range l.Ticks {
		back += string(again.Lines(tick))
		again = logOf(t, back)
	}
	assert.Equal(t, text, back)
	crlf := logOf(t, strings.ReplaceAll(text, "\n", "\r\n"))
	assert.Empty(t, crlf.Faults)
	assert.Equal(t, l.InForce(), crlf.InForce())
}

// However a write was cut off, what was ticked before counts, nothing that was
// not ticked does, and the next tick is whole.
func TestLogCutOffAnywhere(t *testing.T) {
	p := Of(picture(t, 4, 12, 9, 4), usual(2500))
	one := ticked(t, p, "", 0, "A1", 0)
	two := ticked(t, p, one, 20, "A1")
	for n := 0; n <= len(two); n++ {
		for _, junk := range []string{"", "\x00\x00\x00"} {
			l := logOf(t, two[:n])
			if junk != "" && n > 0 {
				l = logOf(t, two[:n]+junk)
			}
			ticks := 0
			if n >= len(one)-1 { // its end of line may be missing
				ticks = 1
			}
			if junk != "" && n == len(one)-1 {
				ticks = 0
			}
			if n >= len(two)-1 && (junk == "" || n == len(two)) {
				ticks = 2
			}
			require.Len(t, l.Ticks, ticks, "%d of %d bytes, %q", n, len(two), junk)
			if junk != "" && n == 0 {
				continue
			}
			i, _ := p.Find("A1")
			g := l.On(p)
			if g.Left() == 0 {
				continue
			}
			tick, err := g.Mark(Done, i)
			require.NoError(t, err)
			after := logOf(t, two[:n]+junk+string(l.Lines(tick)))
			require.Len(t, after.InForce(), ticks+1)
			require.Equal(t, 0, after.On(p).Left())
		}
	}
}

// A damaged line in the middle is named and the rest stays readable.
func TestLogNamesDamagedLines(t *testing.T) {
	p := Of(picture(t, 4, 80, 80, 4), usual(2500))
	text := ""
	for i := range 4 {
		text = ticked(t, p, text, 0, p.Sections[i].Name, p.Sections[i].Work[0].Color)
	}
	lines := strings.SplitAfter(text, "\n")
	lines[2] = strings.Replace(lines[2], "done", "open", 1)
	l := logOf(t, strings.Join(lines, ""))
	assert.Equal(t, []Fault{{3, "it is damaged, or was changed by hand"}}, l.Faults)
	assert.Len(t, l.Ticks, 3)

	// One line of a tick of several: the tick does not count.
	whole := ticked(t, p, "", 0, "A1")
	parts := strings.SplitAfter(whole, "\n")
	require.Greater(t, len(parts), 4)
	l = logOf(t, strings.Join(append(parts[:2:2], parts[3:]...), ""))
	assert.Empty(t, l.Ticks)
	assert.NotEmpty(t, l.Faults)

	_, err := ReadLog(strings.NewReader("code,count\nSR-041,200\n"))
	assert.ErrorContains(t, err, "not as we write it")
	l = logOf(t, lines[0]+"x\n\n,,,\n"+strings.Repeat("9", 5000)+"\n")
	assert.Len(t, l.Faults, 3)
}

// Any order of ticks and undos leaves what a plain stack of sets leaves.
func TestUndoAgainstAPlainModel(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	p := Of(picture(t, 4, 80, 80, 5), usual(2500))
	for range 8 {
		text := ""
		states := [][]bool{make([]bool, len(p.Chart.Cells))}
		for range 25 {
			l := logOf(t, text)
			g := l.On(p)
			now := states[len(states)-1]
			act := Done
			if v := r.IntN(4); v == 0 {
				text += string(l.Lines(Tick{Act: Undo}))
				if len(states) > 1 {
					states = states[:len(states)-1]
				}
				continue
			} else if v == 1 {
				act = Open
			}
			section := r.IntN(len(p.Sections))
			var colors []int
			if r.IntN(2) == 0 {
				colors = []int{r.IntN(5)}
			}
			tick, err := g.Mark(act, section, colors...)
			if err != nil {
				continue
			}
			text += string(l.Lines(tick))
			next := append([]bool(nil), now...)
			b := p.Sections[section].Box
			for i := range next {
				x, y := i%p.Chart.Cols, i/p.Chart.Cols
				if x >= b.X && x < b.X+b.W && y >= b.Y && y < b.Y+b.H && (colors == nil || int(p.Chart.Cells[i]) == colors[0]) {
					next[i] = act == Done
				}
			}
			states = append(states, next)
		}
		g := logOf(t, text).On(p)
		n := 0
		for i, want := range states[len(states)-1] {
			if want != g.IsSet(i%p.Chart.Cols, i/p.Chart.Cols) {
				t.Fatalf("drill %d", i)
			}
			if want {
				n++
			}
		}
		require.Equal(t, n, g.Set())
	}
}

func FuzzReadLog(f *testing.F) {
	p := Of(picture(f, 4, 12, 9, 4), usual(2500))
	f.Add([]byte(ticked(f, p, "", 45, "A1")))
	f.Add([]byte("tick,part\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		l, err := ReadLog(bytes.NewReader(b))
		if err != nil {
			return
		}
		g := l.On(p)
		if g.Set() > p.Drills() || g.Set() < 0 {
			t.Fatal(g.Set())
		}
		after, err := ReadLog(bytes.NewReader(append(b, l.Lines(Tick{Act: Undo})...)))
		if err != nil || len(after.Ticks) != len(l.Ticks)+1 {
			t.Fatalf("an undo behind it is lost: %v", err)
		}
	})
}
