package place

// mesh holds the wide blur of the two channels of color, on blocks of cells.
type mesh struct {
	across, down int
	near         []metric   // mean of the block's cells, color alone
	blur         [][3]int64 // blurred miss of each block
	wide         []metric   // metric of a change in each block, over all blocks
}

// block is the mesh's block of a cell.
func (l *layer) block(q int) int {
	return (q/l.stride-margin)/meshSide*l.mesh.across + (q%l.stride-margin)/meshSide
}

// newMesh makes a scene's mesh, with nothing laid.
func newMesh(s *Scene) mesh {
	m := mesh{across: (s.cols + meshSide - 1) / meshSide, down: (s.rows + meshSide - 1) / meshSide}
	n := m.across * m.down
	m.near, m.wide = make([]metric, n), make([]metric, n)
	cells := make([]int64, n)
	for y := range s.rows {
		for x := range s.cols {
			b, q := y/meshSide*m.across+x/meshSide, s.place(x, y)
			cells[b]++
			wide := broad(&s.near[q])
			for k, v := range wide {
				m.near[b][k] += v
			}
		}
	}
	for b := range m.near {
		for k := range m.near[b] {
			m.near[b][k] /= cells[b]
		}
	}
	for b := range m.near {
		m.around(b, func(c int, w int64) {
			for k := range 6 {
				m.wide[b][k] += w * w * m.near[c][k]
			}
		})
		m.wide[b] = m.wide[b].cut()
	}
	return m
}

// What the wide Gaussians' squares count beside those of the narrow ones, of
// red-green, of both together and of blue-yellow, in units of 1/1024: the
// published shares of the narrow ones are .617 and .568, and an area that is off
// as a whole then counts in full, once, their squares being .380 and .322 of
// it.
var broadShare = [3]int64{635, 664, 694}

// broad is a cell's metric for the wide blur: of color alone.
func broad(near *narrow) (m metric) {
	for k, share := range broadShare {
		m[3+k] = int64(near[3+k]) * share >> 10
	}
	return m
}

// meshOf is the scene's mesh with what is laid.
func (l *layer) meshOf(miss [][3]int64) mesh {
	m := l.Scene.mesh
	m.blur = make([][3]int64, len(m.near))
	sums := make([][3]int64, len(m.near))
	for y := range l.rows {
		for x := range l.cols {
			b, q := y/meshSide*m.across+x/meshSide, l.place(x, y)
			for k := 1; k < 3; k++ {
				sums[b][k] += miss[q][k]
			}
		}
	}
	for b := range sums {
		m.around(b, func(c int, w int64) {
			for k := range 3 {
				m.blur[b][k] += w * sums[c][k]
			}
		})
	}
	return m
}

// around calls do for the blocks within two of b, with their weight.
func (m *mesh) around(b int, do func(c int, w int64)) {
	x, y := b%m.across, b/m.across
	for dy := max(-2, -y); dy <= min(2, m.down-1-y); dy++ {
		for dx := max(-2, -x); dx <= min(2, m.across-1-x); dx++ {
			do(b+dy*m.across+dx, binomial[dy+2]*binomial[dx+2])
		}
	}
}

// pull returns the gradient of the wide miss for the cells of a block.
func (m *mesh) pull(b int) (v [3]int64) {
	m.around(b, func(c int, w int64) {
		_, y, z := m.near[c].times(0, m.blur[c][1], m.blur[c][2])
		v[1] += w * y
		v[2] += w * z
	})
	return v
}

// curve returns the metric of a change in two blocks at once.
func (m *mesh) curve(a, b int) (s metric) {
	if a == b {
		return m.wide[a]
	}
	bx, by := b%m.across, b/m.across
	m.around(a, func(c int, w int64) {
		dx, dy := c%m.across-bx, c/m.across-by
		if dx >= -2 && dx <= 2 && dy >= -2 && dy <= 2 {
			for k := 3; k < 6; k++ {
				s[k] += w * binomial[dy+2] * binomial[dx+2] * m.near[c][k]
			}
		}
	})
	return s.cut()
}

// move changes the light in a block.
func (m *mesh) move(b int, y, z int64) {
	m.around(b, func(c int, w int64) {
		m.blur[c][1] += w * y
		m.blur[c][2] += w * z
	})
}
