package photo

import (
	"kitwright/internal/par"
	"kitwright/lab"
)

// Sample returns one color for each drill of a cols x rows canvas.
//
// Each color is the mean of the photo under that drill, taken in linear
// light, so that fine stripes of black and white give the gray the eye sees
// from afar. Pixels on a border count by the share that lies inside.
//
// Sample panics if cols or rows is not positive.
func (p *Photo) Sample(crop Crop, cols, rows int) *lab.Grid {
	return p.Linear(crop, cols, rows).Grid()
}

// Linear is a small picture of linear light: for every cell the red, green and
// blue of the sRGB primaries, 1 being full light, row by row from the top left.
// Colors that sRGB cannot show lie outside 0..1 and are kept.
type Linear struct {
	Cols, Rows int
	Cells      [][3]float64
}

// Linear returns the same means as [Photo.Sample], as linear light.
func (p *Photo) Linear(crop Crop, cols, rows int) *Linear {
	cells := p.means(p.px, crop, cols, rows)
	out := &Linear{Cols: cols, Rows: rows, Cells: make([][3]float64, len(cells))}
	for i, c := range cells {
		v := [3]float64{float64(c[0]) / lab.LinearOne, float64(c[1]) / lab.LinearOne, float64(c[2]) / lab.LinearOne}
		if p.toRGB != nil {
			v = p.toRGB.times(v)
		}
		out.Cells[i] = v
	}
	return out
}

// Grid returns the colors of the cells.
func (l *Linear) Grid() *lab.Grid {
	g := lab.NewGrid(l.Cols, l.Rows)
	for i, c := range l.Cells {
		g.Cells[i] = lab.FromLinear(c[0], c[1], c[2]).Round()
	}
	return g
}

// Opacity returns the mean opacity under each drill, 1 being opaque, row by
// row from the top left; nil when the whole photo is opaque.
func (p *Photo) Opacity(crop Crop, cols, rows int) []float64 {
	if !p.HasAlpha {
		return nil
	}
	cells := p.means(opacity{p.px}, crop, cols, rows)
	out := make([]float64, len(cells))
	for i, c := range cells {
		out[i] = float64(c[0]) / lab.LinearOne
	}
	return out
}

func (p *Photo) means(px pixels, crop Crop, cols, rows int) []light {
	if cols <= 0 || rows <= 0 {
		panic("photo: a grid needs at least one column and one row")
	}
	w, h := px.size()
	sw, sh := p.turn.size(cols, rows)
	stored := means(px, p.turn.window(p.window(crop), w, h), sw, sh)
	return uprightCells(p.turn, stored, sw, sh)
}

// span is the stretch of pixels under one cell of an axis: first to last, both
// with a weight of their own, those between with the weight unit of the axis.
type span struct {
	first, last int
	wFirst      uint64
	wLast       uint64 // 0 where first == last
}

// spans divides length parts of a pixel, from start, into n cells. Weights
// count 1/(sub*n) pixels: then all of them are whole numbers, those of a cell
// add up to length, and a whole pixel weighs unit.
func spans(start, length int64, n int) (cells []span, unit uint64) {
	u := sub * int64(n)
	cells = make([]span, n)
	for i := range cells {
		lo := start*int64(n) + int64(i)*length
		hi := lo + length
		s := span{first: int(lo / u), last: int((hi - 1) / u)}
		if s.first == s.last {
			s.wFirst = uint64(length)
		} else {
			s.wFirst = uint64((int64(s.first)+1)*u - lo)
			s.wLast = uint64(hi - int64(s.last)*u)
		}
		cells[i] = s
	}
	return cells, uint64(u)
}

// means averages a window of the stored pixels to cols x rows cells.
//
// A row of pixels is averaged sideways first and kept to 7 more bits than the
// light of a pixel has, then those rows are averaged: within one unit
// (1/LinearOne) of the true mean. Sums stay below 2^63: a side has at most
// 2^17 pixels of 2^12 parts, light 24 bits.
//
// Each worker does a band of rows of its own, so the answer does not depend on
// how many there are.
func means(px pixels, win window, cols, rows int) []light {
	xs, xUnit := spans(win.x, win.w, cols)
	ys, yUnit := spans(win.y, win.h, rows)
	out := make([]light, cols*rows)
	x0, x1 := xs[0].first, xs[cols-1].last+1

	band := func(from, to int) {
		line := make([]light, x1-x0)
		side := make([]light, cols) // the row of pixels sideY, averaged sideways
		sums := make([][3]uint64, cols)
		sideY := -1
		for cy := from; cy < to; cy++ {
			clear(sums)
			s := ys[cy]
			for y := s.first; y <= s.last; y++ {
				weight := yUnit
				switch y {
				case s.first:
					weight = s.wFirst
				case s.last:
					weight = s.wLast
				}
				if y != sideY {
					px.line(y, x0, x1, line)
					sideways(line, x0, xs, xUnit, uint64(win.w), side)
					sideY = y
				}
				for i, v := range side {
					sums[i][0] += weight * uint64(v[0])
					sums[i][1] += weight * uint64(v[1])
					sums[i][2] += weight * uint64(v[2])
				}
			}
			whole := uint64(win.h) << 7
			for i, v := range sums {
				for c := range v {
					out[cy*cols+i][c] = uint32((v[c] + whole/2) / whole)
				}
			}
		}
	}
	par.Bands(rows, band)
	return out
}

// sideways averages a row of pixels, the first of which is x0, to the cells
// of xs, 7 bits finer than it came.
func sideways(line []light, x0 int, xs []span, unit, whole uint64, side []light) {
	for i, s := range xs {
		a := line[s.first-x0]
		r, g, b := s.wFirst*uint64(a[0]), s.wFirst*uint64(a[1]), s.wFirst*uint64(a[2])
		if s.last > s.first {
			var ir, ig, ib uint64
			for _, v := range line[s.first-x0+1 : s.last-x0] {
				ir += uint64(v[0])
				ig += uint64(v[1])
				ib += uint64(v[2])
			}
			z := line[s.last-x0]
			r += unit*ir + s.wLast*uint64(z[0])
			g += unit*ig + s.wLast*uint64(z[1])
			b += unit*ib + s.wLast*uint64(z[2])
		}
		side[i] = light{
			uint32((r<<7 + whole/2) / whole),
			uint32((g<<7 + whole/2) / whole),
			uint32((b<<7 + whole/2) / whole),
		}
	}
}
