package subject

import (
	"kitwright/internal/plane"
	"kitwright/lab"
	"kitwright/photo"
)

// A ground is plain when more than plainShare of the outermost cells are
// within plainNear (CIEDE2000) of their median; it then reaches inward over
// cells within plainFlood of that. (Measured: fires on three of three flat
// drawings and on none of thirteen animal photos.)
const (
	plainShare = 0.8
	plainNear  = 3
	plainFlood = 6
)

// ByPlainGround returns what a ground of one plain color all around leaves, or
// nil if there is no such ground, or nothing on it.
func ByPlainGround(g *lab.Grid) *photo.Mask {
	cols, rows := g.Cols, g.Rows
	var edge []int
	for i := range g.Cells {
		if x, y := i%cols, i/cols; x == 0 || y == 0 || x == cols-1 || y == rows-1 {
			edge = append(edge, i)
		}
	}
	var parts [3][]float64
	for _, i := range edge {
		c := g.Cells[i]
		parts[0], parts[1], parts[2] = append(parts[0], c.L), append(parts[1], c.A), append(parts[2], c.B)
	}
	ground := lab.Color{L: plane.Quantile(parts[0], 0.5), A: plane.Quantile(parts[1], 0.5), B: plane.Quantile(parts[2], 0.5)}
	like := 0
	m := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, cols*rows), By: "plain ground"}
	for i := range m.In {
		m.In[i] = true
	}
	var todo []int
	reach := func(i int) {
		if m.In[i] && lab.DeltaE(g.Cells[i], ground) <= plainFlood {
			m.In[i] = false
			todo = append(todo, i)
		}
	}
	for _, i := range edge {
		if lab.DeltaE(g.Cells[i], ground) <= plainNear {
			like++
		}
		reach(i)
	}
	if float64(like) <= plainShare*float64(len(edge)) {
		return nil
	}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, j := range neighbors(i, cols, rows) {
			if j >= 0 {
				reach(j)
			}
		}
	}
	tidy(m)
	return useful(m)
}
