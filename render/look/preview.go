package look

import (
	"image"
	"image/png"
	"io"
	"math"

	"kitwright/internal/par"
	"kitwright/lab"
)

// Stones is a finished picture: which drill lies in each cell.
type Stones struct {
	Cols, Rows int
	Cells      []uint16   // index into RGB, row by row from the top left
	RGB        [][3]uint8 // the drills' colors
	AB         []bool     // which of them carry a shimmering coat; nil: none
	Round      bool       // round drills, not square

	x0, y0 int // where a window lies in the whole: its stones lie as they do there
}

// Window returns the part of the picture from column x and row y on.
func (s Stones) Window(x, y, cols, rows int) Stones {
	w := s
	w.Cols, w.Rows, w.x0, w.y0 = cols, rows, s.x0+x, s.y0+y
	w.Cells = make([]uint16, 0, cols*rows)
	for r := y; r < y+rows; r++ {
		w.Cells = append(w.Cells, s.Cells[r*s.Cols+x:r*s.Cols+x+cols]...)
	}
	return w
}

// Limits of a preview: pixels a drill, pixels in all.
const (
	minPreviewPx     = 4
	maxPreviewPx     = 16
	maxPreviewPixels = 6_000_000
)

// PreviewPx returns how many pixels a drill gets in a preview: 16, or as many
// as keep the picture within 6 million pixels. Canvases of more than 375,000
// drills get fewer than 4, down to 1, where facets melt into one color.
func PreviewPx(cols, rows int) int {
	for px := maxPreviewPx; px > 1; px-- {
		if cols*px*rows*px <= maxPreviewPixels {
			return px
		}
	}
	return 1
}

// Paint paints the finished picture as it lies on the table, px pixels a drill.
//
// Every stone is cut, tilted a little and lit from the upper left. The mean of
// a stone in linear light is its drill's color (within 2 %, as drills differ):
// what a facet gains another loses. What shows between stones is dark between
// square ones, and between round ones the printed color in shadow, so the
// picture as a whole is a little darker than its colors, as on the table.
//
// Look panics if px is not positive or Cells is too short.
func Paint(s Stones, px int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, s.Cols*px, s.Rows*px))
	set := tilesFor(s.Round, px)
	colors := make([][3]int64, len(s.RGB))
	for i, c := range s.RGB {
		for k := range c {
			colors[i][k] = int64(lab.Linear[c[k]]+1<<7) >> 8
		}
	}
	par.Rows(s.Rows, func(row int) {
		p := painter{set: set, round: s.Round, pix: img.Pix, stride: img.Stride}
		for col := 0; col < s.Cols; col++ {
			cell := s.Cells[row*s.Cols+col]
			p.offset = row*px*img.Stride + col*px*4
			p.stone(colors[cell], s.x0+col, s.y0+row, s.AB != nil && s.AB[cell])
		}
	})
	return img
}

// painter paints stones into a picture.
type painter struct {
	set    *tileSet
	round  bool
	pix    []uint8
	stride int
	offset int // of the cell's first pixel in pix
}

// Between square stones it is dark; between round ones the print shows, the
// drill's own color, in their shadow.
const (
	gapLight   = light * 2 / 100
	printShade = 55 // percent
)

// stone paints the drill of linear color c that lies in column x, row y.
func (p *painter) stone(c [3]int64, x, y int, coat bool) {
	t := &p.set.tiles[tiltOf(x, y)]
	gap := [3]int64{gapLight, gapLight, gapLight}
	if p.round {
		for k := range c {
			gap[k] = c[k] * printShade / 100
		}
	}
	// No two drills are quite alike: up to 2 % brighter or darker.
	wobble := int64(scatter(x, y, 4)%(2*one/50+1)) - one/50
	for k := range c {
		c[k] = min(light, c[k]+c[k]*wobble/one)
	}
	glint, keep := balance(c, t)
	var body, shine, flat [3]int64
	for k := range c {
		body[k] = (c[k] - glint[k]*t.mean/one) * keep / one
		shine[k] = glint[k] * keep / one
		flat[k] = c[k]*(one-keep)/one - gap[k]
	}
	if coat {
		p.coated(t, scatter(x, y, 5), c, body, shine, flat, gap)
		return
	}
	px, i := p.set.px, 0
	for py := 0; py < px; py++ {
		out := p.pix[p.offset+py*p.stride:][: 4*px : 4*px]
		for o := 0; o < len(out); o += 4 {
			d, s, a := int64(t.diffuse[i]), int64(t.glint[i]), int64(p.set.cover[i])
			out[o] = toByte(body[0]*d + shine[0]*s + flat[0]*a + gap[0]*one)
			out[o+1] = toByte(body[1]*d + shine[1]*s + flat[1]*a + gap[1]*one)
			out[o+2] = toByte(body[2]*d + shine[2]*s + flat[2]*a + gap[2]*one)
			out[o+3] = 255
			i++
		}
	}
}

// balance returns, in units of one, how strong a glint the color can carry in
// each channel, and how much of all shading may stay, so that the brightest
// pixel just reaches full light and the mean can hold. The glint gives way
// before the facets do: the other way round pale stones look flat.
func balance(c [3]int64, t *tile) (glint [3]int64, keep int64) {
	top := max(c[0], c[1], c[2])
	g := min(one, (c[0]+c[1]+c[2])*15/100*one/t.mean)
	if room := light*one - top*t.maxDiffuse; room <= 0 {
		g = 0
	} else if need := t.maxGlint - t.mean*t.maxDiffuse/one; need > 0 {
		g = min(g, room/need)
	}
	keep = one
	for k := range c {
		glint[k] = min(g, c[k]*9/10*one/t.mean)
		peak := (c[k]-glint[k]*t.mean/one)*t.maxDiffuse + glint[k]*t.maxGlint
		if peak > light*one {
			keep = min(keep, (light-c[k])*one*one/(peak-c[k]*one))
		}
	}
	return glint, keep
}

// coated paints a stone with a coat whose color turns with the angle of view.
// The tint is taken off its own mean, so the drill's color still holds.
func (p *painter) coated(t *tile, h uint32, c, body, shine, flat, gap [3]int64) {
	turn := int32(h % (phaseOne * 4 / 5))
	var mean [3]int64
	var all int64
	for i, d := range t.diffuse {
		tint := tints[(t.phase[i]+turn)&(phaseOne-1)]
		all += int64(d)
		for k := range mean {
			mean[k] += int64(d) * int64(tint[k])
		}
	}
	var strength [3]int64
	for k := range mean {
		mean[k] /= all
		room := light - (body[k]*t.maxDiffuse+shine[k]*t.maxGlint)/one - max(0, flat[k]+gap[k])
		strength[k] = max(0, min((c[0]+c[1]+c[2])/10, body[k]*10/17, room*one/t.maxDiffuse*10/24))
	}
	px := p.set.px
	for i, d := range t.diffuse {
		o := p.offset + i/px*p.stride + i%px*4
		tint := tints[(t.phase[i]+turn)&(phaseOne-1)]
		for k := range mean {
			b := body[k] + strength[k]*(int64(tint[k])-mean[k])/one
			p.pix[o+k] = toByte(b*int64(d) + shine[k]*int64(t.glint[i]) + flat[k]*int64(p.set.cover[i]) + gap[k]*one)
		}
		p.pix[o+3] = 255
	}
}

// tints are the coat's colors around one turn, in units of one.
var tints = func() (t [phaseOne][3]int32) {
	for i := range t {
		for k, f := range [3]struct{ share, shift float64 }{{1, 0}, {0.55, -1. / 3}, {1.2, 1. / 3}} {
			t[i][k] = int32(math.Round(f.share * one * math.Cos(2*math.Pi*(float64(i)/phaseOne+f.shift))))
		}
	}
	return t
}()

// toByte turns linear light, in units of light*one, into an sRGB byte.
func toByte(v int64) uint8 {
	v = (v + one/2) / one
	return byteOf[max(0, min(light, v))]
}

// byteOf is the nearest sRGB byte to each linear light: the half-way points
// between bytes are by the transfer function of IEC 61966-2-1.
var byteOf = func() (t [light + 1]uint8) {
	v := 0
	for b := 1; b < 256; b++ {
		half := lab.Decode((float64(b) - 0.5) / 255)
		for from := int(math.Ceil(half * light)); v < from; v++ {
			t[v] = uint8(b - 1)
		}
	}
	for ; v <= light; v++ {
		t[v] = 255
	}
	return t
}()

// tiltOf returns how the stone in column x, row y lies: a tile's number. Two
// draws are averaged, so that most stones lie nearly flat.
func tiltOf(x, y int) int {
	draw := func(stream uint32) int { return int(scatter(x, y, stream)>>16*tilts) >> 16 }
	axis := func(s uint32) int { return (draw(s) + draw(s+1) + int(scatter(x, y, s+8)&1)) / 2 }
	return min(axis(0), tilts-1) + tilts*min(axis(2), tilts-1)
}

// scatter mixes a place and a stream into 32 bits. (The constants are those of
// the finalizer of MurmurHash3, A. Appleby, public domain.)
func scatter(x, y int, stream uint32) uint32 {
	h := uint32(x)*0x9e3779b1 ^ uint32(y)*0x85ebca77 ^ (stream+1)*0xc2b2ae3d
	h ^= h >> 16
	h *= 0x85ebca6b
	h ^= h >> 13
	h *= 0xc2b2ae35
	return h ^ h>>16
}

// WritePNG writes a picture of stones as a PNG.
func WritePNG(w io.Writer, img image.Image) error {
	return (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(w, img)
}
