package place

// borders is what the borders to a cell's eight neighbors cost if it has the
// color.
func (l *layer) borders(q int, c uint16) (sum int64) {
	up, down := l.at[q-l.stride-1:][:3], l.at[q+l.stride-1:][:3]
	row := l.beside[int(c)*l.colors:][:l.colors]
	for _, b := range [4]uint16{l.at[q-1], l.at[q+1], up[1], down[1]} {
		if b != outside {
			sum += row[b]
		}
	}
	row = l.corner[int(c)*l.colors:][:l.colors]
	for _, b := range [4]uint16{up[0], up[2], down[0], down[2]} {
		if b != outside {
			sum += row[b]
		}
	}
	return sum
}

// term is what a cell costs for standing alone, or amid a line that is one
// drill wide.
func (l *layer) term(q int) int64 {
	if !l.free[q] {
		return 0
	}
	c := l.at[q]
	return l.single(q, l.at[q-1] == c, l.at[q+1] == c, l.at[q-l.stride] == c, l.at[q+l.stride] == c)
}

// terms is what the cells cost for it that a change of one touches.
func (l *layer) terms(q int) int64 {
	return l.term(q) + l.term(q-1) + l.term(q+1) + l.term(q-l.stride) + l.term(q+l.stride)
}

// side is a neighbor that has a cell beside it which may change.
type side struct {
	color         uint16
	with, without int64 // what it costs for standing alone, or amid a line, with the cell in its own color and in another
}

// sideOf looks at the neighbor a step from a cell, across being the step to
// the neighbor's own on either side.
func (l *layer) sideOf(q, step, across int) side {
	n := q + step
	s := side{color: l.at[n]}
	if !l.free[n] {
		return s
	}
	behind, a, b := l.at[n+step] == s.color, l.at[n+across] == s.color, l.at[n-across] == s.color
	switch {
	case behind && !a && !b:
		s.with = l.worm
	case !behind && a && b:
		s.without = l.worm
	case !behind && !a && !b && !l.spark[n]:
		s.without = l.lone
	}
	return s
}

// sidesCost is what those beside a cell cost if it has the color.
func sidesCost(sides []side, c uint16) (sum int64) {
	for i := range sides {
		if sides[i].color == c {
			sum += sides[i].with
		} else {
			sum += sides[i].without
		}
	}
	return sum
}

// single is what a cell costs for standing alone, or amid a line, by which of
// its neighbors are like it.
func (l *layer) single(q int, left, right, up, down bool) int64 {
	switch {
	case !left && !right && !up && !down:
		if l.spark[q] {
			return 0
		}
		return l.lone
	case left && right && !up && !down, up && down && !left && !right:
		return l.worm
	}
	return 0
}

// round is all around a free cell that its color has to do with.
type round struct {
	q      int
	sides  [4]side // left, right, above, below
	corner [4]uint16
}

func (l *layer) roundOf(q int) (r round) {
	r.q = q
	r.sides = [4]side{l.sideOf(q, -1, l.stride), l.sideOf(q, 1, l.stride), l.sideOf(q, -l.stride, 1), l.sideOf(q, l.stride, 1)}
	r.corner = [4]uint16{l.at[q-l.stride-1], l.at[q-l.stride+1], l.at[q+l.stride-1], l.at[q+l.stride+1]}
	return r
}

// cost is that of borders, lone drills and lines if the cell has the color.
func (r *round) cost(l *layer, c uint16) int64 {
	s := &r.sides
	return l.single(r.q, s[0].color == c, s[1].color == c, s[2].color == c, s[3].color == c) +
		sidesCost(s[:], c) + l.bordersTo(c, r.sides[:], r.corner[:])
}

// bordersTo is what the borders of a color to those beside and across a corner
// cost.
func (l *layer) bordersTo(c uint16, sides []side, corners []uint16) (sum int64) {
	row := l.beside[int(c)*l.colors:][:l.colors]
	for i := range sides {
		if b := sides[i].color; b != outside {
			sum += row[b]
		}
	}
	row = l.corner[int(c)*l.colors:][:l.colors]
	for _, b := range corners {
		if b != outside {
			sum += row[b]
		}
	}
	return sum
}

// pairRound is all around two neighbors.
type pairRound struct {
	q, n             int
	besideQ, besideN [3]side // without each other: before or behind the pair, then those on either side
	cornerQ, cornerN [4]uint16
}

// pairRoundOf looks around q and n, its right (0) or lower (1) neighbor.
func (l *layer) pairRoundOf(q, n, direction int, r *round) (p pairRound) {
	p.q, p.n, p.cornerQ = q, n, r.corner
	if direction == 0 {
		p.besideQ = [3]side{r.sides[0], r.sides[2], r.sides[3]}
		p.besideN = [3]side{l.sideOf(n, 1, l.stride), l.sideOf(n, -l.stride, 1), l.sideOf(n, l.stride, 1)}
	} else {
		p.besideQ = [3]side{r.sides[2], r.sides[0], r.sides[1]}
		p.besideN = [3]side{l.sideOf(n, l.stride, 1), l.sideOf(n, -1, l.stride), l.sideOf(n, 1, l.stride)}
	}
	p.cornerN = [4]uint16{l.at[n-l.stride-1], l.at[n-l.stride+1], l.at[n+l.stride-1], l.at[n+l.stride+1]}
	return p
}

// cost is that of borders, lone drills and lines if the two have these colors.
func (p *pairRound) cost(l *layer, cq, cn uint16) int64 {
	a, b := &p.besideQ, &p.besideN
	return l.single(p.q, a[0].color == cq, cq == cn, a[1].color == cq, a[2].color == cq) +
		l.single(p.n, b[0].color == cn, cq == cn, b[1].color == cn, b[2].color == cn) +
		sidesCost(a[:], cq) + sidesCost(b[:], cn) +
		l.bordersTo(cq, a[:], p.cornerQ[:]) + l.bordersTo(cn, b[:], p.cornerN[:]) + l.beside[int(cq)*l.colors+int(cn)]
}
