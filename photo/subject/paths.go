package subject

import (
	"math"

	"kitwright/lab"
)

const (
	pathBegin = 1.15 // from here outward all is ground
	pathStep  = 8    // what a step costs by itself, in 1/fine of a Lab unit
	pathMost  = 1 << 20
	pathEven  = 4   // fifths of the mean within the box: so far a cell may as well be either
	pathMean  = 0.8 // of the box, in which that mean is taken
)

// paths returns how strongly the way from the ground around the box speaks for
// each cell's being subject, at most one unit of log odds for it or against: a branch
// that goes on beyond the box is near the ground, however much its color is the
// animal's, and a thin leg is not, however near it lies to the box's edge. A step
// costs as much as color changes on it, and less where color and texture
// take its cells for ground, so that the way through a bush is short (the idea
// of X. Bai, G. Sapiro, "A geodesic framework for fast interactive image and video
// segmentation and matting", ICCV 2007; the costs are our own).
func paths(colors []lab.Color, score []int32, cols, rows int, d drawn) []int32 {
	planes := [3][]int32{make([]int32, len(colors)), make([]int32, len(colors)), make([]int32, len(colors))}
	for i, c := range colors {
		planes[0][i], planes[1][i], planes[2][i] = int32(math.Round(c.L*fine)), int32(math.Round(c.A*fine)), int32(math.Round(c.B*fine))
	}
	for k := range planes {
		planes[k] = around(planes[k], cols, rows, 1)
	}
	dist := make([]int32, len(colors))
	reached := [][]int32{nil} // cells by their distance, so far
	for i, r := range d.place {
		dist[i] = pathMost
		if r > pathBegin {
			dist[i] = 0
			reached[0] = append(reached[0], int32(i))
		}
	}
	for far := int32(0); int(far) < len(reached); far++ {
		for k := 0; k < len(reached[far]); k++ { // it grows on the way
			i := int(reached[far][k])
			if dist[i] != far {
				continue
			}
			for _, j := range neighbors(i, cols, rows) {
				if j < 0 {
					continue
				}
				change := int32(0)
				for _, p := range planes {
					change += max(p[i]-p[j], p[j]-p[i])
				}
				to := far + pathStep + change*(likely[score[i]+mostOdds*perUnit]+likely[score[j]+mostOdds*perUnit])/512
				if to >= dist[j] {
					continue
				}
				dist[j] = to
				for int(to) >= len(reached) {
					reached = append(reached, nil)
				}
				reached[to] = append(reached[to], int32(j))
			}
		}
		reached[far] = nil
	}
	out := make([]int32, len(colors))
	var sum, n int64
	for i, r := range d.place {
		if r < pathMean {
			sum += int64(dist[i])
			n++
		}
	}
	for i, r := range d.place {
		if r <= pathBegin && sum > 0 {
			out[i] = int32(max(-perUnit, min(perUnit, perUnit*int64(dist[i])*n/sum-pathEven*perUnit/5)))
		}
	}
	return out
}

// likely is the share of subject that log odds stand for, in 1/256.
var likely = func() (t [2*mostOdds*perUnit + 1]int32) {
	for i := range t {
		t[i] = int32(math.Round(256 / (1 + math.Exp(-float64(i-mostOdds*perUnit)/perUnit))))
	}
	return t
}()
