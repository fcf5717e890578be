package place

import (
	"math"

	"kitwright/lab"
)

// metric is a symmetric matrix: xx, xy, xz, yy, yz, zz.
type metric [6]int64

func (m *metric) times(x, y, z int64) (a, b, c int64) {
	return m[0]*x + m[1]*y + m[2]*z, m[1]*x + m[3]*y + m[4]*z, m[2]*x + m[4]*y + m[5]*z
}

// blurred returns the mean light around a cell.
func (p *placer) blurred(light [][3]float64, x, y int) (mean [3]float64) {
	var all float64
	around(x, y, p.cols, p.rows, func(i int, w int64) {
		all += float64(w)
		for k := range mean {
			mean[k] += float64(float64(w) * light[i][k])
		}
	})
	for k := range mean {
		mean[k] /= all
	}
	return mean
}

func relativeLight(c lab.Color) (v [3]float64) {
	x, y, z := c.XYZ()
	return [3]float64{x / lab.White[0], y / lab.White[1], z / lab.White[2]}
}

func wholeLight(v [3]float64) (w [3]int64) {
	for k := range v {
		w[k] = int64(math.Round(v[k] * (1 << lightBits)))
	}
	return w
}

// slopeAt returns how L*, a* and b* change with X, Y and Z at a light, the
// rows of a* and b* over 1+.045C.
func slopeAt(light [3]float64) (s [3][3]float64) {
	var f, df [3]float64
	for k, t := range light {
		if t > 216./24389 {
			f[k] = math.Cbrt(t)
			df[k] = 1 / (3 * f[k] * f[k])
		} else {
			df[k] = 24389. / 27 / 116
			f[k] = float64(df[k]*t) + 16./116
		}
	}
	a, b := 500*(f[0]-f[1]), 200*(f[1]-f[2])
	c := 1 + float64(0.045*math.Sqrt(float64(a*a)+float64(b*b)))
	s[0][1] = 116 * df[1]
	s[1][0], s[1][1] = 500*df[0]/c, -500*df[1]/c
	s[2][1], s[2][2] = 200*df[1]/c, -200*df[2]/c
	return s
}

func metricOf(s [3][3]float64) (m metric) {
	at := 0
	for i := range 3 {
		for j := i; j < 3; j++ {
			v := float64(s[0][i]*s[0][j]) + float64(s[1][i]*s[1][j]) + float64(s[2][i]*s[2][j])
			m[at] = int64(math.Round(v / metricPart))
			at++
		}
	}
	return m
}

// reachable returns the light nearest to a cell's target that a mixture of its
// candidates can make. Without this, a target that no mixture reaches would
// leave a difference that calls for ever darker or brighter dots around it.
//
// It walks from the nearest candidate, each step along the line to the
// candidate that helps most or away from the one that helps least (M. Frank
// and P. Wolfe, 1956, with away steps), 24 steps at most.
func (d *descent) reachable(i int, target [3]float64, slope [3][3]float64, colors [][3]float64) [3]float64 {
	var point [placeKept][3]float64 // candidates, as differences from the target in L*a*b*
	var share [placeKept]float64
	count := 0
	for j, c := range d.choice[i*d.kept : (i+1)*d.kept] {
		if d.cost[i*d.kept+j] == noCost {
			break
		}
		for r := range 3 {
			for k := range 3 {
				point[j][r] += float64(slope[r][k] * (colors[c][k] - target[k]))
			}
		}
		count++
	}
	inner := func(a, b *[3]float64) float64 {
		return float64(a[0]*b[0]) + float64(a[1]*b[1]) + float64(a[2]*b[2])
	}
	share[0] = 1
	at := point[0]
	for range 24 {
		toward, away := 0, -1
		var low, high float64
		for j := range count {
			v := inner(&at, &point[j])
			if j == 0 || v < low {
				toward, low = j, v
			}
			if share[j] > 0 && (away < 0 || v > high) {
				away, high = j, v
			}
		}
		here := inner(&at, &at)
		if here < 1e-4 || here-low < 1e-3*here {
			break
		}
		// Move share from the worst used candidate to the most helpful one.
		var step [3]float64
		for r := range step {
			step[r] = point[toward][r] - point[away][r]
		}
		length := inner(&step, &step)
		if length == 0 {
			break
		}
		move := math.Min(share[away], math.Max(0, -inner(&at, &step)/length))
		share[toward] += move
		share[away] -= move
		for r := range at {
			at[r] += float64(move * step[r])
		}
	}
	var light [3]float64
	for j := range count {
		for k := range light {
			light[k] += float64(share[j] * colors[d.choice[i*d.kept+j]][k])
		}
	}
	return light
}
