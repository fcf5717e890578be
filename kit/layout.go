package kit

import (
	"math"

	"kitwright/chart"
	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/photo"
)

// Layout is how the photo lies on the canvas: the grid of drills and the part
// of the photo under it.
type Layout struct {
	Cols, Rows int // of the whole canvas
	Pitch      measure.Length
	Picture    chart.Box  // where the photo lies on it: all of it without border and caption
	Crop       photo.Crop // in pixels of the upright photo
	Turned     bool       // width and height were swapped to follow the photo
	Smaller    bool       // the picture got smaller than asked to keep the whole photo
	Cut        float64    // share of the photo (after --crop) that is cut away to fill the canvas

	part   photo.Crop // what the crop was taken from: the photo after --crop
	Slid   bool       // the crop was moved visibly to hold the subject
	CutsAt []string   // the edges at which it still cuts the subject: "left", "top", "right", "bottom"
	Short  []string   // the edges at which it cuts what had to stay in
}

// Lay fits a photo of w x h pixels to the canvas.
func (c Canvas) Lay(w, h int) (Layout, error) {
	crop := c.part(w, h)
	l := Layout{Pitch: c.pitch(), Crop: crop, part: crop}
	l.Cols, l.Rows = c.Grid.Cols, c.Grid.Rows
	if c.Grid == (Cells{}) {
		l.Cols, l.Rows = int(c.Size.W/l.Pitch), int(c.Size.H/l.Pitch)
	}
	if l.Cols < 1 || l.Rows < 1 {
		return Layout{}, say.Usage("ask for a larger {size}", "%s leaves no room for one drill at %s from drill to drill", c.Size.String(), l.Pitch)
	}
	if c.Turn == TurnPhoto && l.Cols != l.Rows && (l.Cols > l.Rows) != (crop.W > crop.H) && crop.W != crop.H {
		l.Cols, l.Rows, l.Turned = l.Rows, l.Cols, true
	}
	if err := l.check(); err != nil {
		return Layout{}, err
	}

	if err := c.frame(&l); err != nil {
		return Layout{}, err
	}
	aspect := float64(l.Picture.W) / float64(l.Picture.H)
	switch c.Fit {
	case FitWhole:
		cols, rows := l.Cols, l.Rows
		if crop.W > crop.H*aspect {
			rows -= l.Picture.H - max(1, int(math.Round(float64(l.Picture.W)*crop.H/crop.W)))
		} else {
			cols -= l.Picture.W - max(1, int(math.Round(float64(l.Picture.H)*crop.W/crop.H)))
		}
		l.Smaller = cols != l.Cols || rows != l.Rows
		l.Cols, l.Rows = cols, rows
		if err := c.frame(&l); err != nil { // a narrower caption may take another size
			return Layout{}, err
		}
	default:
		if crop.W > crop.H*aspect {
			keep := float64(crop.H * aspect)
			crop.X += float64((crop.W - keep) / 2)
			crop.W = keep
		} else {
			keep := crop.W / aspect
			crop.Y += float64((crop.H - keep) / 2)
			crop.H = keep
		}
		l.Cut = 1 - crop.W*crop.H/(l.Crop.W*l.Crop.H)
		l.Crop = crop
		if c.CropTo != (Box{}) {
			held := l.holding(c.CropTo.pixels(w, h))
			l.Crop, l.Short = held.Crop, held.CutsAt
		}
	}
	return l, nil
}

// part returns the part of a photo of w x h pixels that --crop leaves.
func (c Canvas) part(w, h int) photo.Crop {
	if c.Crop == (Box{}) {
		return photo.Crop{W: float64(w), H: float64(h)}
	}
	return c.Crop.pixels(w, h)
}

// pixels returns the box in a photo of w x h pixels.
func (b Box) pixels(w, h int) photo.Crop {
	return photo.Crop{
		X: b.X / 100 * float64(w), Y: b.Y / 100 * float64(h),
		W: b.W / 100 * float64(w), H: b.H / 100 * float64(h),
	}
}

// holding returns the layout with the crop moved no farther than it has to be
// to hold a box of pixels, within what it was taken from. A box too long for it
// lies in its middle.
func (l Layout) holding(box photo.Crop) Layout {
	slid := func(at, length, from, whole, lo, size float64) float64 {
		to := at
		switch {
		case size > length:
			to = lo + float64((size-length)/2)
		case lo < at:
			to = lo
		case lo+size > at+length:
			to = lo + size - length
		}
		return math.Max(from, math.Min(from+whole-length, to))
	}
	c, p := l.Crop, l.part
	l.Crop.X = slid(c.X, c.W, p.X, p.W, box.X, box.W)
	l.Crop.Y = slid(c.Y, c.H, p.Y, p.H, box.Y, box.H)
	l.Slid = math.Abs(l.Crop.X-c.X) > float64(hair*c.W) || math.Abs(l.Crop.Y-c.Y) > float64(hair*c.H)
	l.CutsAt = l.cuts(box)
	return l
}

const hair = 0.02 // of a side: less is not worth a word, nor is an outline known better

// cuts returns the edges at which the crop cuts a box of pixels.
func (l Layout) cuts(box photo.Crop) (at []string) {
	c := l.Crop
	for _, edge := range []struct {
		name       string
		over, size float64
	}{
		{"left", c.X - box.X, box.W}, {"top", c.Y - box.Y, box.H},
		{"right", box.X + box.W - c.X - c.W, box.W}, {"bottom", box.Y + box.H - c.Y - c.H, box.H},
	} {
		if edge.over > float64(hair*edge.size) {
			at = append(at, edge.name)
		}
	}
	return at
}

// frame finds where the photo lies between border and caption.
func (c Canvas) frame(l *Layout) (err error) {
	l.Picture = chart.Box{W: l.Cols, H: l.Rows}
	if f := c.frameOf(*l); f.Border > 0 || f.Caption != "" {
		l.Picture, _, err = f.Layout()
	}
	return err
}

// frameOf returns the border and caption of a canvas.
func (c Canvas) frameOf(l Layout) chart.Frame {
	size := map[CaptionSize]chart.Size{CaptionSmall: chart.Small, CaptionLarge: chart.Large}[c.CaptionSize] // else it fits
	return chart.Frame{Cols: l.Cols, Rows: l.Rows, Border: c.Border.Drills, Caption: c.Caption, Size: size}
}

// check refuses what no canvas can be.
func (l Layout) check() error {
	if l.Cols > MaxDrills || l.Rows > MaxDrills || l.Cols*l.Rows > MaxDrills {
		return say.Usage("60x80cm is a large canvas already", "%d x %d drills are more than the two million that one chart may have", l.Cols, l.Rows)
	}
	if l.Width() > MaxSide || l.Height() > MaxSide {
		return say.Usage("split the picture into panels", "a picture of %s is larger than the 5 m that one sheet may have", l.Size().String())
	}
	return nil
}

// Width returns the true width of the drilled picture.
func (l Layout) Width() measure.Length { return measure.Length(l.Cols) * l.Pitch }

// Height returns the true height of the drilled picture.
func (l Layout) Height() measure.Length { return measure.Length(l.Rows) * l.Pitch }

// Size returns the true size of the drilled picture.
func (l Layout) Size() measure.Size { return measure.Size{W: l.Width(), H: l.Height()} }

// Ellipse returns the middle and the half axes, in cells of the canvas, of the
// ellipse inside a box of a photo of w x h pixels.
func (l Layout) Ellipse(b Box, w, h int) (cx, cy, rx, ry float64) {
	perX, perY := float64(l.Picture.W)/l.Crop.W, float64(l.Picture.H)/l.Crop.H
	pw, ph := float64(w)/100, float64(h)/100
	rx, ry = b.W/2, b.H/2
	cx, cy = float64((b.X+float64(rx))*pw)-l.Crop.X, float64((b.Y+float64(ry))*ph)-l.Crop.Y
	return float64(cx*perX) + float64(l.Picture.X), float64(cy*perY) + float64(l.Picture.Y), rx * pw * perX, ry * ph * perY
}
