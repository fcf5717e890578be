package icc

// cube is a grid of samples, the last input running fastest.
type cube struct {
	in, out int
	grid    []int     // samples along each input
	at      []float64 // 0..1, out values each
	even    bool      // between all eight corners, as suits Lab, whose grays run straight through the cells
}

func (c *cube) stage(v *[4]float64) {
	if c.in == 3 && c.even {
		*v = c.eight(v[0], v[1], v[2])
		return
	}
	if c.in == 3 {
		*v = c.tetrahedron(0, 0, v[0], v[1], v[2])
		return
	}
	// Straight along the first ink, as Little CMS does it.
	first, part := cell(v[0], c.grid[0])
	step := c.grid[1] * c.grid[2] * c.grid[3] * c.out
	lo := c.tetrahedron(1, first*step, v[1], v[2], v[3])
	if part > 0 {
		hi := c.tetrahedron(1, (first+1)*step, v[1], v[2], v[3])
		for i := range lo {
			lo[i] += float64(part * (hi[i] - lo[i]))
		}
	}
	*v = lo
}

// cell returns the sample below a place on an axis, and how far behind it the
// place lies, 0 to 1.
func cell(v float64, samples int) (int, float64) {
	at := float64(Clamp01(v) * float64(samples-1))
	i := int(at)
	return i, at - float64(i)
}

// tetrahedron interpolates between four corners of a cell of the cube, along
// three axes from the one numbered axis (Kasson, Nin, Plouffe and Hafner 1995,
// J. Electronic Imaging 4(3), 226: the cell is cut into six tetrahedra).
func (c *cube) tetrahedron(axis, base int, x, y, z float64) (out [4]float64) {
	gy, gz := c.grid[axis+1], c.grid[axis+2]
	ix, fx := cell(x, c.grid[axis])
	iy, fy := cell(y, gy)
	iz, fz := cell(z, gz)
	dx, dy, dz := gy*gz*c.out, gz*c.out, c.out
	at := base + ix*dx + iy*dy + iz*dz
	if fx == 0 {
		dx = 0
	}
	if fy == 0 {
		dy = 0
	}
	if fz == 0 {
		dz = 0
	}
	// Walk along the axis with the largest part first.
	d, f := [3]int{dx, dy, dz}, [3]float64{fx, fy, fz}
	if f[0] < f[1] {
		d[0], d[1], f[0], f[1] = d[1], d[0], f[1], f[0]
	}
	if f[1] < f[2] {
		d[1], d[2], f[1], f[2] = d[2], d[1], f[2], f[1]
	}
	if f[0] < f[1] {
		d[0], d[1], f[0], f[1] = d[1], d[0], f[1], f[0]
	}
	copy(out[:c.out], c.at[at:at+c.out])
	for i := range d {
		next := at + d[i]
		for j := range c.out {
			out[j] += float64(f[i] * (c.at[next+j] - c.at[at+j]))
		}
		at = next
	}
	return out
}

// eight interpolates between all corners of a cell.
func (c *cube) eight(x, y, z float64) (out [4]float64) {
	ix, fx := cell(x, c.grid[0])
	iy, fy := cell(y, c.grid[1])
	iz, fz := cell(z, c.grid[2])
	for corner := range 8 {
		i, j, k, share := ix, iy, iz, 1.0
		for axis, f := range [3]float64{fx, fy, fz} {
			if corner>>axis&1 == 0 {
				f = 1 - f
			}
			share *= f
		}
		if share == 0 {
			continue // also where there is no corner beyond
		}
		i, j, k = i+corner&1, j+corner>>1&1, k+corner>>2&1
		at := ((i*c.grid[1]+j)*c.grid[2] + k) * c.out
		for n := range c.out {
			out[n] += float64(share * c.at[at+n])
		}
	}
	return out
}
