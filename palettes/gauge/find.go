package gauge

import (
	"image"
	"math"
	"slices"

	"kitwright/internal/say"
)

// seekSide is the longer side of the picture that markers are looked for in.
const seekSide = 1400

// blob is a dark square of the picture.
type blob struct {
	at    Point // its middle, in pixels of the whole picture
	area  float64
	holed bool
}

// Find looks for the measuring sheet's markers and returns which of the sheets
// it is and where its corners lie.
func Find(img *image.NRGBA, frames []*Frame) (*Frame, [4]Point, error) {
	p := newPicture(img)
	return p.frameAt(frames, quads(p.blobs(), frames[0]), "photograph the whole sheet, all four black corner squares in the picture, or give {corners}: the middles of the squares")
}

// FindAt returns which of the sheets it is whose markers have their middles at
// these corners, clockwise from the one with the hole.
func FindAt(img *image.NRGBA, frames []*Frame, corners [4]Point) (*Frame, error) {
	f, _, err := newPicture(img).frameAt(frames, [][4]Point{corners}, "give the middles of the four black squares, from the one with the hole on clockwise")
	return f, err
}

// frameAt returns the first set of corners under which one of the sheets shows
// its number.
func (p picture) frameAt(frames []*Frame, quads [][4]Point, hint string) (*Frame, [4]Point, error) {
	stranger := ""
	for _, quad := range quads {
		for _, f := range frames {
			h, ok := newHomography(f.sheet.Corners, quad)
			if !ok {
				continue
			}
			index, total, codes, ok := p.readMarks(h, f)
			if !ok {
				continue
			}
			_, _, want, _ := readNumber(f.Bits)
			if index == f.Index && total == f.Total && codes == want {
				return f, quad, nil
			}
			stranger = (&Frame{Index: index, Total: total}).Name()
		}
	}
	if stranger != "" {
		return nil, [4]Point{}, say.Failed("name the codes that it was printed with, in the same order", "the picture shows %s of a measuring sheet for other codes", stranger)
	}
	return nil, [4]Point{}, say.Failed(hint, "no measuring sheet was found in the picture")
}

// readMarks reads the sheet's number under a homography.
func (p picture) readMarks(h homography, f *Frame) (index, total int, codes uint32, ok bool) {
	gray := func(at Point) float64 {
		v := p.at(h.at(at))
		return float64(0.2126*v[0]) + float64(0.7152*v[1]) + float64(0.0722*v[2])
	}
	var dark, light float64
	for i, m := range f.Markers {
		at := m.center()
		if !p.holds(h.at(at)) {
			return 0, 0, 0, false
		}
		if i == 0 {
			at = Point{m.X + 1.8, m.Y + 1.8} // beside the hole
			if gray(m.center()) < gray(at)+0.1 {
				return 0, 0, 0, false
			}
		}
		dark += float64(gray(at) / 4)
	}
	bits := make([]bool, len(f.Marks))
	for i, m := range f.Marks {
		above := gray(Point{m.center().X, m.Y - 2.5})
		light += above / float64(len(f.Marks))
		bits[i] = gray(m.center()) < (above+dark)/2
	}
	if light < dark+0.15 {
		return 0, 0, 0, false
	}
	return readNumber(bits)
}

// blobs finds dark squares: pixels below .62 of the mean around them, in
// pieces that fill most of a square.
func (p picture) blobs() (out []blob) {
	step := max(1, int(math.Ceil(float64(max(p.w, p.h))/seekSide)))
	w, h := p.w/step, p.h/step
	if w < 16 || h < 16 {
		return nil
	}
	gray := make([]int32, w*h) // mean of step x step pixels
	for y := range h {
		for x := range w {
			sum := int32(0)
			for dy := range step {
				row := (y*step+dy)*p.stride + 4*x*step
				for dx := range step {
					i := row + 4*dx
					sum += 54*int32(p.pix[i]) + 183*int32(p.pix[i+1]) + 19*int32(p.pix[i+2])
				}
			}
			gray[y*w+x] = sum / int32(256*step*step)
		}
	}
	sums := make([]int64, (w+1)*(h+1))
	for y := range h {
		for x := range w {
			sums[(y+1)*(w+1)+x+1] = int64(gray[y*w+x]) + sums[y*(w+1)+x+1] + sums[(y+1)*(w+1)+x] - sums[y*(w+1)+x]
		}
	}
	reach := max(w, h) / 24
	dark := make([]bool, w*h)
	for y := range h {
		for x := range w {
			x0, x1, y0, y1 := max(x-reach, 0), min(x+reach+1, w), max(y-reach, 0), min(y+reach+1, h)
			sum := sums[y1*(w+1)+x1] - sums[y0*(w+1)+x1] - sums[y1*(w+1)+x0] + sums[y0*(w+1)+x0]
			dark[y*w+x] = int64(gray[y*w+x])*int64((x1-x0)*(y1-y0))*100 < 62*sum
		}
	}
	seen := make([]bool, w*h)
	var queue []int
	for start := range dark {
		if !dark[start] || seen[start] {
			continue
		}
		queue = append(queue[:0], start)
		seen[start] = true
		for i := 0; i < len(queue); i++ {
			at := queue[i]
			for _, next := range [4]int{at - 1, at + 1, at - w, at + w} {
				if next < 0 || next >= w*h || (next == at-1 && at%w == 0) || (next == at+1 && next%w == 0) || !dark[next] || seen[next] {
					continue
				}
				seen[next] = true
				queue = append(queue, next)
			}
		}
		if b, ok := squareOf(queue, w, gray); ok {
			b.at = Point{b.at.X * float64(step), b.at.Y * float64(step)}
			b.area *= float64(step * step)
			out = append(out, b)
		}
	}
	slices.SortStableFunc(out, func(a, b blob) int {
		switch {
		case a.area > b.area:
			return -1
		case a.area < b.area:
			return 1
		}
		return 0
	})
	return out[:min(len(out), 40)]
}

// squareOf judges a piece: its middle, whether it fills a square, and whether
// that has a hole.
func squareOf(piece []int, w int, gray []int32) (b blob, ok bool) {
	n := float64(len(piece))
	if n < 25 {
		return b, false
	}
	var sx, sy, sxx, syy, sxy, dark float64
	for _, i := range piece {
		x, y := float64(i%w), float64(i/w)
		sx, sy = sx+x, sy+y
		sxx, syy, sxy = sxx+float64(x*x), syy+float64(y*y), sxy+float64(x*y)
		dark += float64(gray[i]) / n
	}
	mx, my := sx/n, sy/n
	vx, vy, vxy := sxx/n-float64(mx*mx), syy/n-float64(my*my), sxy/n-float64(mx*my)
	// Both main spreads of a square of side s are s*s/12, whichever way it is
	// turned; those of a long rectangle or an L differ.
	half, root := float64((vx+vy)/2), math.Sqrt(float64((vx-vy)*(vx-vy)/4)+float64(vxy*vxy))
	if half-root <= 0 || (half+root)/(half-root) > 2.6 { // aspect up to 1.6
		return b, false
	}
	side2 := 12 * math.Sqrt((half+root)*(half-root))
	if fill := n / side2; fill < 0.7 || fill > 1.15 {
		return b, false
	}
	var middle float64
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			i := (int(math.Round(my))+dy)*w + int(math.Round(mx)) + dx
			if i < 0 || i >= len(gray) {
				return b, false
			}
			middle += float64(gray[i]) / 9
		}
	}
	return blob{Point{mx + 0.5, my + 0.5}, n, middle > dark+25 && middle > dark*1.5}, true
}

// maxQuads is how many sets of four squares are tried.
const maxQuads = 400

// quads returns sets of four squares that may be the markers, the holed one
// first and on clockwise, the largest sheets first.
func quads(blobs []blob, f *Frame) (out [][4]Point) {
	type set struct {
		p    [4]Point
		area float64
	}
	var sets []set
	for i, holed := range blobs {
		if !holed.holed {
			continue
		}
		for a := range blobs {
			for b := a + 1; b < len(blobs); b++ {
				for c := b + 1; c < len(blobs); c++ {
					if a == i || b == i || c == i {
						continue
					}
					four := []blob{holed, blobs[a], blobs[b], blobs[c]}
					lo, hi := holed.area, holed.area
					for _, q := range four {
						lo, hi = min(lo, q.area), max(hi, q.area)
					}
					if hi > 3.5*lo {
						continue
					}
					p, ok := around(four)
					if !ok || !like(p, f) || area(p) < 20*hi {
						continue
					}
					sets = append(sets, set{p, area(p)})
				}
			}
		}
	}
	slices.SortStableFunc(sets, func(a, b set) int {
		switch {
		case a.area > b.area:
			return -1
		case a.area < b.area:
			return 1
		}
		return 0
	})
	for _, s := range sets[:min(len(sets), maxQuads)] {
		out = append(out, s.p)
	}
	return out
}

// around puts four squares in order, the first staying first, clockwise.
func around(four []blob) (p [4]Point, ok bool) {
	var mx, my float64
	for _, b := range four {
		mx, my = mx+float64(b.at.X/4), my+float64(b.at.Y/4)
	}
	angle := func(b blob) float64 { return math.Atan2(b.at.Y-my, b.at.X-mx) }
	first := angle(four[0])
	rest := slices.Clone(four[1:])
	turn := func(b blob) float64 {
		a := angle(b) - first
		if a < 0 {
			a += 2 * math.Pi
		}
		return a
	}
	slices.SortStableFunc(rest, func(a, b blob) int {
		if turn(a) < turn(b) {
			return -1
		}
		return 1
	})
	p = [4]Point{four[0].at, rest[0].at, rest[1].at, rest[2].at}
	return p, convex(p)
}

// like says whether four points have about the proportions of the sheet:
// opposite sides alike, the short ones short.
func like(p [4]Point, f *Frame) bool {
	top, right, bottom, left := distance(p[0], p[1]), distance(p[1], p[2]), distance(p[2], p[3]), distance(p[3], p[0])
	ratio := func(a, b float64) bool { return a < 2.2*b && b < 2.2*a }
	want := f.W / f.H
	got := (top + bottom) / (left + right)
	return ratio(top, bottom) && ratio(left, right) && got > want*0.6 && got < want*1.7
}
