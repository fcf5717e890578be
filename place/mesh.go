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
		var yy, yz, zz int64
		m.around(b, func(c int, weights []int64) {
			for i, w := range weights {
				near := &m.near[c+i]
				yy += w * w * near[3]
				yz += w * w * near[4]
				zz += w * w * near[5]
			}
		})
		m.wide[b] = metric{3: yy, 4: yz, 5: zz}.cut()
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
		var y, z int64
		m.around(b, func(c int, weights []int64) {
			for i, w := range weights {
				y += w * sums[c+i][1]
				z += w * sums[c+i][2]
			}
		})
		m.blur[b] = [3]int64{0, y, z}
	}
	return m
}

// binomials are products of two binomial weights, row by row.
var binomials = func() (w [5][5]int64) {
	for y, wy := range binomial {
		for x, wx := range binomial {
			w[y][x] = wy * wx
		}
	}
	return w
}()

// around calls do for the rows of blocks within two of b: with the first of
// each and the weights of all.
func (m *mesh) around(b int, do func(first int, weights []int64)) {
	x, y := b%m.across, b/m.across
	left, right := max(-2, -x), min(2, m.across-1-x)
	for dy := max(-2, -y); dy <= min(2, m.down-1-y); dy++ {
		do(b+dy*m.across+left, binomials[dy+2][left+2:right+3])
	}
}

// pull returns the gradient of the wide miss for the cells of a block.
func (m *mesh) pull(b int) [3]int64 {
	var sy, sz int64
	m.around(b, func(first int, weights []int64) {
		near, blur := m.near[first:][:len(weights)], m.blur[first:][:len(weights)]
		for i, w := range weights {
			n, y, z := &near[i], blur[i][1], blur[i][2]
			sy += w * (n[3]*y + n[4]*z)
			sz += w * (n[4]*y + n[5]*z)
		}
	})
	return [3]int64{0, sy, sz}
}

// addCurve adds the metric of a change in two blocks at once, one of them right
// of the other, below it, or the same.
func (m *mesh) addCurve(s *metric, a, b int) {
	if a == b {
		s.add(&m.wide[a])
		return
	}
	bx, by := b%m.across, b/m.across
	var yy, yz, zz int64
	m.around(a, func(first int, weights []int64) {
		dx, dy := first%m.across-bx, first/m.across-by
		if dy < -2 || dy > 2 {
			return
		}
		for i, w := range weights {
			if dx := dx + i; dx >= -2 && dx <= 2 {
				w *= binomials[dy+2][dx+2]
				near := &m.near[first+i]
				yy += w * near[3]
				yz += w * near[4]
				zz += w * near[5]
			}
		}
	})
	s[3] += yy >> spare
	s[4] += yz >> spare
	s[5] += zz >> spare
}

// move changes the light in a block.
func (m *mesh) move(b int, y, z int64) {
	m.around(b, func(first int, weights []int64) {
		blur := m.blur[first:][:len(weights)]
		for i, w := range weights {
			blur[i][1] += w * y
			blur[i][2] += w * z
		}
	})
}
