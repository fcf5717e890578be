package roll

import (
	"context"
	"fmt"
	"math/rand"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// sound checks a plan by its definition: every item once, inside the roll, none
// over another, stretches as long as they are said to be.
func sound(t testing.TB, width, most int64, items []Item, p *Plan) {
	t.Helper()
	seen := make([]bool, len(items))
	var all int64
	require.Len(t, p.Long, len(p.Runs))
	for r, run := range p.Runs {
		var long int64
		for i, a := range run {
			require.False(t, seen[a.Item], "once")
			seen[a.Item] = true
			w, h := lies(items, a)
			require.True(t, !a.Turned || items[a.Item].Turn)
			require.True(t, a.X >= 0 && a.Y >= 0 && a.X+w <= width, "inside")
			long = max(long, a.Y+h)
			for _, b := range run[:i] {
				bw, bh := lies(items, b)
				require.False(t, a.X < b.X+bw && b.X < a.X+w && a.Y < b.Y+bh && b.Y < a.Y+h, "%v over %v", a, b)
			}
		}
		require.Equal(t, long, p.Long[r])
		require.LessOrEqual(t, long, most)
		all += long
	}
	require.Equal(t, all, p.Length)
	require.LessOrEqual(t, p.Bound, p.Length)
	require.NotContains(t, seen, false)
}

func lies(items []Item, a Placed) (w, h int64) {
	if a.Turned {
		return items[a.Item].H, items[a.Item].W
	}
	return items[a.Item].W, items[a.Item].H
}

func pack(t testing.TB, width, most int64, items []Item, e Effort) *Plan {
	t.Helper()
	p, err := Pack(context.Background(), width, most, items, e)
	require.NoError(t, err)
	sound(t, width, most, items, p)
	return p
}

// shortest tries every place of every item on a grid of whole units, item by
// item: nothing of the search's own.
func shortest(width int64, items []Item, known int64) int64 {
	taken := make([][]bool, known)
	for y := range taken {
		taken[y] = make([]bool, width)
	}
	best := known
	var try func(i int, long int64)
	try = func(i int, long int64) {
		if long >= best {
			return
		}
		if i == len(items) {
			best = long
			return
		}
		for turn := range 2 {
			w, h := items[i].W, items[i].H
			if turn == 1 {
				if w, h = h, w; !items[i].Turn || w == h {
					continue
				}
			}
			for y := int64(0); y+h < best; y++ {
				for x := int64(0); x+w <= width; x++ {
					free := true
					for v := y; v < y+h && free; v++ {
						for u := x; u < x+w && free; u++ {
							free = !taken[v][u]
						}
					}
					if !free {
						continue
					}
					fill(taken, x, y, w, h, true)
					try(i+1, max(long, y+h))
					fill(taken, x, y, w, h, false)
				}
			}
		}
	}
	try(0, 0)
	return best
}

func fill(taken [][]bool, x, y, w, h int64, v bool) {
	for ; h > 0; h-- {
		for u := x; u < x+w; u++ {
			taken[y+h-1][u] = v
		}
	}
}

func some(r *rand.Rand, n int, width, side int64) []Item {
	items := make([]Item, n)
	for i := range items {
		items[i] = Item{1 + r.Int63n(min(width, side)), 1 + r.Int63n(side), r.Intn(2) == 0}
	}
	return items
}

// On small problems the length is what trying everything gives.
func TestShortestAsByTryingEverything(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	tries, searched := 400, 0
	if testing.Short() {
		tries = 60
	}
	for range tries {
		width := 3 + r.Int63n(4)
		items := some(r, 2+r.Intn(4), width, 4)
		p := pack(t, width, 1000, items, Effort{Orders: 1})
		want := shortest(width, items, p.Length)
		require.Equal(t, want, p.Length, "%d: %v", width, items)
		require.True(t, p.Proven(), "%d: %v", width, items)
		q := &packing{ctx: context.Background(), width: width, most: 1000, items: items}
		bound := q.bound(p.Length)
		require.LessOrEqual(t, bound, want, "the bound holds: %d: %v", width, items)
		if bound < want {
			searched++
		}
		// The search alone, from one above the other on.
		q.effort(Effort{})
		far := &Plan{}
		for _, it := range items {
			far.Length += it.H
		}
		require.Equal(t, want, q.exact(far, 0), "%d: %v", width, items)
	}
	assert.Positive(t, searched, "some took the search")
}

// The same by an integer program that glpsol solves: for each pair of items one
// lies left of, right of, below or above the other.
func TestShortestAsBySolver(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: solves integer programs")
	}
	checker.Need(t, "glpsol")
	r := rand.New(rand.NewSource(7))
	for range 12 {
		width := 40 + r.Int63n(40)
		items := some(r, 5, width, 40)
		p := pack(t, width, 1000, items, Effort{})
		require.True(t, p.Proven())
		var v float64
		report := checker.GLPK(t, stripProgram(width, items))
		at := strings.Index(report, "Objective:")
		_, err := fmt.Sscanf(report[strings.Index(report[at:], "=")+at+1:], "%g", &v)
		require.NoError(t, err)
		assert.EqualValues(t, v, p.Length, "%d: %v", width, items)
	}
}

// stripProgram writes strip packing in the LP format.
func stripProgram(width int64, items []Item) string {
	var b, binary strings.Builder
	var tall int64
	for _, it := range items {
		tall += max(it.W, it.H)
	}
	fmt.Fprintln(&b, "Minimize\n length: L\nSubject To")
	w := func(i int) (plus string, fixed int64) { // turned by t_i: w + (h-w) t
		return fmt.Sprintf("%+d t%d", items[i].H-items[i].W, i), items[i].W
	}
	h := func(i int) (plus string, fixed int64) {
		return fmt.Sprintf("%+d t%d", items[i].W-items[i].H, i), items[i].H
	}
	for i := range items {
		plus, fixed := w(i)
		fmt.Fprintf(&b, " x%d %s <= %d\n", i, plus, width-fixed)
		plus, fixed = h(i)
		fmt.Fprintf(&b, " y%d %s - L <= %d\n", i, plus, -fixed)
		if !items[i].Turn {
			fmt.Fprintf(&b, " t%d = 0\n", i)
		}
		fmt.Fprintf(&binary, " t%d\n", i)
		for j := range items {
			if i == j {
				continue
			}
			plus, fixed := w(i) // l_ij: i left of j
			fmt.Fprintf(&b, " x%d %s - x%d + %d l%d_%d <= %d\n", i, plus, j, 2*width, i, j, 2*width-fixed)
			plus, fixed = h(i)
			fmt.Fprintf(&b, " y%d %s - y%d + %d b%d_%d <= %d\n", i, plus, j, tall, i, j, tall-fixed)
			if i < j {
				fmt.Fprintf(&b, " l%d_%d + l%d_%d + b%d_%d + b%d_%d >= 1\n", i, j, j, i, i, j, j, i)
			}
			fmt.Fprintf(&binary, " l%d_%d\n b%d_%d\n", i, j, i, j)
		}
	}
	return b.String() + "Binary\n" + binary.String() + "End\n"
}

// Every function is dual feasible: parts that fit together have values that do.
func TestDualsAreFeasible(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for whole := int64(2); whole <= 24; whole++ {
		count := map[int64]int64{}
		for range 1 + r.Intn(8) {
			count[1+r.Int63n(whole)] = 1 + r.Int63n(3)
		}
		var sizes, number []int64
		for x := int64(1); x <= whole; x++ {
			if count[x] > 0 {
				sizes, number = append(sizes, x), append(number, count[x])
			}
		}
		all := duals(sizes, number, whole)
		require.Greater(t, len(all), mostSteps)
		var try func(at int, room int64, sums []int64)
		try = func(at int, room int64, sums []int64) {
			if at == len(sizes) {
				for i, d := range all {
					require.LessOrEqual(t, sums[i], d.whole, "function %d of %v in %d", i, sizes, whole)
				}
				return
			}
			for n := int64(0); n <= number[at] && n*sizes[at] <= room; n++ {
				with := make([]int64, len(sums))
				for i := range sums {
					with[i] = sums[i] + n*all[i].of[at]
				}
				try(at+1, room-n*sizes[at], with)
			}
		}
		try(0, whole, make([]int64, len(all)))
	}
}

// Squares that fill the roll without a gap: the length is known, and is found
// and proven (a perfect rectangle of nine squares, 33 x 32, Moroń 1925).
func TestPerfectRectangle(t *testing.T) {
	var items []Item
	for _, side := range []int64{18, 15, 14, 10, 9, 8, 7, 4, 1} {
		items = append(items, Item{W: side, H: side})
	}
	assert.Equal(t, int64(33), pack(t, 32, 1000, items, Effort{}).Length)
	p := pack(t, 33, 1000, items, Effort{})
	assert.Equal(t, int64(32), p.Length)
	assert.True(t, p.Proven())
}

// A pinwheel: four strips about a square, which can lie nowhere but in the
// middle, so that the rule of the lower left quarter just lets it.
func TestPinwheel(t *testing.T) {
	q := &packing{ctx: context.Background(), width: 5, most: 1000, items: []Item{{W: 3, H: 3}, {W: 4, H: 1}, {W: 4, H: 1}, {W: 1, H: 4}, {W: 1, H: 4}}}
	q.effort(Effort{})
	assert.Equal(t, int64(5), q.exact(&Plan{Length: 13}, 0))
}

func TestLongRollsAreCutIntoStretches(t *testing.T) {
	var items []Item
	for i := range 40 {
		items = append(items, Item{W: 400_000 + int64(i%5)*50_000, H: 500_000 + int64(i%7)*20_000, Turn: i%2 == 0})
	}
	p := pack(t, 1_067_000, 5_000_000, items, Effort{Orders: 50})
	assert.Greater(t, len(p.Runs), 1)
	assert.Positive(t, p.Bound)
	again := pack(t, 1_067_000, 5_000_000, items, Effort{Orders: 50})
	assert.Equal(t, p, again, "the same each time")
}

func TestStoppedKeepsWhatItHas(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	items := some(rand.New(rand.NewSource(2)), 12, 60, 50)
	p, err := Pack(ctx, 60, 1000, items, Effort{})
	require.ErrorIs(t, err, context.Canceled)
	sound(t, 60, 1000, items, p)
	assert.Panics(t, func() { _, _ = Pack(context.Background(), 10, 1000, []Item{{W: 11, H: 1}}, Effort{}) })
	assert.NotPanics(t, func() { _, _ = Pack(context.Background(), 10, 1000, []Item{{W: 11, H: 1, Turn: true}}, Effort{}) })
	none, err := Pack(context.Background(), 10, 1000, nil, Effort{})
	require.NoError(t, err)
	assert.Zero(t, none.Length)
}
