package photo

import (
	"math"
	"slices"

	"kitwright/lab"
)

// Ellipse is a rounded place in a picture: the box around it in percent of the
// picture's width and height, from the top left corner.
type Ellipse struct{ X, Y, W, H float64 }

// radius2 is the squared radius of a point given in percent: below 1 inside.
func (e Ellipse) radius2(x, y float64) float64 {
	u := (x - e.X - e.W/2) / (e.W / 2)
	v := (y - e.Y - e.H/2) / (e.H / 2)
	return float64(u*u) + float64(v*v)
}

// center2 is the squared radius of the middle of a cell of a cols x rows grid.
func (e Ellipse) center2(i, cols, rows int) float64 {
	return e.radius2((float64(i%cols)+0.5)*100/float64(cols), (float64(i/cols)+0.5)*100/float64(rows))
}

// Within returns an ellipse of the whole photo as one of its part crop.
func (p *Photo) Within(crop Crop, e Ellipse) Ellipse {
	if crop == (Crop{}) {
		return e
	}
	w, h := float64(p.Width), float64(p.Height)
	return Ellipse{
		(float64(e.X*w) - float64(100*crop.X)) / crop.W,
		(float64(e.Y*h) - float64(100*crop.Y)) / crop.H,
		e.W * w / crop.W, e.H * h / crop.H,
	}
}

// Mask tells for each cell of a grid, row by row from the top left, whether it
// shows the subject.
type Mask struct {
	Cols, Rows int
	In         []bool
	By         string // how it was found: "transparency", "plain ground", "ellipse"
}

// working is the long side, in cells, of the picture in which a subject is
// looked for: fine enough for fur, small enough for half a second.
const working = 320

// Subject returns which cells of a cols x rows canvas show the subject, or nil
// where nothing tells.
//
// By itself it goes by the photo's transparency, or else by a ground of one
// plain color all around. A hand-drawn ellipse about the subject, in percent
// of the whole photo, is refined by its colors ([Cut]); it need not reach every
// ear and paw, but should lie mostly on the subject.
func (p *Photo) Subject(crop Crop, cols, rows int, hand *Ellipse) *Mask {
	m := ByOpacity(p.Opacity(crop, cols, rows), cols, rows)
	if hand == nil && m != nil {
		return m
	}
	w, h := working, max(1, working*rows/cols)
	if rows > cols {
		w, h = max(1, working*cols/rows), working
	}
	small := p.Linear(crop, w, h)
	flat := ByPlainGround(small.Grid())
	if hand == nil {
		return flat.resize(cols, rows)
	}
	e := p.Within(crop, *hand)
	switch {
	case m != nil:
		m.near(e)
		return m
	case flat != nil:
		flat.near(e)
		return flat.resize(cols, rows)
	}
	return Cut(small, e).resize(cols, rows)
}

// ByOpacity returns the cells that are at least half opaque ([Photo.Opacity]);
// nil where that leaves no subject or no ground.
func ByOpacity(opacity []float64, cols, rows int) *Mask {
	m := &Mask{cols, rows, make([]bool, cols*rows), "transparency"}
	for i, o := range opacity {
		m.In[i] = o >= 0.5
	}
	return m.useful()
}

// useful returns the mask, or nil if nearly all or nearly nothing is subject.
func (m *Mask) useful() *Mask {
	if n := m.Count(); n*100 < 2*len(m.In) || n*100 > 98*len(m.In) {
		return nil
	}
	return m
}

// Count returns the number of subject cells.
func (m *Mask) Count() (n int) {
	for _, in := range m.In {
		if in {
			n++
		}
	}
	return n
}

// Box returns the smallest box of cells that holds the subject: x0 <= x < x1.
func (m *Mask) Box() (x0, y0, x1, y1 int) {
	x0, y0 = m.Cols, m.Rows
	for i, in := range m.In {
		if in {
			x, y := i%m.Cols, i/m.Cols
			x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x+1), max(y1, y+1)
		}
	}
	return min(x0, x1), min(y0, y1), x1, y1
}

// resize returns the mask at another size: a cell is subject if at least half
// of its area was. Nil stays nil.
func (m *Mask) resize(cols, rows int) *Mask {
	if m == nil || m.Cols == cols && m.Rows == rows {
		return m
	}
	out := &Mask{cols, rows, make([]bool, cols*rows), m.By}
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
func (m *Mask) near(e Ellipse) {
	part, sizes := m.parts(true)
	touched := make([]bool, len(sizes))
	any := false
	for i, p := range part {
		if p >= 0 && e.center2(i, m.Cols, m.Rows) < 1 {
			touched[p], any = true, true
		}
	}
	for i, p := range part {
		if any && p >= 0 && !touched[p] {
			m.In[i] = false
		}
	}
}

// parts numbers the connected parts (by edges) of the cells that are in, or of
// those that are not, in the order of their first cells: -1 for the others.
func (m *Mask) parts(in bool) (part []int32, sizes []int) {
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

// Weights of a cell when colors are chosen: a miss in the background counts a
// quarter of one in the subject, a miss in a focus (an eye, a face) three times
// as much. (Common practice for none of them; measured on cat and dog photos:
// a quarter lowers the subject's own miss by 2 to 21 percent, three times keeps
// an eye's color at 12 colors without spoiling the fur.)
const (
	groundWeight  = 1
	subjectWeight = 4
	focusWeight   = 12
)

// Weights returns the weight of each cell of a cols x rows grid for a mask
// (nil: all is subject) and focus ellipses in percent of the grid; nil where
// all are alike.
func Weights(m *Mask, focus []Ellipse, cols, rows int) []uint16 {
	if m == nil && len(focus) == 0 {
		return nil
	}
	out := make([]uint16, cols*rows)
	for i := range out {
		out[i] = subjectWeight
		if m != nil && !m.In[i] {
			out[i] = groundWeight
		}
		for _, e := range focus {
			if e.center2(i, cols, rows) < 1 {
				out[i] = focusWeight
			}
		}
	}
	return out
}

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
func ByPlainGround(g *lab.Grid) *Mask {
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
	ground := lab.Color{L: quantile(parts[0], 0.5), A: quantile(parts[1], 0.5), B: quantile(parts[2], 0.5)}
	like := 0
	m := &Mask{cols, rows, make([]bool, cols*rows), "plain ground"}
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
	m.tidy()
	return m.useful()
}

// tidy drops specks of subject and fills holes, each smaller than 1 in 500 of
// the picture (not less than 4 cells).
func (m *Mask) tidy() {
	small := max(4, len(m.In)/500)
	for _, in := range [2]bool{true, false} {
		part, sizes := m.parts(in)
		for i, p := range part {
			if p >= 0 && sizes[p] < small {
				m.In[i] = !in
			}
		}
	}
}

// quantile returns the value below which a share q of the values lies (the
// nearest of them, none for no values); it sorts them.
func quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	return values[min(len(values)-1, int(math.Floor(q*float64(len(values)-1)+0.5)))]
}
