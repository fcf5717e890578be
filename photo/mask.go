package photo

// Ellipse is a rounded place in a picture: the box around it in percent of the
// picture's width and height, from the top left corner.
type Ellipse struct{ X, Y, W, H float64 }

// Radius2 is the squared radius of a point given in percent: below 1 inside.
func (e Ellipse) Radius2(x, y float64) float64 {
	u := (x - e.X - float64(e.W/2)) / (e.W / 2)
	v := (y - e.Y - float64(e.H/2)) / (e.H / 2)
	return float64(u*u) + float64(v*v)
}

// Center2 is the squared radius of the middle of a cell of a cols x rows grid.
func (e Ellipse) Center2(i, cols, rows int) float64 {
	return e.Radius2((float64(i%cols)+0.5)*100/float64(cols), (float64(i/cols)+0.5)*100/float64(rows))
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
