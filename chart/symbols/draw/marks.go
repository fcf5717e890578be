package draw

import "fmt"

// Marks returns codes without a name, for charts of more colors than there
// are named shapes: squares in a 3 x 3 grid, mirrored squares in a 4 x 4 grid,
// and slices of a ring of eight. They have at most four parts and fill the
// box from side to side. The names are the kind and the bits, as Build takes
// them: "block 340".
func Marks() []Shape {
	var out []Shape
	for bits := 1; bits < 512; bits++ {
		cells := make([]bool, 9)
		for i := range cells {
			cells[i] = bits>>i&1 == 1
		}
		if tidy(cells, 3) {
			out = append(out, Shape{Name: fmt.Sprintf("block %d", bits), Paths: blocks(cells, 3)})
		}
	}
	for bits := 1; bits < 256; bits++ {
		cells := make([]bool, 16)
		for i := range 8 {
			on := bits>>i&1 == 1
			cells[i/2*4+i%2], cells[i/2*4+3-i%2] = on, on
		}
		if tidy(cells, 4) {
			out = append(out, Shape{Name: fmt.Sprintf("mirrored block %d", bits), Paths: blocks(cells, 4)})
		}
	}
	for bits := 1; bits < 255; bits++ {
		if p := slices8(bits); len(p) <= 4 && bits&(bits-1) != 0 { // one slice alone is small
			out = append(out, Shape{Name: fmt.Sprintf("ring code %d", bits), Paths: fit(p)})
		}
	}
	return out
}

// blocks draws the cells that are on, runs of a row as one rectangle.
func blocks(cells []bool, n int) (p paths) {
	side := 190 / float64(n)
	for y := range n {
		for x := 0; x < n; x++ {
			from := x
			for x < n && cells[y*n+x] {
				x++
			}
			if x > from {
				p = append(p, rect(-95+side*float64(from), -95+side*float64(y), -95+side*float64(x), -95+side*float64(y+1)))
			}
		}
	}
	return p
}

// tidy wants ink on all four sides and one to four parts, which may not hang
// together by a corner alone.
func tidy(cells []bool, n int) bool {
	at := func(x, y int) bool { return x >= 0 && y >= 0 && x < n && y < n && cells[y*n+x] }
	var left, right, top, bottom bool
	part := make([]int, n*n)
	parts := 0
	var spread func(x, y int)
	spread = func(x, y int) {
		if !at(x, y) || part[y*n+x] != 0 {
			return
		}
		part[y*n+x] = parts
		for _, d := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			spread(x+d[0], y+d[1])
		}
	}
	for y := range n {
		left, right = left || at(0, y), right || at(n-1, y)
		top, bottom = top || at(y, 0), bottom || at(y, n-1)
		for x := range n {
			if at(x, y) && part[y*n+x] == 0 {
				parts++
				spread(x, y)
			}
			if at(x, y) && at(x+1, y+1) && !at(x+1, y) && !at(x, y+1) ||
				at(x+1, y) && at(x, y+1) && !at(x, y) && !at(x+1, y+1) {
				return false
			}
		}
	}
	return left && right && top && bottom && parts <= 4
}

// slices8 draws the slices of a ring that are on, neighbors as one bow.
func slices8(bits int) (p paths) {
	for i := range 8 {
		if bits>>i&1 == 0 || bits>>((i+7)%8)&1 == 1 {
			continue
		}
		n := 1
		for bits>>((i+n)%8)&1 == 1 {
			n++
		}
		a := -112.5 + 45*float64(i)
		p = append(p, bow(0, 0, 100, 46, a, a+45*float64(n)))
	}
	return p
}
