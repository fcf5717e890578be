package render

import (
	"image"
	"image/draw"
	"math"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"kitwright/lab"
)

// Colors of the sheet: a neutral gray, so that it does not change how the
// pictures are judged, and one accent far from fur and skin.
var (
	paper    = color{0xe9, 0xe9, 0xe8}
	ink      = color{0x1c, 0x1e, 0x1f}
	quiet    = color{0x55, 0x5a, 0x5c}
	hairline = color{0xcf, 0xcf, 0xcc}
	soil     = color{0xdf, 0xdf, 0xdd}
	furrow   = color{0xb4, 0xb6, 0xb5}
	accent   = color{0x0a, 0x5f, 0x6b}
)

// sheet is a picture that is drawn and written on. A sheet of no height is
// only measured: what would be drawn is not.
type sheet struct {
	img     *image.NRGBA
	letters map[letterKey]*letter
}

type letterKey struct {
	face face
	size int
	rune rune
}

func newSheet(width, height int) *sheet {
	s := &sheet{image.NewNRGBA(image.Rect(0, 0, width, height)), map[letterKey]*letter{}}
	s.fill(s.img.Rect, paper)
	return s
}

func (s *sheet) measuring() bool { return s.img.Rect.Empty() }

func (s *sheet) fill(r image.Rectangle, c color) {
	r = r.Intersect(s.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := s.img.Pix[s.img.PixOffset(r.Min.X, y):][:4*r.Dx()]
		for o := 0; o < len(row); o += 4 {
			row[o], row[o+1], row[o+2], row[o+3] = c[0], c[1], c[2], 255
		}
	}
}

// blend lays a color over a pixel; cover runs from 0 to 1.
func (s *sheet) blend(x, y int, c color, cover float64) {
	if cover <= 0 || !(image.Point{X: x, Y: y}).In(s.img.Rect) {
		return
	}
	a := int(math.Round(math.Min(1, cover) * 256))
	p := s.img.Pix[s.img.PixOffset(x, y):][:3:3]
	for k := range p {
		p[k] = uint8((int(p[k])*(256-a) + int(c[k])*a + 128) >> 8)
	}
}

// Text.

type textEdge int

const (
	alignLeftEdge textEdge = iota
	alignMiddle
	alignRightEdge
)

// letter is the outline of a character at a size, flattened, in 1/4096 pixel
// from its origin, and its advance in 1/64 pixel.
type letter struct {
	paths   [][][2]int
	advance fixed.Int26_6
}

// flat is how many pieces a curve is cut into.
const flat = 8

func (s *sheet) letter(f face, size int, r rune) *letter {
	key := letterKey{f, size, r}
	if g := s.letters[key]; g != nil {
		return g
	}
	g := &letter{}
	s.letters[key] = g
	fnt := faces[f]().font
	var b sfnt.Buffer
	index, err := fnt.GlyphIndex(&b, r)
	if err != nil || index == 0 {
		return g // clean has left none of them
	}
	g.advance, _ = fnt.GlyphAdvance(&b, index, fixed.I(size), font.HintingNone)
	segments, err := fnt.LoadGlyph(&b, index, fixed.I(size), nil)
	if err != nil {
		panic(err) // a font compiled into the program
	}
	var at [2]int
	for _, seg := range segments {
		end := [2]int{int(seg.Args[0].X) * 64, int(seg.Args[0].Y) * 64}
		switch seg.Op {
		case sfnt.SegmentOpMoveTo:
			g.paths = append(g.paths, nil)
		case sfnt.SegmentOpQuadTo:
			end = [2]int{int(seg.Args[1].X) * 64, int(seg.Args[1].Y) * 64}
			for i := 1; i < flat; i++ { // in integers: the same on every machine
				var p [2]int
				for k := range p {
					by := [2]int{int(seg.Args[0].X) * 64, int(seg.Args[0].Y) * 64}[k]
					p[k] = ((flat-i)*(flat-i)*at[k] + 2*i*(flat-i)*by + i*i*end[k]) / (flat * flat)
				}
				g.paths[len(g.paths)-1] = append(g.paths[len(g.paths)-1], p)
			}
		case sfnt.SegmentOpCubeTo:
			panic("a TrueType font has no cubic curves")
		}
		g.paths[len(g.paths)-1] = append(g.paths[len(g.paths)-1], end)
		at = end
	}
	return g
}

func (s *sheet) width(f face, size int, words string) float64 {
	var sum fixed.Int26_6
	for _, r := range words {
		sum += s.letter(f, size, r).advance
	}
	return float64(sum) / 64
}

// write sets one line of text with its baseline at y.
func (s *sheet) write(x, y float64, f face, size int, c color, words string, edge textEdge) {
	if s.measuring() {
		return
	}
	switch edge {
	case alignMiddle:
		x -= s.width(f, size, words) / 2
	case alignRightEdge:
		x -= s.width(f, size, words)
	}
	pen := fixed.Int26_6(math.Round(x * 64))
	base := int(math.Round(y))
	var area vector.Rasterizer
	for _, r := range words {
		g := s.letter(f, size, r)
		left := pen.Floor() - size/2
		// Straight lines on a small area: there the rasterizer counts in integers.
		area.Reset(3*size, 2*size)
		area.DrawOp = draw.Src
		at := func(p [2]int) (float32, float32) {
			return float32(p[0]+int(pen)*64-left*4096) / 4096, float32(p[1]+size*3/2*4096) / 4096
		}
		for _, path := range g.paths {
			area.MoveTo(at(path[0]))
			for _, p := range path[1:] {
				area.LineTo(at(p))
			}
			area.ClosePath()
		}
		mask := image.NewAlpha(area.Bounds())
		area.Draw(mask, mask.Rect, image.Opaque, image.Point{})
		for py := range 2 * size {
			for px, a := range mask.Pix[py*mask.Stride:][:3*size] {
				if a > 0 {
					s.blend(left+px, base-size*3/2+py, c, float64(a)/255)
				}
			}
		}
		pen += g.advance
	}
}

// lines breaks words into lines of a width; a word that is wider is cut.
func (s *sheet) lines(width int, f face, size int, words string) (lines []string) {
	line := ""
	for _, w := range strings.Fields(clean(words)) {
		for s.width(f, size, w) > float64(width) && len(w) > 1 {
			r := []rune(w)
			w = strings.TrimSuffix(string(r[:len(r)-1]), "…")
			w = string([]rune(w)[:max(0, len([]rune(w))-1)]) + "…"
		}
		switch next := line + " " + w; {
		case line == "":
			line = w
		case s.width(f, size, next) <= float64(width):
			line = next
		default:
			lines, line = append(lines, line), w
		}
	}
	return append(lines, line)
}

// paragraph sets lines from the top at y and returns the bottom.
func (s *sheet) paragraph(x, y, width int, f face, size int, c color, words string) int {
	return s.block(float64(x), y, width, f, size, c, words, alignLeftEdge)
}

// centered is paragraph around a middle.
func (s *sheet) centered(x, y, width int, f face, size int, c color, words string) int {
	return s.block(float64(x), y, width, f, size, c, words, alignMiddle)
}

func (s *sheet) block(x float64, y, width int, f face, size int, c color, words string, edge textEdge) int {
	for _, line := range s.lines(width, f, size, words) {
		s.write(x, float64(y)+float64(float64(size)*1.0), f, size, c, line, edge)
		y += size * 132 / 100
	}
	return y
}

// plate is a line of text on a plain patch, its baseline at y.
func (s *sheet) plate(x, y int, f face, size int, words string) {
	w := int(math.Ceil(s.width(f, size, words)))
	s.fill(image.Rect(x-12, y-size, x+w+12, y+size*2/5), soil)
	s.write(float64(x), float64(y), f, size, quiet, words, alignLeftEdge)
}

// Shapes. Edges are softened by the distance to them.

type point struct{ x, y float64 }

func (s *sheet) disc(x, y, r float64, c color) { s.ringShape(x, y, 0, r, c) }

// ring draws a circle of a width around the radius.
func (s *sheet) ring(x, y, r, width float64, c color) {
	s.ringShape(x, y, r-width/2, r+width/2, c)
}

func (s *sheet) ringShape(x, y, in, out float64, c color) {
	for py := int(y - out - 1); py <= int(y+out+1); py++ {
		for px := int(x - out - 1); px <= int(x+out+1); px++ {
			d := away(float64(px)+0.5-x, float64(py)+0.5-y)
			cover := math.Min(1, out+0.5-d)
			if in > 0 {
				cover = math.Min(cover, d-in+0.5)
			}
			s.blend(px, py, c, cover)
		}
	}
}

func away(x, y float64) float64 { return math.Sqrt(float64(x*x) + float64(y*y)) }

// curve draws a line through points of ascending x.
func (s *sheet) curve(points []point, width float64, c color) {
	cover := map[image.Point]float64{}
	for i := range points[1:] {
		a, b := points[i], points[i+1]
		dx, dy := b.x-a.x, b.y-a.y
		length := float64(dx*dx) + float64(dy*dy)
		for y := int(math.Min(a.y, b.y) - width); y <= int(math.Max(a.y, b.y)+width); y++ {
			for x := int(a.x - width); x <= int(b.x+width); x++ {
				px, py := float64(x)+0.5-a.x, float64(y)+0.5-a.y
				t := math.Min(1, math.Max(0, (float64(px*dx)+float64(py*dy))/length))
				v := width/2 + 0.5 - away(px-float64(t*dx), py-float64(t*dy))
				if p := (image.Point{X: x, Y: y}); v > cover[p] {
					cover[p] = math.Min(1, v)
				}
			}
		}
	}
	for p, v := range cover { // each pixel is its own: the order does not show
		s.blend(p.X, p.Y, c, v)
	}
}

// ground fills from an edge, a height for each column from left on, to the
// bottom, and hatches it.
func (s *sheet) ground(left, bottom int, edge []float64) {
	const apart, thick = 18, 2.2
	for i, top := range edge {
		x := left + i
		for y := int(top) - 1; y < bottom; y++ {
			cover := math.Min(1, math.Max(0, float64(y)+1-top))
			s.blend(x, y, soil, cover)
			at := float64((x+y)%apart) + 0.5
			s.blend(x, y, furrow, math.Min(cover, math.Min(1, thick/2+0.5-math.Abs(at-apart/2))))
			// Its surface.
			s.blend(x, y, furrow, math.Min(1, 2-math.Abs(float64(y)+0.5-top)))
		}
	}
}

// picture lays a picture down with a soft shadow.
func (s *sheet) picture(img *image.NRGBA, at image.Point) {
	const soft = 16.0
	r := image.Rectangle{Min: at, Max: at.Add(img.Rect.Size())}
	for y := r.Min.Y - soft; y < r.Max.Y+2*soft; y++ {
		for x := r.Min.X - soft; x < r.Max.X+soft; x++ {
			dx := float64(max(r.Min.X-x, x-r.Max.X+1, 0))
			dy := float64(max(r.Min.Y+6-y, y-6-r.Max.Y+1, 0))
			if d := 1 - away(dx, dy)/soft; d > 0 {
				s.blend(x, y, ink, float64(0.28*d)*d)
			}
		}
	}
	draw.Draw(s.img, r, img, img.Rect.Min, draw.Src)
}

func (s *sheet) border(r image.Rectangle, width int, c color) {
	in := r.Inset(width)
	s.fill(image.Rect(r.Min.X, r.Min.Y, r.Max.X, in.Min.Y), c)
	s.fill(image.Rect(r.Min.X, in.Max.Y, r.Max.X, r.Max.Y), c)
	s.fill(image.Rect(r.Min.X, in.Min.Y, in.Min.X, in.Max.Y), c)
	s.fill(image.Rect(in.Max.X, in.Min.Y, r.Max.X, in.Max.Y), c)
}

// loupe shows the round middle of a square picture with a ring.
func (s *sheet) loupe(img *image.NRGBA, middle, top int, c color, width float64) {
	n := img.Rect.Dx()
	r := float64(n) / 2
	for y := range n {
		for x := range n {
			p := img.Pix[img.PixOffset(x, y):]
			d := away(float64(x)+0.5-r, float64(y)+0.5-r)
			s.blend(middle-n/2+x, top+y, color{p[0], p[1], p[2]}, math.Min(1, r-d))
		}
	}
	if width > 4 {
		s.ring(float64(middle-n/2)+r, float64(top)+r, r+2, 8, paper)
	}
	s.ring(float64(middle-n/2)+r, float64(top)+r, r+width/2+math.Max(0, width-4), width, c)
}

// Scaling.

// part is a rectangle in a picture, in pixels from its corner.
type part struct{ x, y, w, h float64 }

func frame(img image.Image) part {
	b := img.Bounds()
	return part{0, 0, float64(b.Dx()), float64(b.Dy())}
}

// scaled returns a part of a picture at a size, averaged in linear light with
// a tent as wide as two pixels of the coarser one.
func scaled(img image.Image, p part, width, height int) *image.NRGBA {
	b := img.Bounds()
	src, ok := img.(*image.NRGBA)
	if !ok {
		src = image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
		draw.Draw(src, src.Rect, img, b.Min, draw.Src)
		b = src.Rect
	}
	across, down := tents(p.x, p.w, width, b.Dx()), tents(p.y, p.h, height, b.Dy())
	out := image.NewNRGBA(image.Rect(0, 0, width, height))
	inRows(height, func(y int) {
		line := make([][3]int64, b.Dx())
		t := down[y]
		for j, w := range t.weights {
			row := src.Pix[src.PixOffset(b.Min.X, b.Min.Y+t.from+j):]
			for x := across[0].from; x < across[width-1].from+len(across[width-1].weights); x++ {
				for k := range 3 {
					line[x][k] += w * int64(lab.Linear[row[4*x+k]]>>8)
				}
			}
		}
		for x, t := range across {
			var sum [3]int64
			for j, w := range t.weights {
				for k := range sum {
					sum[k] += w * (line[t.from+j][k] >> 14)
				}
			}
			o := out.Pix[out.PixOffset(x, y):]
			o[0], o[1], o[2], o[3] = toByte(sum[0]), toByte(sum[1]), toByte(sum[2]), 255
		}
	})
	return out
}

// tent is a run of source pixels and their weights, which sum to one.
type tent struct {
	from    int
	weights []int64
}

func tents(start, length float64, n, limit int) []tent {
	step := length / float64(n)
	reach := math.Max(1, step)
	all := make([]tent, n)
	for i := range all {
		mid := start + float64((float64(i)+0.5)*step) - 0.5
		from := max(0, int(math.Floor(mid-reach))+1)
		to := min(limit-1, int(math.Ceil(mid+reach))-1)
		from, to = min(from, limit-1), max(to, 0)
		if to < from {
			to = from
		}
		raw := make([]float64, to-from+1)
		var sum float64
		for j := range raw {
			raw[j] = math.Max(1e-9, 1-math.Abs(float64(from+j)-mid)/reach)
			sum += raw[j]
		}
		t := tent{from: from, weights: make([]int64, len(raw))}
		var whole int64
		most := 0
		for j, w := range raw {
			t.weights[j] = int64(math.Round(w / sum * one))
			whole += t.weights[j]
			if t.weights[j] > t.weights[most] {
				most = j
			}
		}
		t.weights[most] += one - whole
		all[i] = t
	}
	return all
}
