package place

import (
	"math"

	"kitwright/internal/par"
)

// weighs says before which passes the far view is weighed anew: the second, and
// the fourth, from which on lone drills cost what they cost.
func weighs(pass int) bool { return pass == 1 || pass == early }

// reweigh gives the metrics of a layer their weights for what is laid: the miss
// of a cell from afar counts by its square up to with.bend and then grows no
// faster than it does there (P. J. Huber, "Robust estimation of a location
// parameter", Ann. Math. Statist. 35 (1964) 73-101), since what no mixture
// can reach would otherwise be fought for with grain. As usual (iteratively
// reweighted least squares) the square is kept, and each cell's weighed so that
// both fall alike where it is now; what lowers the weighed sum lowers the other.
//
// The weights are those of share times the miss. It returns what the far view
// costs at least by its tangent there, in costs, with nothing of its gradient
// that the cells laid don't have themselves: with share 1, what it costs.
func (l *layer) reweigh(share float64) float64 {
	sum := l.weigh(share)
	l.wakeAll()
	return sum
}

// weigh is reweigh that wakes no cell.
func (l *layer) weigh(share float64) (sum float64) {
	if l.plain == nil {
		l.plain = l.Scene
	}
	was := l.Scene
	s := *l.plain
	s.near, s.wide = make([]narrow, len(s.near)), make([]metric, len(s.near))
	blurs, mesh := l.blurs()
	tangents := make([]float64, l.rows)
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			q := l.place(x, y)
			e := l.squareAt(q, &blurs[q], &mesh)
			w := 1.
			if bend := l.with.bend; bend > 0 && share*share*e > bend*bend {
				w = bend / (share * math.Sqrt(e))
			}
			tangents[y] += l.bent(share*share*e) + float64(2*share*(1-share)*w*e)
			for k, v := range l.plain.near[q] {
				s.near[q][k] = int32(math.Round(w * float64(v)))
			}
		}
	})
	changed := make([]bool, len(s.near))
	for q := range s.near {
		if s.near[q] != was.near[q] {
			for _, b := range s.changes[0].all {
				changed[q+b.offset] = true
			}
			for _, b := range s.changes[0].blue {
				changed[q+b.offset] = true
			}
		}
	}
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			if q := l.place(x, y); changed[q] {
				s.wide[q] = s.curve(q, &s.changes[0])
			} else {
				s.wide[q] = was.wide[q]
			}
		}
	})
	s.mesh = newMesh(&s)
	l.Scene = &s
	l.view(blurs, mesh)
	for _, t := range tangents {
		sum += t
	}
	return sum * l.with.blend * unit
}

// blurs is by how much each cell and each block of the mesh misses the target
// after the blur.
func (l *layer) blurs() ([][3]int64, mesh) {
	miss := l.misses()
	blurs := make([][3]int64, len(miss))
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			q := l.place(x, y)
			blurs[q] = l.blurred(miss, q)
		}
	})
	return blurs, l.meshOf(miss)
}

// view takes the far view up from what is laid.
func (l *layer) view(blurs [][3]int64, laid mesh) {
	l.mesh = l.Scene.mesh
	l.mesh.blur = laid.blur
	par.Rows(l.rows, func(y int) {
		for x := range l.cols {
			q := l.place(x, y)
			blur := &blurs[q]
			l.pull[q][0], l.pull[q][1], l.pull[q][2] = l.near[q].times(blur[0], blur[1], blur[2])
		}
	})
}

// squareAt is the squared miss of a cell from afar, in CIEDE2000, as nothing
// weighs it: what is left of it by the narrow blur, and its share of what its
// block misses.
func (l *layer) squareAt(q int, blur *[3]int64, m *mesh) float64 {
	s := l.plain
	if s == nil {
		s = l.Scene
	}
	b := l.block(q)
	across, down := min(meshSide, l.cols-b%m.across*meshSide), min(meshSide, l.rows-b/m.across*meshSide)
	near := &s.near[q]
	a, by, c := near.times(blur[0], blur[1], blur[2])
	e := float64(float64(a)*float64(blur[0])) + float64(float64(by)*float64(blur[1])) + float64(float64(c)*float64(blur[2]))
	wide := broad(near)
	e += float64(wide.of(0, m.blur[b][1], m.blur[b][2])) / float64(across*down)
	return e / (1 << 40)
}

// bent is what a squared miss from afar counts, in CIEDE2000 squared.
func (l *layer) bent(square float64) float64 {
	if b := l.with.bend; b > 0 && square > b*b {
		return float64(2*b*math.Sqrt(square)) - float64(b*b)
	}
	return square
}
