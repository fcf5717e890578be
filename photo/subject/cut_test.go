package subject

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

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

// The inverse times the covariance is the unit matrix, and a color far along
// the narrow axis fits worse than one as far along the wide one.
func TestGaussian(t *testing.T) {
	v := [6]float64{9, 2, 1, 5, -1, 3}
	g := newGaussian(1, [3]float64{50, 0, 0}, v)
	full := func(u [6]float64) [3][3]float64 {
		return [3][3]float64{{u[0], u[1], u[2]}, {u[1], u[3], u[4]}, {u[2], u[4], u[5]}}
	}
	a, b := full(v), full(g.inverse)
	for i := range a {
		for j := range a {
			sum := 0.0
			for k := range a {
				sum += a[i][k] * b[k][j]
			}
			want := 0.0
			if i == j {
				want = 1
			}
			assert.InDelta(t, want, sum, 1e-12)
		}
	}
	// The determinant by hand: 9(15-1) - 2(6+1) + 1(-2-5) = 105.
	assert.InDelta(t, -math.Log(105)/2, g.height, 1e-12)
	var m mixture
	for k := range m {
		m[k].height = math.Inf(-1)
	}
	m[0] = g
	assert.InDelta(t, math.Log(105)/2, m.cost(lab.Color{L: 50}), 1e-12)
	assert.Less(t, m.cost(lab.Color{L: 55}), m.cost(lab.Color{L: 50, B: 5}))
}

func TestKmeansFindsFiveHeaps(t *testing.T) {
	random := dice(3)
	var colors []lab.Color
	var heap []int
	for i := 0; i < 500; i++ {
		h := random.next(5)
		heap = append(heap, h)
		colors = append(colors, lab.Color{L: float64(20*h + random.next(5)), A: float64(30*(h%2) + random.next(5)), B: float64(random.next(5))})
	}
	group := kmeans(colors)
	name := map[int]uint8{}
	for i, h := range heap {
		if g, ok := name[h]; ok {
			assert.Equal(t, g, group[i])
		}
		name[h] = group[i]
	}
	assert.Len(t, name, 5)
	assert.Equal(t, make([]uint8, 3), kmeans(make([]lab.Color, 3)), "all alike")
}

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
		m := Cut(l, photo.Ellipse{X: 27, Y: 20, W: 46, H: 66})
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
			m := Cut(l, e)
			assert.Len(t, m.In, len(l.Cells), "%v %v", size, e)
		}
	}
}
