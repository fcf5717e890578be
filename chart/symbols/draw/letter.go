package draw

import (
	"fmt"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"kitwright/chart/symbols"
)

// Letters returns the capitals and digits of a font.
func Letters(f *sfnt.Font) ([]Shape, error) {
	var out []Shape
	for _, r := range "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789" {
		p, err := Letter(f, r)
		if err != nil {
			return nil, err
		}
		kind := "letter "
		if r <= '9' {
			kind = "digit "
		}
		out = append(out, Shape{Name: kind + string(r), Rune: r, Paths: p})
	}
	return out, nil
}

// Letter traces the outline of r in a TrueType font: its capitals, or the
// letter itself where it is larger, fill the box, the middle of the outline
// stands in the middle. Curves become eight straight steps each.
func Letter(f *sfnt.Font, r rune) ([]symbols.Path, error) {
	var buf sfnt.Buffer
	g, err := f.GlyphIndex(&buf, r)
	if err != nil || g == 0 {
		return nil, fmt.Errorf("no glyph for %q: %v", r, err)
	}
	size := fixed.I(int(f.UnitsPerEm()))
	segments, err := f.LoadGlyph(&buf, g, size, nil)
	if err != nil {
		return nil, err
	}
	m, err := f.Metrics(&buf, size, font.HintingNone)
	if err != nil {
		return nil, err
	}
	var path symbols.Path
	for _, s := range segments {
		a := em(s.Args[0])
		switch n := len(path) - 1; s.Op {
		case sfnt.SegmentOpMoveTo:
			path = append(path, []symbols.Point{a})
		case sfnt.SegmentOpLineTo:
			path[n] = append(path[n], a)
		case sfnt.SegmentOpQuadTo:
			from, to := path[n][len(path[n])-1], em(s.Args[1])
			for k := 1; k <= 8; k++ {
				t := float64(k) / 8
				path[n] = append(path[n], symbols.Point{
					X: (1-t)*(1-t)*from.X + 2*t*(1-t)*a.X + t*t*to.X,
					Y: (1-t)*(1-t)*from.Y + 2*t*(1-t)*a.Y + t*t*to.Y,
				})
			}
		default:
			return nil, fmt.Errorf("%q has a curve that TrueType has not", r)
		}
	}
	b := segments.Bounds()
	lo, hi := em(b.Min), em(b.Max)
	half := max(hi.X-lo.X, hi.Y-lo.Y, float64(m.CapHeight)/64) / 2
	for _, c := range path {
		for i := range c {
			c[i].X = (c[i].X - (lo.X+hi.X)/2) / half
			c[i].Y = (c[i].Y - (lo.Y+hi.Y)/2) / half
		}
	}
	return []symbols.Path{path}, nil
}

func em(p fixed.Point26_6) symbols.Point {
	return symbols.Point{X: float64(p.X) / 64, Y: float64(p.Y) / 64}
}
