package look

import (
	"image"
	"image/draw"
	"math"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"kitwright/render/letters"
)

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

func (s *sheet) letter(f letters.Face, size int, r rune) *letter {
	key := letterKey{f, size, r}
	if g := s.letters[key]; g != nil {
		return g
	}
	g := &letter{}
	s.letters[key] = g
	fnt := f.Font()
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

func (s *sheet) width(f letters.Face, size int, words string) float64 {
	var sum fixed.Int26_6
	for _, r := range words {
		sum += s.letter(f, size, r).advance
	}
	return float64(sum) / 64
}

// write sets one line of text with its baseline at y.
func (s *sheet) write(x, y float64, f letters.Face, size int, c color, words string, edge textEdge) {
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
func (s *sheet) lines(width int, f letters.Face, size int, words string) (lines []string) {
	line := ""
	for _, w := range strings.Fields(letters.Clean(words)) {
		w = letters.Cut(w, 64*width, func(r rune) int { return int(s.letter(f, size, r).advance) })
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
func (s *sheet) paragraph(x, y, width int, f letters.Face, size int, c color, words string) int {
	return s.block(float64(x), y, width, f, size, c, words, alignLeftEdge)
}

// centered is paragraph around a middle.
func (s *sheet) centered(x, y, width int, f letters.Face, size int, c color, words string) int {
	return s.block(float64(x), y, width, f, size, c, words, alignMiddle)
}

func (s *sheet) block(x float64, y, width int, f letters.Face, size int, c color, words string, edge textEdge) int {
	for _, line := range s.lines(width, f, size, words) {
		s.write(x, float64(y)+float64(float64(size)*1.0), f, size, c, line, edge)
		y += size * 132 / 100
	}
	return y
}

// plate is a line of text on a plain patch, its baseline at y.
func (s *sheet) plate(x, y int, f letters.Face, size int, words string) {
	w := int(math.Ceil(s.width(f, size, words)))
	s.fill(image.Rect(x-12, y-size, x+w+12, y+size*2/5), soil)
	s.write(float64(x), float64(y), f, size, quiet, words, alignLeftEdge)
}
