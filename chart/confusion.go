package chart

import (
	"math"

	"kitwright/lab"
)

// confusion returns how bad it would be to mistake two colors of the legend
// for each other: 0.7 for touching cells of similar color, 0.3 for similar
// colors anywhere, each share adding up to one over all pairs. The two decay
// lengths, 15 and 8 CIEDE2000, are a choice, not a measurement.
func (c *Chart) confusion() func(i, j int) float64 {
	n := len(c.Legend)
	touch := c.touching()
	near, alike := make([]float64, n*n), make([]float64, n*n)
	var sumNear, sumAlike float64
	for i := 0; i < n; i++ {
		for j := 0; j < i; j++ {
			d := lab.DeltaE(c.Legend[i].Drill.Lab, c.Legend[j].Drill.Lab)
			near[i*n+j] = float64(touch[i*n+j]) * math.Exp(-d/15)
			alike[i*n+j] = math.Exp(-d / 8)
			sumNear += near[i*n+j]
			sumAlike += alike[i*n+j]
		}
	}
	return func(i, j int) float64 {
		if i < j {
			i, j = j, i
		}
		if i == j {
			return 0
		}
		w := 0.3 * alike[i*n+j] / math.Max(sumAlike, math.SmallestNonzeroFloat64)
		return w + float64(0.7*near[i*n+j])/math.Max(sumNear, 1e-300)
	}
}

// touching counts, for every pair of legend entries i > j, at i*n+j, the pairs
// of cells of these two colors that touch by an edge or a corner.
func (c *Chart) touching() []int {
	n := len(c.Legend)
	t := make([]int, n*n)
	count := func(a, b uint16) {
		if a > b {
			t[int(a)*n+int(b)]++
		} else if b > a {
			t[int(b)*n+int(a)]++
		}
	}
	for y := 0; y < c.Rows; y++ {
		for x := 0; x < c.Cols; x++ {
			i := y*c.Cols + x
			v := c.Cells[i]
			if x+1 < c.Cols {
				count(v, c.Cells[i+1])
			}
			if y+1 < c.Rows {
				below := i + c.Cols
				count(v, c.Cells[below])
				if x > 0 {
					count(v, c.Cells[below-1])
				}
				if x+1 < c.Cols {
					count(v, c.Cells[below+1])
				}
			}
		}
	}
	return t
}
