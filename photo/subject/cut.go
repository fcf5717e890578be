package subject

import (
	"math"

	"kitwright/lab"
	"kitwright/photo"
)

// How a hand-drawn ellipse is read, by squared radius: the middle is surely
// subject, the rest of it probably, the ring around it probably ground, all
// beyond surely ground. (Measured: with the ring merely probable, whole
// animals come out on thirteen of thirteen photos, ears and legs that reach
// out of the ellipse included; taken as sure ground it cuts them off.)
const (
	sureInside   = 0.12
	sureOutside  = 1.7
	cutRounds    = 5    // at half size; one more follows at full size
	outlineReach = 5    // cells that one more round may move the outline
	smoothness   = 50.0 // gamma of the authors, who found it on 15 pictures
	sure         = 450  // 9 gamma: more than all a cell's neighbors can weigh
	perUnit      = 64   // capacities are whole numbers of 1/64
	ellipsePull  = 2.0  // at the middle; none at the rim, against the subject beyond (measured: chelsea's face, the astronaut's straps come whole)
	cutSettled   = 1000 // stop when fewer than 1 in 1000 cells change
)

// Cut parts the subject under a hand-drawn ellipse (in percent of the picture)
// from its ground by color: GrabCut (C. Rother, V. Kolmogorov, A. Blake, ACM
// Transactions on Graphics 23 (2004) 309-314) with five Gaussians a side on 8
// neighbors, in CIE L*a*b* after the brightness was leveled so that a photo
// taken in the dark parts like one in daylight. It starts from farthest points
// instead of random ones, so the same picture always parts the same way. The
// parting is found at half the size and its outline then moved at full size.
//
// It is made for pictures of about 320 cells on the long side.
func Cut(l *photo.Linear, e photo.Ellipse) *photo.Mask {
	half := halved(l)
	m := resize(parted(half, e, nil, cutRounds), l.Cols, l.Rows)
	m = parted(l, e, m, 1)
	near(m, e)
	tidy(m)
	return m
}

// parted makes some rounds of GrabCut from the ellipse, or from a first guess:
// then only cells near its outline may change.
func parted(l *photo.Linear, e photo.Ellipse, guess *photo.Mask, rounds int) *photo.Mask {
	m := &photo.Mask{Cols: l.Cols, Rows: l.Rows, In: make([]bool, len(l.Cells)), By: "ellipse"}
	colors := l.Leveled()
	radius := make([]float64, len(m.In))
	box := reach(m, e, radius)
	if box.w == 0 {
		return m
	}
	if guess != nil {
		m = guess
		open := outline(m, outlineReach)
		for i, r := range radius {
			switch {
			case open[i] || r >= sureOutside:
			case m.In[i]:
				radius[i] = 0
			default:
				radius[i] = sureOutside
			}
		}
	}
	links := linksOf(colors, l.Cols, box)
	f := newFlow(box.w, box.h)
	for round := 0; round < rounds; round++ {
		var sides [2]mixture
		for s := range sides {
			var of []lab.Color
			for i, in := range m.In {
				if in == (s == 1) {
					of = append(of, colors[i])
				}
			}
			if len(of) == 0 {
				return m
			}
			sides[s] = mix(of)
		}
		f.reset(links)
		for y := 0; y < box.h; y++ {
			for x := 0; x < box.w; x++ {
				i := (box.y+y)*l.Cols + box.x + x
				var pull float64
				switch r := radius[i]; {
				case r < sureInside:
					pull = sure
				case r >= sureOutside:
					pull = -sure
				default:
					pull = sides[0].cost(colors[i]) - sides[1].cost(colors[i]) + float64(ellipsePull*(1-r))
				}
				f.toEnd[f.at(x, y)] = int32(math.Round(math.Max(-sure, math.Min(sure, pull)) * perUnit))
			}
		}
		f.cut()
		changed := 0
		for y := 0; y < box.h; y++ {
			for x := 0; x < box.w; x++ {
				i := (box.y+y)*l.Cols + box.x + x
				if in := f.tree[f.at(x, y)] == sourceTree; in != m.In[i] {
					m.In[i] = in
					changed++
				}
			}
		}
		if changed*cutSettled < len(m.In) {
			break
		}
	}
	return m
}

// outline tells the cells with both subject and ground within some cells of
// them, across or down.
func outline(m *photo.Mask, reach int) []bool {
	along := func(in []bool, n, lines, step, next int) (subject, ground []bool) {
		subject, ground = make([]bool, len(in)), make([]bool, len(in))
		for line := 0; line < lines; line++ {
			for i := 0; i < n; i++ {
				for k := max(0, i-reach); k <= min(n-1, i+reach); k++ {
					at := line*next + i*step
					if in[line*next+k*step] {
						subject[at] = true
					} else {
						ground[at] = true
					}
				}
			}
		}
		return subject, ground
	}
	out := make([]bool, len(m.In))
	s, g := along(m.In, m.Cols, m.Rows, 1, m.Cols)
	s2, g2 := along(m.In, m.Rows, m.Cols, m.Cols, 1)
	for i := range out {
		out[i] = s[i] && g[i] || s2[i] && g2[i]
	}
	return out
}

// halved returns the means of 2 x 2 cells; an odd last row or column counts
// alone.
func halved(l *photo.Linear) *photo.Linear {
	out := &photo.Linear{Cols: (l.Cols + 1) / 2, Rows: (l.Rows + 1) / 2}
	out.Cells = make([][3]float64, out.Cols*out.Rows)
	for i := range out.Cells {
		n := 0.0
		for y := i / out.Cols * 2; y < min(l.Rows, i/out.Cols*2+2); y++ {
			for x := i % out.Cols * 2; x < min(l.Cols, i%out.Cols*2+2); x++ {
				for c, v := range l.Cells[y*l.Cols+x] {
					out.Cells[i][c] += v
				}
				n++
			}
		}
		for c := range out.Cells[i] {
			out.Cells[i][c] /= n
		}
	}
	return out
}

type cells struct{ x, y, w, h int }

// reach fills in the squared radius of every cell, takes what is inside for
// subject, and returns the box of cells about which there is any question,
// with a ring of ground around it.
func reach(m *photo.Mask, e photo.Ellipse, radius []float64) cells {
	maybe := &photo.Mask{Cols: m.Cols, Rows: m.Rows, In: make([]bool, len(m.In))}
	for i := range m.In {
		r := e.Center2(i, m.Cols, m.Rows)
		radius[i], m.In[i], maybe.In[i] = r, r < 1, r < sureOutside
	}
	x0, y0, x1, y1 := maybe.Box()
	if x0 == x1 {
		return cells{}
	}
	x0, y0, x1, y1 = max(0, x0-1), max(0, y0-1), min(m.Cols, x1+1), min(m.Rows, y1+1)
	return cells{x0, y0, x1 - x0, y1 - y0}
}

// linksOf returns the capacities between neighbors: dear where the color is
// the same, cheap across an edge.
func linksOf(colors []lab.Color, cols int, box cells) []int32 {
	f := newFlow(box.w, box.h)
	var sum float64
	n := 0
	each := func(do func(place, d int, d2 float64)) {
		for y := 0; y < box.h; y++ {
			for x := 0; x < box.w; x++ {
				for d, to := range [8][2]int{{1, 0}, {}, {0, 1}, {}, {1, 1}, {}, {-1, 1}, {}} {
					tx, ty := x+to[0], y+to[1]
					if d%2 == 1 || tx < 0 || tx >= box.w || ty >= box.h {
						continue
					}
					p := colors[(box.y+y)*cols+box.x+x]
					q := colors[(box.y+ty)*cols+box.x+tx]
					u, v, w := p.L-q.L, p.A-q.A, p.B-q.B
					do(f.at(x, y), d, float64(u*u)+float64(v*v)+float64(w*w))
				}
			}
		}
	}
	each(func(_, _ int, d2 float64) { sum += d2; n++ })
	beta := 0.0
	if sum > 0 {
		beta = float64(n) / (2 * sum)
	}
	each(func(place, d int, d2 float64) {
		c := smoothness * math.Exp(-beta*d2)
		if d >= 4 {
			c /= math.Sqrt2
		}
		f.arc[8*place+d] = int32(math.Round(c * perUnit))
		f.arc[8*(place+f.offset[d])+d^1] = f.arc[8*place+d]
	})
	return f.arc
}

// reset empties the network but for the arcs between neighbors.
func (f *flow) reset(arcs []int32) {
	copy(f.arc, arcs)
	clear(f.toEnd)
	clear(f.tree)
	clear(f.parent)
	clear(f.stamp)
	clear(f.dist)
	clear(f.queued)
	f.now, f.head, f.active, f.orphans = 0, 0, f.active[:0], f.orphans[:0]
}
