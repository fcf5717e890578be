package render

import (
	"io"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/chart/symbols"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/render/pdf"
)

// reader is a simulated reader of a printed chart: it sees linear light
// blurred by eye and ink, with grain, and takes every cell for the symbol of
// the legend that looks most like it. It is an ideal matcher, so an upper bound
// on a person; what it cannot tell, nobody can.
//
// The blur is a Gaussian of .13 mm: acuity 6/9 at 35 cm with .07 mm of ink
// spread (a model, not measured on people). Grain has a standard deviation of
// 6 % of full light. Cells are read with up to .05 mm of misplacement.
type reader struct {
	sigma, grain, jitter float64
}

var designReader = reader{sigma: 0.13, grain: 0.06, jitter: 0.05}

// stressedReader has an acuity of 6/12 and worse light.
var stressedReader = reader{sigma: 0.16, grain: 0.10, jitter: 0.05}

const (
	eyeN     = 16   // samples along a cell
	eyeInset = 0.25 // mm along the border that are ignored: grid lines are there
)

// light returns the linear luminance of a raster, blurred by sigma mm.
func (r reader) light(p *raster, sigma float64) []float32 {
	lum := make([]float32, p.w*p.h)
	for i := range lum {
		lum[i] = float32(luminance(color{p.pix[3*i], p.pix[3*i+1], p.pix[3*i+2]})) / lab.LinearOne
	}
	s := sigma * p.dpi / 25.4
	k := int(math.Ceil(3 * s))
	kernel := make([]float32, 2*k+1)
	var sum float32
	for i := range kernel {
		kernel[i] = float32(math.Exp(-0.5 * math.Pow(float64(i-k)/s, 2)))
		sum += kernel[i]
	}
	for i := range kernel {
		kernel[i] /= sum
	}
	pass := func(n, lines, step, stride int) {
		buf := make([]float32, n)
		for l := range lines {
			base := l * stride
			for i := range n {
				var v float32
				for j, w := range kernel {
					v += w * lum[base+min(max(i+j-k, 0), n-1)*step]
				}
				buf[i] = v
			}
			for i, v := range buf {
				lum[base+i*step] = v
			}
		}
	}
	pass(p.w, p.h, 1, p.w)
	pass(p.h, p.w, p.w, 1)
	return lum
}

// look samples a cell, its corner and side in mm, as ink above the ground.
func look(p *raster, lum []float32, x, y, side float64, ground, ink color, out []float32) {
	bg := float32(luminance(ground)) / lab.LinearOne
	sign := float32(1)
	if luminance(ink) > luminance(ground) {
		sign = -1
	}
	f := p.dpi / 25.4
	for j := range eyeN {
		for i := range eyeN {
			u, v := (float64(i)+0.5)/eyeN, (float64(j)+0.5)/eyeN
			if inset := eyeInset / 2.5; min(u, v, 1-u, 1-v) < inset {
				out[j*eyeN+i] = 0
				continue
			}
			px, py := (x+u*side)*f-0.5-float64(p.x0), (y+v*side)*f-0.5-float64(p.y0)
			x0, y0 := int(px), int(py)
			fx, fy := float32(px)-float32(x0), float32(py)-float32(y0)
			at := y0*p.w + x0
			top := lum[at]*(1-fx) + lum[at+1]*fx
			low := lum[at+p.w]*(1-fx) + lum[at+p.w+1]*fx
			out[j*eyeN+i] = sign * (bg - top*(1-fy) - low*fy)
		}
	}
}

// templates returns the legend's symbols as seen, unit length, each in five
// places a sample apart.
func (r reader) templates(t testing.TB, path string, k *kit.Kit, c *canvas, dpi float64) (out [][]float32, of []int) {
	// The legend is drawn larger than the chart: rendered so much coarser, its
	// cells have as many pixels, and the same blur in pixels.
	fine := dpi * k.Pitch.MM() / c.beside.cell
	m := c.page().Margin()
	w := c.beside.cell
	page := renderedPart(t, path, fine, m+c.legendX-2, m, c.beside.widthOf(c.columns), c.sheetH)
	lum := r.light(page, r.sigma*w/k.Pitch.MM())
	var glyphs []pdf.Glyph
	for _, o := range c.legends() {
		if g, ok := o.(pdf.Glyph); ok {
			glyphs = append(glyphs, g)
		}
	}
	require.Len(t, glyphs, len(k.Chart.Legend))
	for i, g := range glyphs {
		ground, ink := c.skin.cell(k.Chart.Legend[i].Drill.RGB)
		seen := make([]float32, eyeN*eyeN)
		look(page, lum, g.X+m, g.Y+m, g.Cell, ground, ink, seen)
		for _, d := range [][2]int{{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			shifted := make([]float32, eyeN*eyeN)
			for y := range eyeN {
				for x := range eyeN {
					if sx, sy := x-d[0], y-d[1]; sx >= 0 && sy >= 0 && sx < eyeN && sy < eyeN {
						shifted[y*eyeN+x] = seen[sy*eyeN+sx]
					}
				}
			}
			for range 4 {
				out, of = append(out, unitLength(slices.Clone(shifted))), append(of, i)
				if !k.Chart.Turned { // held upright
					break
				}
				turned := make([]float32, len(shifted))
				for y := range eyeN {
					for x := range eyeN {
						turned[x*eyeN+eyeN-1-y] = shifted[y*eyeN+x]
					}
				}
				shifted = turned
			}
		}
	}
	return out, of
}

func unitLength(v []float32) []float32 {
	var mean, norm float32
	for _, x := range v {
		mean += x / float32(len(v))
	}
	for i := range v {
		v[i] -= mean
		norm += v[i] * v[i]
	}
	norm = float32(math.Sqrt(float64(norm)))
	for i := range v {
		v[i] /= norm
	}
	return v
}

// read returns how many cells of the chart the reader takes for another color.
func (r reader) read(t testing.TB, k *kit.Kit, p Print, dpi float64) (wrong int) {
	p.Legend = LegendBeside
	c := newCanvas(k, p)
	m := c.page().Margin()
	path := pdfFile(t, func(w io.Writer) error { return Canvas(w, k, p) })
	templates, of := r.templates(t, path, k, c, dpi)
	page := renderedPart(t, path, dpi, m+c.x-2, m+c.y-2, c.w+4, c.h+4)
	lum := r.light(page, r.sigma)
	seen := make([]float32, eyeN*eyeN)
	seed := uint64(7)
	random := func() float64 {
		seed ^= seed << 13
		seed ^= seed >> 7
		seed ^= seed << 17
		return float64(seed>>11) / (1 << 53)
	}
	pitch := k.Pitch.MM()
	for i, v := range k.Chart.Cells {
		ground, ink := c.skin.cell(k.Chart.Legend[v].Drill.RGB)
		dx, dy := (2*random()-1)*r.jitter, (2*random()-1)*r.jitter
		look(page, lum, m+c.x+float64(i%k.Chart.Cols)*pitch+dx, m+c.y+float64(i/k.Chart.Cols)*pitch+dy, pitch, ground, ink, seen)
		for j := range seen { // twelve uniform numbers add up to nearly a normal one of sd 1
			n := -6.0
			for range 12 {
				n += random()
			}
			// A sample stands for .156 mm, four grains of .08 mm.
			seen[j] += float32(n * r.grain / 2)
		}
		best, at := float32(-1e9), -1
		for j, tm := range templates {
			var s float32
			for x, y := range tm {
				s += y * seen[x]
			}
			if s > best {
				best, at = s, of[j]
			}
		}
		if at != int(v) {
			wrong++
		}
	}
	return wrong
}

func TestSimulatedReader(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: reads a few thousand cells")
	}
	for _, c := range []struct {
		colors int
		shape  kit.Shape
		look   CellLook
		large  bool
		dpi    float64
		reader reader
		least  float64
		turned bool
	}{
		{60, kit.Square, LookTint, false, 300, designReader, 1, false},
		{60, kit.Square, LookTint, false, 150, designReader, 0.9995, false},
		{30, kit.Square, LookTint, true, 150, designReader, 1, false},
		{60, kit.Square, LookInk, false, 150, designReader, 1, false},
		{60, kit.Round, LookTint, false, 300, designReader, 1, false},
		{60, kit.Round, LookTint, false, 150, designReader, 0.9995, false},
		{30, kit.Round, LookColor, false, 300, designReader, 0.99, false},
		{60, kit.Square, LookTint, false, 300, stressedReader, 0.999, false},
		{60, kit.Round, LookTint, false, 300, stressedReader, 0.999, false},
		{60, kit.Square, LookTint, false, 300, designReader, 1, true},
		{30, kit.Square, LookTint, false, 150, designReader, 1, true},
		{60, kit.Round, LookTint, false, 150, designReader, 0.9995, true},
	} {
		cols, rows := 64, 50
		if c.turned { // four times the work
			cols, rows = 36, 30
		}
		k := testKit(t, cols, rows, c.colors, c.shape)
		p := DefaultPrint()
		p.Look, p.Large = c.look, c.large
		if c.turned {
			k.Chart.Turn()
		}
		wrong := c.reader.read(t, k, p, c.dpi)
		share := 1 - float64(wrong)/float64(len(k.Chart.Cells))
		t.Logf("%d colors, %s, %s, large %v, turned %v, %g dpi: %.5f right", c.colors, c.shape, c.look, c.large, c.turned, c.dpi, share)
		assert.GreaterOrEqual(t, share, c.least)
	}
}

// The reader can fail: blurred out of sight, it guesses.
func TestSimulatedReaderCanFail(t *testing.T) {
	k := testKit(t, 30, 20, symbols.Named, kit.Square)
	blind := reader{sigma: 1, grain: 0.3, jitter: 0.05}
	assert.Greater(t, blind.read(t, k, DefaultPrint(), 150), 300, "of 600")
}

// The share that the simulated reader gets right of a photo's chart of 32,000
// drills.
func BenchmarkSimulatedReader(b *testing.B) {
	for _, colors := range []int{30, 60} {
		k := catKit(b, 160, 200, colors, kit.Square)
		for name, dpi := range map[string]float64{"300dpi": 300, "150dpi": 150} {
			b.Run(name, func(b *testing.B) {
				wrong := 0
				for b.Loop() {
					wrong = designReader.read(b, k, DefaultPrint(), dpi)
				}
				b.ReportMetric(100*(1-float64(wrong)/float64(len(k.Chart.Cells))), "%right")
				b.ReportMetric(float64(colors), "colors")
			})
		}
	}
}
