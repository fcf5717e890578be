package plan

import (
	"bytes"
	"encoding/csv"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/lab"
	"kitwright/palettes"
)

// picture returns a chart of blobs with confetti over them, the same for the
// same seed.
func picture(t testing.TB, seed uint64, cols, rows, colors int) *chart.Chart {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	cells := make([]uint16, cols*rows)
	for i := range cells {
		x, y := i%cols, i/cols
		cells[i] = uint16((x*5/cols + y*7/rows) % colors)
		switch v := r.IntN(10); {
		case v < 3:
			cells[i] = uint16(r.IntN(colors))
		case v < 6 && x > 0:
			cells[i] = cells[i-1]
		case v < 7 && y > 0:
			cells[i] = cells[i-cols]
		}
	}
	return chartOf(t, cols, rows, colors, cells)
}

func chartOf(t testing.TB, cols, rows, colors int, cells []uint16) *chart.Chart {
	t.Helper()
	card := &palettes.Card{Name: "seaside"}
	chosen := make([]int, colors)
	for i := range colors {
		v := uint8(20 + 200*i/colors)
		card.Drills = append(card.Drills, palettes.Drill{Code: "SR-" + string(rune('A'+i%26)) + string(rune('a'+i/26)), RGB: [3]uint8{v, v, v}, Lab: lab.FromSRGB([3]uint8{v, v, v})})
		chosen[i] = i
	}
	c, err := chart.New(cols, rows, card, chosen, cells)
	require.NoError(t, err)
	return c
}

func usual(pitch measure.Length) Options {
	o := DefaultOptions()
	o.Pitch = pitch
	return o
}

// Whatever the sections, they cover every drill once, and their counts, lone
// drills and presses add up to the chart's.
func TestSectionsAddUp(t *testing.T) {
	for n, size := range []string{"10x10cm", "40x40", "5x5", "37x11", "500x500", "3x20cm", "25x1cm"} {
		for _, grid := range [][2]int{{110, 90}, {33, 47}, {1, 9}, {120, 7}} {
			c := picture(t, uint64(n), grid[0], grid[1], 9)
			o := usual(2500)
			require.NoError(t, o.Section.Set(size))
			p := Of(c, o)
			require.Equal(t, len(p.Sections), p.Across*p.Down)
			covered, placed := make([]int, len(c.Cells)), make([]int, len(c.Cells))
			counts := make([]int, len(c.Legend))
			lone := 0
			for i, s := range p.Sections {
				in := 0
				for y := s.Box.Y; y < s.Box.Y+s.Box.H; y++ {
					for x := s.Box.X; x < s.Box.X+s.Box.W; x++ {
						covered[y*c.Cols+x]++
					}
				}
				presses, set, pressed := 0, map[int]int{}, map[int]int{}
				for _, r := range p.Runs(i) {
					for k := range r.Length {
						x, y := r.X+k, r.Y
						if r.Down {
							x, y = r.X, r.Y+k
						}
						if r.Color != int(c.Cells[y*c.Cols+x]) {
							t.Fatalf("%s: %+v is not of one color", s.Name, r)
						}
						placed[y*c.Cols+x]++
					}
					sum := 0
					for _, tip := range r.Tips {
						sum += tip
					}
					require.Equal(t, r.Length, sum)
					set[r.Color] += r.Length
					pressed[r.Color] += len(r.Tips)
				}
				for _, task := range s.Work {
					counts[task.Color] += task.Drills
					in += task.Drills
					lone += task.Lone
					require.Equal(t, task.Drills, set[task.Color], "%s %s", size, s.Name)
					require.Equal(t, task.Presses, pressed[task.Color])
					presses += task.Presses
				}
				require.Equal(t, s.Drills(), in)
				require.Equal(t, s.Presses, presses)
				at, ok := p.Find(s.Name)
				require.True(t, ok, s.Name)
				require.Equal(t, i, at)
			}
			for i, v := range covered {
				if v != 1 || placed[i] != 1 {
					t.Fatalf("drill %d at %s is in %d sections and %d runs", i, size, v, placed[i])
				}
			}
			for i, e := range c.Legend {
				require.Equal(t, e.Count, counts[i])
			}
			require.Equal(t, c.Confetti(), lone)
			order := map[int]bool{}
			for _, i := range p.Order {
				order[i] = true
			}
			require.Len(t, order, len(p.Sections), "every section has its turn")
			require.Len(t, p.Order, len(p.Sections))
		}
	}
}

// Sections of a length have their edges on the canvas's bold lines, every ten
// drills, and are alike; square and round drills come near 10 cm.
func TestSectionsLieOnBoldLines(t *testing.T) {
	for _, pitch := range []measure.Length{2500, 2800, 3000} {
		for n := 12; n < 700; n += 7 {
			cuts := usual(pitch).cuts(n, true)
			short, long := n, 0
			for i, c := range cuts {
				if i > 0 {
					assert.Zero(t, c[0]%10, "%d drills", n)
				}
				if i+1 < len(cuts) {
					short = min(short, c[1]-c[0])
				}
				long = max(long, c[1]-c[0])
			}
			assert.LessOrEqual(t, measure.Length(long)*pitch, 170*measure.Millimeter, "%d drills", n)
			if len(cuts) > 3 {
				assert.Less(t, long-short, 20)
			}
		}
	}
	assert.Equal(t, [][2]int{{0, 40}, {40, 80}, {80, 120}, {120, 160}}, usual(2500).cuts(160, true))
	o := usual(2500)
	require.NoError(t, o.Section.Set("40x30"))
	assert.Equal(t, [][2]int{{0, 40}, {40, 80}, {80, 90}}, o.cuts(90, true), "drills are taken at their word")
	assert.Equal(t, [][2]int{{0, 30}, {30, 60}, {60, 90}}, o.cuts(90, false))
}

func TestSectionNames(t *testing.T) {
	assert.Equal(t, "A1", sectionName(0, 0))
	assert.Equal(t, "Z9", sectionName(25, 8))
	assert.Equal(t, "AA1", sectionName(26, 0))
	assert.Equal(t, "BC12", sectionName(54, 11))
	p := Of(picture(t, 3, 160, 200, 5), usual(2500))
	for _, bad := range []string{"", "B", "3", "E1", "A6", "A0", "A-1", "ÄA1", "A1x", "B 3", "AAAA1", "A99999999999999999999"} {
		_, ok := p.Find(bad)
		assert.False(t, ok, bad)
	}
	i, ok := p.Find("b3")
	require.True(t, ok)
	assert.Equal(t, "B3", p.Sections[i].Name)
}

func TestHeavySectionsAreMarked(t *testing.T) {
	cells := make([]uint16, 80*80)
	for y := range 40 {
		for x := range 40 {
			if (x+y)%4 == 0 && x%2 == 0 {
				cells[y*80+x] = 1
			}
		}
	}
	p := Of(chartOf(t, 80, 80, 2, cells), usual(2500))
	assert.True(t, p.Sections[0].Confetti)
	for _, s := range p.Sections[1:] {
		assert.False(t, s.Confetti, s.Name)
		assert.Zero(t, s.Lone)
	}
}

// The table adds up to the chart as well, and reads back.
func TestPlanCSV(t *testing.T) {
	c := picture(t, 8, 100, 90, 12)
	c.Legend[2].Drill.Code = "=SR-041"
	p := Of(c, usual(2500))
	var b bytes.Buffer
	require.NoError(t, p.WriteCSV(&b))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	counts := map[string]int{}
	for _, row := range rows[1:] {
		n, ok := whole(row[10])
		require.True(t, ok)
		counts[row[8]] += n
	}
	for _, e := range c.Legend {
		code := e.Drill.Code
		if code[0] == '=' {
			code = "'" + code
		}
		assert.Equal(t, e.Count, counts[code])
	}
}

func TestOptionsAreCalm(t *testing.T) {
	var s SectionSize
	for _, bad := range []string{"", "x", "4x4", "40", "40x", "0x40", "40x3000", "9x9mm", "NaNxNaN", "-40x40", "40x40x40", "1e3x40", "600x600cm", "40 drills"} {
		assert.Error(t, s.Set(bad), bad)
	}
	var tips Tips
	for _, bad := range []string{"0", "31", "3,,4", "a", "-3", "3.5", "99999999999"} {
		assert.Error(t, tips.Set(bad), bad)
	}
	require.NoError(t, tips.Set(" 9, 3,4 ,3,1"))
	assert.Equal(t, "3,4,9", tips.String())
	assert.Equal(t, "3, 4 and 9", tips.Words())
	require.NoError(t, tips.Set("none"))
	assert.Equal(t, []int{1}, tips.Sizes())
	o := usual(2500)
	require.NoError(t, o.Section.Set("5x5"))
	big := &chart.Chart{Cols: 400, Rows: 560}
	assert.ErrorContains(t, o.Check(big), "sections")
	assert.NoError(t, usual(2500).Check(big))
}
