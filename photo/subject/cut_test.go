package subject

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/lab"
	"kitwright/photo"
)

// dice is a fixed sequence of numbers in 0..n-1.
type dice uint32

func (s *dice) next(n int) int {
	*s = *s*1664525 + 1013904223
	return int(*s>>8) % n
}

// The slow, plain maximum flow (shortest augmenting paths, Edmonds and Karp)
// on small random grids: same flow, and a cut of the same worth.
func TestFlowAgainstPlainOne(t *testing.T) {
	random := dice(7)
	for trial := 0; trial < 300; trial++ {
		cols, rows := 1+random.next(5), 1+random.next(5)
		f := newFlow(cols, rows)
		n := cols * rows
		caps := make([][]int32, n+2) // n is the source, n+1 the sink
		for i := range caps {
			caps[i] = make([]int32, n+2)
		}
		for y := 0; y < rows; y++ {
			for x := 0; x < cols; x++ {
				i, p := y*cols+x, f.at(x, y)
				end := int32(random.next(41) - 20)
				f.toEnd[p] = end
				caps[n][i], caps[i][n+1] = max(0, end), max(0, -end)
				for d := range f.offset {
					for _, q := range [][2]int{{x + 1, y}, {x - 1, y}, {x, y + 1}, {x, y - 1}, {x + 1, y + 1}, {x - 1, y - 1}, {x - 1, y + 1}, {x + 1, y - 1}} {
						if q[0] >= 0 && q[0] < cols && q[1] >= 0 && q[1] < rows && f.at(q[0], q[1]) == p+f.offset[d] {
							c := int32(random.next(12))
							f.arc[8*p+d], caps[i][q[1]*cols+q[0]] = c, c
						}
					}
				}
			}
		}
		f.cut()
		var worth int32
		source := func(i int) bool {
			return i == n || i < n && f.tree[f.at(i%cols, i/cols)] == sourceTree
		}
		for i := range caps {
			for j, c := range caps[i] {
				if source(i) && !source(j) {
					worth += c
				}
			}
		}
		assert.Equal(t, plainFlow(caps), worth, "trial %d, %d x %d", trial, cols, rows)
	}
}

func plainFlow(caps [][]int32) (total int32) {
	n := len(caps)
	left := make([][]int32, n)
	for i := range left {
		left[i] = append([]int32(nil), caps[i]...)
	}
	source, sink := n-2, n-1
	for {
		from := make([]int, n)
		for i := range from {
			from[i] = -1
		}
		from[source] = source
		for todo := []int{source}; len(todo) > 0; todo = todo[1:] {
			for j := range left {
				if from[j] < 0 && left[todo[0]][j] > 0 {
					from[j] = todo[0]
					todo = append(todo, j)
				}
			}
		}
		if from[sink] < 0 {
			return total
		}
		push := int32(math.MaxInt32)
		for j := sink; j != source; j = from[j] {
			push = min(push, left[from[j]][j])
		}
		for j := sink; j != source; j = from[j] {
			left[from[j]][j] -= push
			left[j][from[j]] += push
		}
		total += push
	}
}

// all of a picture that is the whole photo.
var all = photo.Ellipse{W: 100, H: 100}

// A disk with ears in noisy colors on a noisy ground that shades: an ellipse
// about the disk alone brings in the ears, and nothing else.
func TestCutOfADrawing(t *testing.T) {
	const cols, rows = 200, 150
	random := dice(11)
	in := func(x, y int) bool {
		return (x-100)*(x-100)+(y-80)*(y-80) < 45*45 || y > 32 && y < 60 && (x > 64 && x < 80 || x > 120 && x < 136)
	}
	for _, light := range []float64{1, 0.02} {
		l := &photo.Linear{Cols: cols, Rows: rows}
		for i := 0; i < cols*rows; i++ {
			x, y := i%cols, i/cols
			c := [3]float64{0.10, 0.25 + float64(y)/1000, 0.30}
			if in(x, y) {
				c = [3]float64{0.5, 0.3, 0.1}
				if x%20 < 6 {
					c = [3]float64{0.25, 0.12, 0.05}
				}
			}
			for k := range c {
				c[k] *= light * (0.8 + float64(random.next(400))/1000)
			}
			l.Cells = append(l.Cells, c)
		}
		m, _ := cut(l, nil, draw(photo.Ellipse{X: 27, Y: 20, W: 46, H: 66}, all, cols, rows))
		wrong := 0
		for i := range m.In {
			if m.In[i] != in(i%cols, i/cols) {
				wrong++
			}
		}
		assert.Less(t, wrong, cols*rows/200, "at light %v", light)
		assert.True(t, m.In[36*cols+72] && m.In[36*cols+128], "the ears")
	}
}

// Odd ellipses and pictures: no panic, and never ground by force inside the
// middle.
func TestCutOfOddOnes(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {2, 1}, {1, 7}, {3, 3}, {40, 30}} {
		l := &photo.Linear{Cols: size[0], Rows: size[1], Cells: make([][3]float64, size[0]*size[1])}
		for _, e := range []photo.Ellipse{{X: 0, Y: 0, W: 100, H: 100}, {X: -50, Y: -50, W: 200, H: 200}, {X: 40, Y: 40, W: 1, H: 1}, {X: 300, Y: 300, W: 10, H: 10}, {X: -500, Y: -500, W: 1100, H: 1100}} {
			m, _ := cut(l, nil, draw(e, all, size[0], size[1]))
			assert.Len(t, m.In, len(l.Cells), "%v %v", size, e)
		}
	}
}

// A forest finds what tells two kinds of cells apart, judges cells it never
// saw, and is the same every time.
func TestForest(t *testing.T) {
	const n = 4000
	random := dice(5)
	data := make([]int16, n*features)
	l := lessons{make([]bool, n), make([]uint8, n), make([]uint8, n)}
	for i := range n {
		for k := range features {
			data[i*features+k] = int16(random.next(1000))
		}
		l.part[i], l.weight[i] = uint8(random.next(8)), 64
		l.says[i] = data[i*features+2] > 400 && data[i*features+7] < 700
		if l.part[i] == 3 {
			l.weight[i] = 0 // nothing is learned from it
		}
	}
	l.balance()
	for _, crossed := range []bool{false, true} {
		f := grow(data, l, crossed)
		wrong, of := 0, 0
		for i := range n {
			if l.part[i] == 3 {
				of++
				if f.share(data[i*features:(i+1)*features], 3) > 2048 != l.says[i] {
					wrong++
				}
			}
		}
		assert.Less(t, wrong*10, of, "crossed %v: %d of %d wrong", crossed, wrong, of)
		assert.Equal(t, f.trees, grow(data, l, crossed).trees)
	}
	for part := range uint8(8) { // each part is judged by half of the trees
		count := 0
		for tree := range forestTrees {
			if judges(tree, part) {
				count++
			}
		}
		assert.Equal(t, forestTrees/2, count)
	}
}

// balance makes both sides weigh alike.
func TestBalance(t *testing.T) {
	l := lessons{[]bool{true, false, false, false, false}, []uint8{20, 20, 20, 40, 0}, make([]uint8, 5)}
	l.balance()
	assert.Equal(t, []uint8{80, 20, 20, 40, 0}, l.weight)
	l = lessons{[]bool{true, true}, []uint8{7, 9}, make([]uint8, 2)}
	l.balance()
	assert.Equal(t, []uint8{7, 9}, l.weight, "one side alone")
}

// The quick means and deviations against the plain ones.
func TestAroundAndUneven(t *testing.T) {
	const cols, rows = 13, 9
	random := dice(8)
	p := make([]int32, cols*rows)
	for i := range p {
		p[i] = int32(random.next(3200))
	}
	for _, reach := range []int{1, 2, 3} {
		mean, dev := around(p, cols, rows, reach), uneven(p, cols, rows, reach)
		for y := range rows {
			for x := range cols {
				var n, sum, squares int64
				for v := max(0, y-reach); v <= min(rows-1, y+reach); v++ {
					for u := max(0, x-reach); u <= min(cols-1, x+reach); u++ {
						w := int64(p[v*cols+u])
						n, sum, squares = n+1, sum+w, squares+w*w
					}
				}
				require.Equal(t, int32(sum/n), mean[y*cols+x])
				want := math.Sqrt(float64(squares)/float64(n) - float64(sum*sum)/float64(n*n))
				require.InDelta(t, want, float64(dev[y*cols+x]), 4, "whole numbers on the way")
			}
		}
	}
}

// What a box says by its place: surely subject in its middle, less outward,
// ground beyond its reach; a side at the photo's edge counts as going on.
func TestDraw(t *testing.T) {
	d := draw(photo.Ellipse{X: 25, Y: 25, W: 50, H: 50}, all, 100, 100)
	at := func(x, y int) int { return y*100 + x }
	assert.Equal(t, int8(1), d.fixed[at(50, 50)])
	assert.Equal(t, int8(0), d.fixed[at(73, 50)])
	assert.Equal(t, int8(-1), d.fixed[at(95, 50)])
	assert.Greater(t, d.pull[at(60, 50)], d.pull[at(70, 50)])
	assert.Greater(t, d.pull[at(70, 50)], d.pull[at(74, 74)], "a corner is less likely than a side")
	assert.Greater(t, d.pull[at(74, 50)], d.pull[at(80, 50)])
	edge := draw(photo.Ellipse{X: 0, Y: 25, W: 50, H: 50}, all, 100, 100)
	assert.Greater(t, edge.pull[at(1, 50)], edge.pull[at(48, 50)])
	assert.Equal(t, ringBegin, d.ring(), "room enough around it")
	full := draw(all, all, 100, 100)
	assert.Less(t, full.ring(), 1.0, "a box around all: its own rim is the ring")
}

// What lies in the box before its side, and is not taken for ground too surely, is
// brought in so that the subject reaches the side; not where the subject reaches
// out of the other side, and not in vain.
func TestReachesTheSides(t *testing.T) {
	const cols, rows = 60, 40
	for _, c := range []struct {
		name     string
		strip    int32 // log odds of what lies before the side
		from, to float64
		reached  bool
	}{
		{"open", -perUnit, 25, 75, true},
		{"too sure", -9 * perUnit, 25, 75, false},
		{"beside the subject", -perUnit, 40, 75, false},
	} {
		box := photo.Ellipse{X: c.from, Y: 25, W: c.to - c.from, H: 50}
		d := draw(box, all, cols, rows)
		colors, score := make([]lab.Color, cols*rows), make([]int32, cols*rows)
		m := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, cols*rows)}
		for i := range score {
			x, y := i%cols, i/cols
			score[i], colors[i] = -8*perUnit, lab.Color{L: 20}
			switch inside := y >= 10 && y < 30 && x >= 15; {
			case inside && x < 40:
				score[i], colors[i], m.In[i] = 4*perUnit, lab.Color{L: 80}, true
			case inside && x < 45:
				score[i], colors[i] = c.strip, lab.Color{L: 80}
			}
		}
		reach(m, score, d, newFlow(cols, rows), linksOf(colors, cols, rows))
		_, _, x1, _ := m.Box()
		assert.Equal(t, c.reached, x1 == 45, "%s: %d", c.name, x1)
		if !c.reached {
			assert.Equal(t, 500, m.Count(), c.name)
		}
	}
	assert.Equal(t, [4]float64{}, draw(all, all, cols, rows).sides, "about the whole photo: none")
}
