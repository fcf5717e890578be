package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slowFewest searches every way to lay pieces into a row of n drills.
func slowFewest(sizes []int, n int) int {
	if n == 0 {
		return 0
	}
	best := n
	for _, s := range sizes {
		if s <= n {
			best = min(best, 1+slowFewest(sizes, n-s))
		}
	}
	return best
}

func TestRunsAreCoveredWithTheFewestPresses(t *testing.T) {
	for _, text := range []string{"none", "3", "3,4,6,9", "5,7", "2,3,5", "3,5,7", "4,9", "7,8,15", "2,30"} {
		var tips Tips
		require.NoError(t, tips.Set(text))
		p := newPresses(tips)
		for n := range 19 {
			require.Equal(t, slowFewest(tips.Sizes(), n), p.fewest(n), "%d by %s", n, text)
			cover, sum := p.cover(n), 0
			for _, s := range cover {
				require.Contains(t, tips.Sizes(), s)
				sum += s
			}
			require.Equal(t, n, sum)
			require.Len(t, cover, p.fewest(n))
		}
	}
	// Ten by 5 and 7: the largest first would take 7, 1, 1, 1.
	assert.Equal(t, []int{5, 5}, newPresses(tipsOf(5, 7)).cover(10))
}

// slowPatches covers every connected patch of a color with straight pieces, all
// along rows or all along columns, by trying every piece at the first drill
// that is still bare.
func slowPatches(cells []int, w, h int, sizes []int) (total int) {
	seen := make([]bool, len(cells))
	for start := range cells {
		if seen[start] {
			continue
		}
		var patch []int
		var flood func(x, y int)
		flood = func(x, y int) {
			if x < 0 || y < 0 || x >= w || y >= h || seen[y*w+x] || cells[y*w+x] != cells[start] {
				return
			}
			seen[y*w+x] = true
			patch = append(patch, y*w+x)
			flood(x+1, y)
			flood(x, y+1)
			flood(x-1, y)
			flood(x, y-1)
		}
		flood(start%w, start/w)
		best := len(patch)
		for _, down := range []bool{false, true} {
			bare := map[int]bool{}
			for _, i := range patch {
				bare[i] = true
			}
			best = min(best, slowCover(bare, w, down, sizes, best))
		}
		total += best
	}
	return total
}

func slowCover(bare map[int]bool, w int, down bool, sizes []int, limit int) int {
	if len(bare) == 0 {
		return 0
	}
	if limit <= 0 {
		return 1 << 20
	}
	first := -1
	for i := range bare {
		if first < 0 || i < first {
			first = i
		}
	}
	step := 1
	if down {
		step = w
	}
	best := 1 << 20
	for _, s := range sizes {
		fits := true
		for k := range s {
			i := first + k*step
			if !bare[i] || !down && i/w != first/w {
				fits = false
			}
		}
		if !fits {
			continue
		}
		for k := range s {
			delete(bare, first+k*step)
		}
		best = min(best, 1+slowCover(bare, w, down, sizes, min(limit, best)-1))
		for k := range s {
			bare[first+k*step] = true
		}
	}
	return best
}

// The presses of whole sections against a slow exact search.
func TestPressesAgainstASlowSearch(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 2))
	fewer := 0
	for n := range 120 {
		const w, h = 7, 6
		cells, in := make([]int, w*h), make([]uint16, w*h)
		for i := range cells {
			cells[i] = r.IntN(3)
			if i >= w && r.IntN(3) > 0 {
				cells[i] = cells[i-w]
			}
			in[i] = uint16(cells[i])
		}
		o := usual(2500)
		o.Tips = []Tips{tipsOf(3), tipsOf(3, 4, 6), tipsOf(2, 5), 0}[n%4]
		require.NoError(t, o.Section.Set("50x50"))
		p := Of(chartOf(t, w, h, 3, in), o)
		require.Equal(t, slowPatches(cells, w, h, o.Tips.Sizes()), p.Presses(), "case %d: %v", n, cells)
		if p.Presses() < w*h {
			fewer++
		}
	}
	assert.Equal(t, 90, fewer, "all but those without a multi-placer")
}
