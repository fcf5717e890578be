package kit

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/internal/wording"
	"kitwright/palettes"
)

// hostile is a file that must be refused with a sentence.
type hostile struct {
	name string
	data string
}

// hostileKits are kit.json files that no kit could be, most of them the small
// kit with one thing changed.
func hostileKits(t testing.TB) (all []hostile) {
	var b bytes.Buffer
	require.NoError(t, small(t).WriteJSON(&b))
	good := b.String()
	add := func(name, data string) { all = append(all, hostile{name, data}) }
	// change sets the value at a path such as legend.0.code.
	change := func(path string, values ...any) {
		for _, v := range values {
			var whole map[string]any
			require.NoError(t, json.Unmarshal([]byte(good), &whole))
			var at any = whole
			steps := strings.Split(path, ".")
			for i, step := range steps {
				last := i == len(steps)-1
				switch node := at.(type) {
				case map[string]any:
					_, known := node[step]
					require.True(t, known, path)
					if last {
						node[step] = v
					}
					at = node[step]
				case []any:
					n := int(step[0] - '0')
					if last {
						node[n] = v
					}
					at = node[n]
				}
			}
			data, err := json.Marshal(whole)
			require.NoError(t, err)
			add(path+" = "+wording.Short(fmt.Sprintf("%q", fmt.Sprint(v))), string(data))
		}
	}
	long := strings.Repeat("W", 5000)
	change("version", 0, -1, 2, 1e9, "1", nil, 1.5)
	change("title", "a\nb", "\x1b[31mred", "\x1b]0;owned\x07", "a\u202eb", 5)
	change("drill.shape", "oval", "", nil, 7)
	change("drill.size_mm", 0, -2.5, 1000, 1e308, 3, 0.1, "2.5")
	change("grid.pitch_mm", 0, -2.5, 1000, 1e308, 0.4, 50.1, "2.5mm", []any{})
	change("grid.cols", 0, -3, 4, 2, 3_000_000, 1e18, 2.5, "3")
	change("grid.rows", 0, -2, 1, 1_000_000_000, 1e300)
	change("legend", []any{}, nil, 5, []any{1, 2}, map[string]any{})
	change("legend.0.number", 0, -1, 2, 3, 70_000, "1", nil)
	change("legend.2.number", 1, 2, 4)
	change("legend.0.symbol", "", "a", "==", "<", "\u0000", 5)
	change("legend.0.code", "", " ", "SR-001\nx", "\x1b[2J", long, "a\u2028b", 1)
	change("legend.1.name", "\x07", long, "\u200f\u202e")
	change("legend.1.finish", "A\tB", long)
	change("legend.0.hex", "", "red", "#12345", "#xyzxyz", long, 12)
	change("legend.0.lab", []any{1e308, 0, 0}, []any{-1, 0, 0}, []any{101, 0, 0}, []any{50, 201, 0}, []any{50, 0, -1e9}, "50,0,0", []any{"50", 0, 0})
	change("legend.0.drills", 0, -1, 4, 1e9, 2.5)
	change("cells", nil, 5, "cells", []any{}, map[string]any{}, []any{[]any{}}, []any{[]any{1, 1, 1}, []any{1, 1, 1}, []any{1, 1, 1}},
		[]any{[]any{1, 1, 1}, 5}, []any{[]any{1, []any{1}, 1}, []any{1, 1, 1}}, []any{[]any{"1", 1, 1}, []any{1, 1, 1}},
		[]any{[]any{-1, 1, 1}, []any{1, 1, 1}}, []any{[]any{1.5, 1, 1}, []any{1, 1, 1}}, []any{[]any{1e20, 1, 1}, []any{1, 1, 1}})
	change("order", 5, []any{}, map[string]any{"colors": 30},
		map[string]any{"rare": "NaN"}, map[string]any{"drill": "hexagon"}, map[string]any{"border": "-4"}, map[string]any{"colors": "1e9"})
	change("quality", "good", map[string]any{"mean_miss": "1"})
	change("stopped", "no", 1)
	change("advice", "none", []any{5})

	first, _, _ := strings.Cut(strings.Split(good, `"symbol": "`)[1], `"`)
	change("legend.1.symbol", first)
	twice := strings.Replace(good, `"SR-003"`, `"SR-001"`, 1)
	add("a code twice", twice)
	add("cells twice", strings.Replace(good, `"cells": [`, `"cells": [[1]], "cells": [`, 1))
	add("no cells", strings.Replace(good, `"cells": [`, `"drills": [`, 1))
	add("something behind it", good+"x")
	add("two kits", good+good)
	add("a list", "["+good+"]")
	add("nothing", "")
	add("blanks", "   \n\n  ")
	add("a word", "null")
	add("a number", "5")
	add("an empty object", "{}")
	add("text in UTF-16", "\xff\xfe{\x00}\x00")
	add("broken UTF-8 in the title", strings.Replace(good, `"title": "`, `"title": "`+"\xff\x1b", 1))
	add("cut off", good[:len(good)/2])
	add("zeros", strings.Repeat("\x00", 1<<16))
	add("deep lists", strings.Repeat("[", 20_000)+strings.Repeat("]", 20_000))
	add("deep objects in the head", strings.Replace(good, `"advice": null`, `"advice": `+strings.Repeat(`{"a":`, 9_000)+"1"+strings.Repeat("}", 9_000), 1))
	add("deep cells", `{"version":1,"cells":`+strings.Repeat("[", 9_000)+strings.Repeat("]", 9_000)+"}")
	add("a comment", "// mine\n"+good)
	add("300,000 colors", strings.Replace(good, `"legend": [`, `"legend": [`+strings.Repeat("{},", 300_000), 1))
	add("as many colors as the head holds", strings.Replace(good, `"legend": [`, `"legend": [`+strings.Repeat("{},", 330_000), 1))
	var settings strings.Builder
	for i := range 70_000 {
		fmt.Fprintf(&settings, `"%d":"",`, i)
	}
	add("70,000 settings", strings.Replace(good, `"order": {`, `"order": {`+settings.String(), 1))
	advice := strings.Repeat(`"",`, 330_000)
	add("330,000 pieces of advice", strings.Replace(good, `"advice": null`, `"advice": [`+advice+`""]`, 1))
	add("a long title", strings.Replace(good, `"title": "`, `"title": "\n`+strings.Repeat("W", 900_000), 1))
	add("8 million cells in a row", strings.Replace(good, `"cells": [`, `"cells": [[`+strings.Repeat("1,", 8_000_000)+"1],", 1))
	add("8 million rows", strings.Replace(good, `"cells": [`, `"cells": [`+strings.Repeat("[],", 8_000_000), 1))
	add("numbers that never end", strings.Replace(good, `"cells": [`, `"cells": [[`+strings.Repeat("1", 8_000_000)+"],", 1))
	add("larger than any", `{"version":1,"cells":[`+strings.Repeat("[1],", maxJSON/4)+"[1]]}")
	add("blanks without end", strings.Repeat(" ", maxJSON+1))
	return all
}

// hostileCards are cards that no one could choose from.
func hostileCards() (all []hostile) {
	add := func(name, data string) { all = append(all, hostile{name, data}) }
	const head = "code,name,finish,hex,L,a,b\n"
	for _, line := range []string{
		"SR-1,sand,,#zzz,,,", "SR-1,sand,,,,,", "SR-1,sand,,,50,0,", "SR-1,sand,,,NaN,0,0", "SR-1,sand,,,Inf,0,0", "SR-1,sand,,,1e308,0,0",
		"SR-1,sand,,,50,500,0", "SR-1,sand,,,-1,0,0", "SR-1,sand,,#ffffff,10,0,0", ",sand,,#c86432,,,x", "SR-1,\"open,,#c86432,,,", "SR-1,s\x1b[31m,,#c86432,,,",
		"SR-1,sand,A\x07B,#c86432,,,", "SR\x00,sand,,#c86432,,,", strings.Repeat("S", 41) + ",sand,,#c86432,,,", "SR-1," + strings.Repeat("s", 121) + ",,#c86432,,,",
		"SR-1,sand,,#c86432,,,\nSR-1,other,,#c86433,,,", "SR-1,sand,,#c86432,,,\nsr-1,other,,#c86433,,,", "SR-1,sand,,#c86432,,,,,,x", "SR-1,a\u202eb,,#c86432,,,",
	} {
		add(fmt.Sprintf("%.50q", line), head+line+"\n")
	}
	add("nothing", "")
	add("a header alone", head)
	add("no header", "SR-1,sand,,#c86432\n")
	add("a column twice", "code,code,hex\na,b,#c86432\n")
	add("binary", "\x7fELF\x00\x01")
	add("UTF-16", "\xff\xfec\x00o\x00")
	add("Latin-1", "code,name,hex\nA,caf\xe9,#c86432\n")
	add("a hundred thousand colors", head+strings.Repeat("SR-1,sand,,#c86432,,,\n", 100_000))
	add("too many colors", func() string {
		var b strings.Builder
		b.WriteString("code,hex\n")
		for i := range palettes.MaxDrills + 1 {
			fmt.Fprintf(&b, "SR-%d,#c86432\n", i)
		}
		return b.String()
	}())
	add("a long line", "code,hex\nA,"+strings.Repeat("#", 3<<20))
	add("a long code", "code,hex\n"+strings.Repeat("S", 3<<20)+",#c86432")
	add("too large", "code,hex\n"+strings.Repeat("# \n", 4<<20))
	return all
}

// Each hostile file is refused with a clear sentence that holds no control
// character and no name of a Go type, for at most 300 MB of memory: all that is
// ever allocated counts, so that no garbage collector can flatter it. (The time
// is BenchmarkHostile's.)
func TestHostileFiles(t *testing.T) {
	checker.Slow(t)
	kits, cards := hostileKits(t), hostileCards()
	assert.GreaterOrEqual(t, len(kits)+len(cards), 150)
	for i, h := range append(kits, cards...) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		var err error
		if i < len(kits) {
			_, err = ReadJSON(strings.NewReader(h.data))
		} else {
			_, err = palettes.Read("mine.csv", strings.NewReader(h.data))
		}
		runtime.ReadMemStats(&after)
		assert.LessOrEqual(t, after.TotalAlloc-before.TotalAlloc, uint64(300_000_000), h.name)

		var said *say.Error
		if !assert.True(t, errors.As(err, &said), "%s: %v", h.name, err) {
			continue
		}
		for _, s := range []string{said.What, said.Try} {
			assert.NotEmpty(t, s, h.name)
			assert.LessOrEqual(t, len(s), 300, h.name)
			assert.NotContains(t, s, "json:", h.name)
			assert.NotContains(t, s, "struct", h.name)
			assert.NotContains(t, s, "kit.file", h.name)
			assert.Equal(t, -1, strings.IndexFunc(s, unicode.IsControl), "%s: %q", h.name, s)
		}
		if testing.Verbose() {
			t.Logf("%-40s %s", h.name, said.What)
		}
	}
}

// BenchmarkHostile reports the slowest of the hostile files: the aim is 2 s of
// one core.
func BenchmarkHostile(b *testing.B) {
	kits := hostileKits(b)
	for range b.N {
		worst, name := 0.0, ""
		for _, h := range kits {
			from := time.Now()
			_, _ = ReadJSON(strings.NewReader(h.data)) // refused: the test says so
			if s := time.Since(from).Seconds(); s > worst {
				worst, name = s, h.name
			}
		}
		b.ReportMetric(worst, "s/worst")
		b.Log(name)
	}
}
