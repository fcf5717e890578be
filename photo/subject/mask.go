package subject

import "kitwright/photo"

// useful returns the mask, or nil if nearly all or nearly nothing is subject.
func useful(m *photo.Mask) *photo.Mask {
	if n := m.Count(); n*100 < 2*len(m.In) || n*100 > 98*len(m.In) {
		return nil
	}
	return m
}

// resize returns the mask at another size: a cell is subject if at least half
// of its area was. Nil stays nil.
func resize(m *photo.Mask, cols, rows int) *photo.Mask {
	if m == nil || m.Cols == cols && m.Rows == rows {
		return m
	}
	out := &photo.Mask{Cols: cols, Rows: rows, In: make([]bool, cols*rows), By: m.By}
	// Lengths in whole parts: a cell of ours is m.Cols x m.Rows parts, one of
	// the mask cols x rows.
	for y := 0; y < rows; y++ {
		for x := 0; x < cols; x++ {
			area := 0
			for sy := y * m.Rows / rows; sy*rows < (y+1)*m.Rows; sy++ {
				h := min((sy+1)*rows, (y+1)*m.Rows) - max(sy*rows, y*m.Rows)
				for sx := x * m.Cols / cols; sx*cols < (x+1)*m.Cols; sx++ {
					if m.In[sy*m.Cols+sx] {
						area += h * (min((sx+1)*cols, (x+1)*m.Cols) - max(sx*cols, x*m.Cols))
					}
				}
			}
			out.In[y*cols+x] = 2*area >= m.Cols*m.Rows
		}
	}
	return out
}

// near drops the parts of the subject that the ellipse does not touch, unless
// it touches none.
func near(m *photo.Mask, e photo.Ellipse) {
	part, sizes := regions(m, true)
	touched := make([]bool, len(sizes))
	any := false
	for i, p := range part {
		if p >= 0 && e.Center2(i, m.Cols, m.Rows) < 1 {
			touched[p], any = true, true
		}
	}
	for i, p := range part {
		if any && p >= 0 && !touched[p] {
			m.In[i] = false
		}
	}
}

// regions numbers the connected parts (by edges) of the cells that are in, or of
// those that are not, in the order of their first cells: -1 for the others.
func regions(m *photo.Mask, in bool) (part []int32, sizes []int) {
	part = make([]int32, len(m.In))
	for i := range part {
		part[i] = -1
	}
	var todo []int
	for i := range part {
		if m.In[i] != in || part[i] >= 0 {
			continue
		}
		n := int32(len(sizes))
		part[i], todo, sizes = n, append(todo[:0], i), append(sizes, 0)
		for len(todo) > 0 {
			i := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			sizes[n]++
			for _, j := range neighbors(i, m.Cols, m.Rows) {
				if j >= 0 && m.In[j] == in && part[j] < 0 {
					part[j] = n
					todo = append(todo, j)
				}
			}
		}
	}
	return part, sizes
}

// neighbors returns the cells above, left, right and below, -1 off the grid.
func neighbors(i, cols, rows int) (n [4]int) {
	n = [4]int{i - cols, i - 1, i + 1, i + cols}
	if i < cols {
		n[0] = -1
	}
	if i%cols == 0 {
		n[1] = -1
	}
	if i%cols == cols-1 {
		n[2] = -1
	}
	if i >= cols*(rows-1) {
		n[3] = -1
	}
	return n
}

// tidy drops specks of subject and fills holes, each smaller than 1 in 500 of
// the picture (not less than 4 cells).
func tidy(m *photo.Mask) {
	small := max(4, len(m.In)/500)
	for _, in := range [2]bool{true, false} {
		part, sizes := regions(m, in)
		for i, p := range part {
			if p >= 0 && sizes[p] < small {
				m.In[i] = !in
			}
		}
	}
}
