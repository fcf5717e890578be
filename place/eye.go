package place

import (
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

// How the far view is reckoned, in whole numbers. Light is S-CIELAB's
// brightness, red-green and blue-yellow (lab.Opponent) in units of
// 1/lightUnit. Its blur has two parts: the narrow Gaussian of each channel,
// integrated over cells, in units of 1/kernelUnit; and, for the two channels of
// color, the wide Gaussian on blocks of 4x4 cells, where binomial weights
// 1 4 6 4 1 a side stand for it (standard deviation 4.2 cells; as published it
// is 4.9 and 3.8 cells of 2.5 mm from two meters). Brightness has narrow weight
// 1.003, taken as 1; its two other Gaussians (weights .11 and -.12) nearly
// cancel and are left out. A metric turns a difference of light into squared
// units of CIEDE2000 as steep as they are at the target; it is kept divided by
// metricPart. Where it is steepest, below L* 10 or so, it is lowered as a whole
// to mostMetric, so that no direction is lost, and gradients and curvatures are
// cut by a few bits: whatever is laid, their sums then fit into 63.
const (
	lightUnit  = 1 << 13
	kernelUnit = 1 << 10
	metricPart = 64
	mostMetric = 1 << 18
	spare      = 5 // bits that gradients and curvatures are cut by
)

// metric is a symmetric matrix: xx, xy, xz, yy, yz, zz.
type metric [6]int64

func (m *metric) times(x, y, z int64) (a, b, c int64) {
	return m[0]*x + m[1]*y + m[2]*z, m[1]*x + m[3]*y + m[4]*z, m[2]*x + m[4]*y + m[5]*z
}

// of returns the squared length of a difference.
func (m *metric) of(x, y, z int64) int64 {
	a, b, c := m.times(x, y, z)
	return a*x + b*y + c*z
}

func (m *metric) add(n *metric) {
	for k, v := range n {
		m[k] += v
	}
}

// cut takes spare bits off.
func (m metric) cut() metric {
	for k := range m {
		m[k] >>= spare
	}
	return m
}

// narrow is kept smaller: there is one for each cell.
type narrow [6]int32

func (m *narrow) times(x, y, z int64) (a, b, c int64) {
	xy, xz, yz := int64(m[1]), int64(m[2]), int64(m[4])
	return int64(m[0])*x + xy*y + xz*z, xy*x + int64(m[3])*y + yz*z, xz*x + yz*y + int64(m[5])*z
}

// kernels returns the narrow blur of each channel over 5x5 cells.
func kernels(perDegree float64) (k [3][25]int64) {
	for channel, line := range lab.EyeKernels(perDegree, 2) {
		for j := range 25 {
			y, x := j/5-2, j%5-2
			k[channel][j] = int64(math.Round(line.Weight * line.At[max(x, -x)] * line.At[max(y, -y)] * kernelUnit))
		}
	}
	return k
}

// wholeLight rounds opponent light to units, so that no last bit decides.
func wholeLight(c lab.Color) (w [3]int64) {
	for k, v := range lab.Opponent(c) {
		w[k] = int64(math.Round(v * lightUnit))
	}
	return w
}

// metricAt returns how far apart lights near the given one look: J'GJ, J being
// the change of L*, a* and b* with the opponent light, and G the squared
// CIEDE2000 of steps of one unit along and across them.
func metricAt(light [3]float64) (m [6]float64) {
	xyz := lab.FromOpponent(light)
	var f, df [3]float64
	for k, v := range xyz {
		if t := v / lab.White[k]; t > 216./24389 {
			f[k] = math.Cbrt(t)
			df[k] = 1 / (3 * f[k] * f[k]) / lab.White[k]
		} else {
			df[k] = 24389. / 27 / 116
			f[k] = float64(df[k]*t) + 16./116
			df[k] /= lab.White[k]
		}
	}
	inverse := &lab.OpponentToXYZ
	var j [3][3]float64
	for k := range 3 {
		x, y, z := float64(df[0]*inverse[0][k]), float64(df[1]*inverse[1][k]), float64(df[2]*inverse[2][k])
		j[0][k], j[1][k], j[2][k] = 116*y, 500*(x-y), 200*(y-z)
	}
	here := lab.Color{L: float64(116*f[1]) - 16, A: 500 * (f[0] - f[1]), B: 200 * (f[1] - f[2])}
	l, a, b := squared(here, 1, 0, 0), squared(here, 0, 1, 0), squared(here, 0, 0, 1)
	ab := (squared(here, 0, 1, 1) - a - b) / 2
	at := 0
	for r := range 3 {
		for k := r; k < 3; k++ {
			m[at] = float64(l*j[0][r]*j[0][k]) + float64(a*j[1][r]*j[1][k]) + float64(b*j[2][r]*j[2][k]) +
				float64(ab*(float64(j[1][r]*j[2][k])+float64(j[2][r]*j[1][k])))
			at++
		}
	}
	return m
}

// squared is the square of CIEDE2000 over a step whose middle is here.
func squared(here lab.Color, l, a, b float64) float64 {
	l, a, b = float64(l/2), float64(a/2), float64(b/2)
	d := lab.DeltaE(lab.Color{L: here.L - l, A: here.A - a, B: here.B - b}, lab.Color{L: here.L + l, A: here.A + a, B: here.B + b})
	return d * d
}

// softness returns how much mixing each cell takes part in, 0 to 256: nothing
// in near-black, on truly flat ground and in line art, less where the picture
// is busy (there it costs lone drills and little is gained), all on shaded
// ground.
func softness(g *lab.Grid) []int64 {
	const (
		dark0, dark1 = 4, 12    // L*: cards have few colors there, and a stray shows
		flat0, flat1 = .08, .25 // standard deviation over 13x13 cells, every other looked at
		same         = 0.02     // difference of neighbors of one flat color
		busy0, busy1 = 14, 6
		busyShare    = 0.4
		side, step   = 6, 2
	)
	level := make([]bool, len(g.Cells)) // right and lower neighbor are the same color
	for i, c := range g.Cells {
		x, y := i%g.Cols, i/g.Cols
		right, down := g.At(min(x+1, g.Cols-1), y), g.At(x, min(y+1, g.Rows-1))
		level[i] = apart(c, right) < same && apart(c, down) < same
	}
	out := make([]int64, len(g.Cells))
	par.Rows(g.Rows, func(y int) {
		for x := range g.Cols {
			var n, levels, l, a, b, ll, aa, bb float64
			here := g.At(x, y)
			for yy := y - side; yy <= y+side; yy += step {
				for xx := x - side; xx <= x+side; xx += step {
					if xx < 0 || yy < 0 || xx >= g.Cols || yy >= g.Rows {
						continue
					}
					c := g.At(xx, yy)
					dl, da, db := c.L-here.L, c.A-here.A, c.B-here.B
					n, l, a, b = n+1, l+dl, a+da, b+db
					ll, aa, bb = ll+float64(dl*dl), aa+float64(da*da), bb+float64(db*db)
					if level[yy*g.Cols+xx] {
						levels++
					}
				}
			}
			variance := float64((ll - float64(l*l)/n + float64((aa-float64(a*a)/n+bb-float64(b*b)/n)/2)) / n)
			deviation := math.Sqrt(math.Max(0, variance))
			s := ramp(deviation, flat0, flat1)
			s = math.Min(s, busyShare+float64((1-busyShare)*ramp(deviation, busy0, busy1)))
			s = math.Min(s, ramp(here.L, dark0, dark1))
			s = math.Min(s, ramp(levels/n, 0.5, 0.25))
			out[y*g.Cols+x] = int64(math.Round(s * 256))
		}
	})
	return out
}

// bareness tells smooth light ground, where nothing hides grain from who sits
// close: 0 for none, 1 for all of it. Smooth is where about half of the 5x5
// cells around are of one color with the middle, so that a sky is smooth up to
// the branches in front of it.
func bareness(g *lab.Grid) []float64 {
	const (
		light0, light1 = 60, 80 // L*
		same           = 3      // sum of differences in L*, a* and b*
		some, many     = .4, .6
	)
	out := make([]float64, len(g.Cells))
	par.Rows(g.Rows, func(y int) {
		for x := range g.Cols {
			here := g.At(x, y)
			light := ramp(here.L, light0, light1)
			if light == 0 {
				continue
			}
			n, like := 0, 0
			for yy := max(0, y-2); yy <= min(g.Rows-1, y+2); yy++ {
				for xx := max(0, x-2); xx <= min(g.Cols-1, x+2); xx++ {
					n++
					if apart(here, g.At(xx, yy)) < same {
						like++
					}
				}
			}
			out[y*g.Cols+x] = light * ramp(float64(like)/float64(n), some, many)
		}
	})
	return out
}

func apart(a, b lab.Color) float64 {
	return math.Abs(a.L-b.L) + math.Abs(a.A-b.A) + math.Abs(a.B-b.B)
}

// ramp is 0 at from and beyond, 1 at to and beyond, straight between.
func ramp(v, from, to float64) float64 {
	return math.Min(1, math.Max(0, (v-from)/(to-from)))
}
