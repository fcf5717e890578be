package photo

import (
	"cmp"
	"math"
	"slices"

	"kitwright/internal/plane"
	"kitwright/lab"
)

// Sharpness tells what a photo is worth under the drills of one canvas: how
// soft its sharpest edges are, as the sigma of the Gaussian blur that would make
// a step so soft, in drills (0 where there are too few edges to tell), and how
// well it was saved.
type Sharpness struct {
	edges   float64    // in all directions
	toward  [4]float64 // where light changes across, along one diagonal, down, along the other
	oneWay  float64    // how much more one direction prevails in fine detail than in coarse; 1 = no more
	quality int        // of a JPEG, 1 to 100; 0 = not known
}

const (
	windowDrills = 8   // side of a window that is looked at
	mostWindows  = 40  // of them
	finest       = 4   // parts of a drill, at the most
	reblur       = 1.5 // sigma of the second blur, in parts
	fewEdges     = 25  // too few to speak of them
	sharpest     = 0.3 // the quantile of the softness of edges that stands for all
	softestEdge  = 20  // parts; what is softer is no edge
)

// Sharpness measures the photo itself, finer than drills, in windows around
// the strongest edges of the picture that is made of it (within the subject,
// if it is known).
//
// At each edge the slope is compared with that of the same edge blurred once
// more: a step of sigma s, blurred by r, is sqrt(s*s + r*r) / s times steeper
// than before. S. Zhuo, T. Sim, "Defocus map estimation from a single image",
// Pattern Recognition 44 (2011), 1852, section 3; where they fill a map in
// between we take a quantile. A shaken photo is told by its structure tensor
// (J. Bigun, G. Granlund, "Optimal orientation detection of linear symmetry",
// ICCV 1987, 433): motion takes away fine detail along its way, and far less
// of the coarse.
func (p *Photo) Sharpness(crop Crop, picture *Linear, subject *Mask) Sharpness {
	out := Sharpness{quality: p.quality}
	if crop == (Crop{}) {
		crop = p.Whole()
	}
	w, h := crop.W/float64(picture.Cols), crop.H/float64(picture.Rows)
	parts := min(max(int(math.Min(w, h)), 1), finest)
	side := windowDrills * parts
	half := lightness(halved(picture))
	var all []float64
	var each [4][]float64
	var fine, coarse tensor
	for _, at := range steepest(picture, subject) {
		x, y := at%picture.Cols, at/picture.Cols
		part := Crop{crop.X + float64(float64(x-windowDrills/2)*w), crop.Y + float64(float64(y-windowDrills/2)*h), windowDrills * w, windowDrills * h}
		light := lightness(p.Linear(part, side, side))
		fine.add(light, 0, 0, side, side)
		coarse.add(half, x/2-5, y/2-5, x/2+6, y/2+6)
		for _, e := range edgesOf(light) {
			s := e.sigma / float64(parts)
			all = append(all, s)
			each[e.toward] = append(each[e.toward], s)
		}
	}
	if len(all) < fewEdges {
		return out
	}
	out.edges = plane.Quantile(all, sharpest)
	for i, v := range each {
		if len(v) >= fewEdges {
			out.toward[i] = plane.Quantile(v, sharpest)
		}
	}
	out.oneWay = fine.anisotropy() / coarse.anisotropy()
	return out
}

// band is a plane of lightness.
type band struct {
	cols, rows int
	l          []float64
}

func lightness(l *Linear) band {
	b := band{l.Cols, l.Rows, make([]float64, len(l.Cells))}
	for i, c := range l.Cells {
		b.l[i] = lab.Lightness(lab.Luminance(c))
	}
	return b
}

// halved is a picture of half the size; an odd last row or column is left out.
func halved(l *Linear) *Linear {
	out := &Linear{Cols: max(1, l.Cols/2), Rows: max(1, l.Rows/2)}
	for y := range out.Rows {
		for x := range out.Cols {
			a, b := min(2*y+1, l.Rows-1)*l.Cols, min(2*x+1, l.Cols-1)
			var c [3]float64
			for i := range c {
				c[i] = (l.Cells[2*y*l.Cols+2*x][i] + l.Cells[2*y*l.Cols+b][i] + l.Cells[a+2*x][i] + l.Cells[a+b][i]) / 4
			}
			out.Cells = append(out.Cells, c)
		}
	}
	return out
}

// steepest picks cells with the greatest changes of lightness, the greatest
// first, so far apart that their windows hardly overlap, away from the border.
func steepest(l *Linear, subject *Mask) (picked []int) {
	b := lightness(l)
	slope := map[int]float64{}
	var all []int
	const rim = windowDrills/2 + 1
	for y := rim; y < l.Rows-rim; y++ {
		for x := rim; x < l.Cols-rim; x++ {
			if i := y*l.Cols + x; subject == nil || subject.In[i] {
				_, _, slope[i] = b.slope(i)
				all = append(all, i)
			}
		}
	}
	slices.SortFunc(all, func(i, k int) int { return cmp.Or(-cmp.Compare(slope[i], slope[k]), i-k) })
	for _, i := range all {
		near := func(o int) bool {
			return max(abs(o%l.Cols-i%l.Cols), abs(o/l.Cols-i/l.Cols)) < windowDrills*3/4
		}
		if slices.ContainsFunc(picked, near) {
			continue
		}
		if picked = append(picked, i); len(picked) == mostWindows {
			break
		}
	}
	return picked
}

func abs(v int) int { return max(v, -v) }

func (b band) slope(i int) (x, y, both float64) {
	x, y = (b.l[i+1]-b.l[i-1])/2, (b.l[i+b.cols]-b.l[i-b.cols])/2
	return x, y, math.Sqrt(float64(x*x) + float64(y*y))
}

// edge is a place where lightness changes fastest on the way across.
type edge struct {
	sigma  float64 // in cells
	toward int     // 0 across, 1 along one diagonal, 2 down, 3 along the other
}

// edgesOf measures the clear edges of a window.
func edgesOf(b band) (out []edge) {
	const rim = 3
	soft := band{b.cols, b.rows, plane.Blurred(b.l, b.cols, b.rows, reblur)}
	most := 0.0
	each := func(do func(i int)) {
		for y := rim; y < b.rows-rim; y++ {
			for x := rim; x < b.cols-rim; x++ {
				do(y*b.cols + x)
			}
		}
	}
	each(func(i int) {
		_, _, g := b.slope(i)
		most = math.Max(most, g)
	})
	each(func(i int) {
		gx, gy, g := b.slope(i)
		if g < 0.4*most || g < 0.5 { // L* a cell
			return
		}
		toward := (int(math.Round(math.Atan2(gy, gx)/(math.Pi/4))) + 8) % 4
		step := [4]int{1, b.cols + 1, b.cols, b.cols - 1}[toward]
		_, _, before := b.slope(i - step)
		_, _, behind := b.slope(i + step)
		if g < before || g <= behind {
			return
		}
		_, _, again := soft.slope(i)
		sigma := float64(softestEdge)
		if ratio := g / math.Max(again, 1e-9); ratio > 1.002 {
			sigma = math.Min(sigma, reblur/math.Sqrt(float64(ratio*ratio)-1))
		}
		out = append(out, edge{sigma, toward})
	})
	return out
}

// tensor sums up in which directions lightness changes.
type tensor struct{ xx, yy, xy float64 }

// add adds the window from x0, y0 up to x1, y1, each window counting alike.
func (t *tensor) add(b band, x0, y0, x1, y1 int) {
	var s tensor
	for y := max(y0, 1); y < min(y1, b.rows-1); y++ {
		for x := max(x0, 1); x < min(x1, b.cols-1); x++ {
			gx, gy, _ := b.slope(y*b.cols + x)
			s.xx += float64(gx * gx)
			s.yy += float64(gy * gy)
			s.xy += float64(gx * gy)
		}
	}
	if all := s.xx + s.yy; all > 0 {
		t.xx, t.yy, t.xy = t.xx+s.xx/all, t.yy+s.yy/all, t.xy+s.xy/all
	}
}

// anisotropy is how much more the foremost direction has than the one across.
func (t *tensor) anisotropy() float64 {
	mean, d := float64((t.xx+t.yy)/2), (t.xx-t.yy)/2
	r := math.Sqrt(float64(d*d) + float64(t.xy*t.xy))
	return (mean + r) / math.Max(mean-r, 1e-3)
}

// Bounds of sharpness. (Our choice: twelve open photos of animals and six of
// scikit-image at 160 drills have edges of .06 to .35 drills and oneWay up to
// 1.2, where it matters; TestAdviceOnPhotos watches them.)
const (
	softAt    = 0.5  // drills: from here on detail is lost
	ownSoft   = 1.2  // pixels: no photo is sharper by itself, so few pixels alone are no softness
	blurAt    = 0.78 // drills
	shakenWay = 1.28 // of oneWay
	shakenAt  = 0.18 // drills: less does not show
	plainly   = 0.35 // drills, in one direction
	plainWay  = 1.8  // times as soft in one direction as in another
)

// soft tells whether detail is lost for want of sharpness.
func (s Sharpness) soft(pixelsPerDrill float64) bool {
	return s.edges > math.Max(softAt, ownSoft/pixelsPerDrill)
}

// shaken tells whether the photo is blurred in one direction.
func (s Sharpness) shaken() bool {
	most, least := 0.0, math.Inf(1)
	for _, v := range s.toward {
		if v > 0 {
			most, least = math.Max(most, v), math.Min(least, v)
		}
	}
	return s.oneWay > shakenWay && most > shakenAt || most > plainly && most > plainWay*least
}
