package photo

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
