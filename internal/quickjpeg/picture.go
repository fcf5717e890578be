package quickjpeg

// Plane holds the numbers of one component, one for H x V pixels.
type Plane struct {
	Pix    []byte
	Stride int
	H, V   int
}

// Colors tells what the planes are.
type Colors int

// The kinds of pictures. With Adobe's marker inks are stored as what is left
// of the paper: 255 is no ink.
const (
	Gray   Colors = iota
	YCC           // luma and two color differences (ITU-T T.871)
	RGB           // red, green and blue
	Inks          // cyan, magenta, yellow, black, 255 being no ink
	YCCInk        // cyan, magenta and yellow as luma and color differences; black
)

// Picture is a decoded picture.
type Picture struct {
	Width, Height int
	Colors        Colors
	Planes        []Plane
	// Rows is how many rows of pixels are there, counted from the top: Height,
	// unless the file broke off.
	Rows int
	// Coarse tells that a progressive file broke off before its last details.
	Coarse bool
}

// picture hands out what has come.
func (d *decoder) picture() (*Picture, error) {
	p := &Picture{Width: d.w, Height: d.h, Rows: d.h}
	if !d.begun() {
		return nil, ErrShort
	}
	for i := range d.comps {
		c := &d.comps[i]
		if c.rows < d.rowsOf(c) {
			p.Rows = min(p.Rows, 8*c.rows*d.vmax/c.v)
		}
	}
	if d.progressive {
		if d.broken && !d.whole() {
			// What has only the mean of its blocks is not there for a viewer.
			c := &d.comps[0]
			if c.fine < d.rowsOf(c) {
				p.Rows = min(p.Rows, 8*c.fine*d.vmax/c.v)
			}
			p.Coarse = true
		}
		if p.Rows > 0 {
			if err := d.paintAll(); err != nil {
				return nil, err
			}
		}
	}
	if p.Rows == 0 {
		return nil, ErrShort
	}
	var err error
	if p.Colors, err = d.colors(); err != nil {
		return nil, err
	}
	for i := range d.comps {
		c := &d.comps[i]
		p.Planes = append(p.Planes, Plane{c.pix, c.stride, d.hmax / c.h, d.vmax / c.v})
	}
	return p, nil
}

// colors tells what the components are: by JFIF, by Adobe's marker (Adobe
// technical note 5116, section 18: 0 as it is, 1 YCbCr, 2 YCCK), or by the
// letters some writers give them.
func (d *decoder) colors() (Colors, error) {
	switch len(d.comps) {
	case 1:
		return Gray, nil
	case 3:
		letters := d.comps[0].id == 'R' && d.comps[1].id == 'G' && d.comps[2].id == 'B'
		if !d.jfif && (d.adobe == 0 || d.adobe < 0 && letters) {
			return RGB, nil
		}
		return YCC, nil
	}
	switch d.adobe {
	case 0:
		return Inks, nil
	case 2:
		return YCCInk, nil
	}
	return 0, ErrKind("holds four colors and does not say which")
}
