package gauge

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/par"
	"kitwright/internal/spectral"
	"kitwright/lab"
)

// A scene is a simulated photo of a card whose colors are known: drills with
// spectra of their own under a light that has one, seen by a camera whose
// sensitivities are no combination of the observer's, with its white balance,
// its matrix for another light, saturation, tone curve, noise and JPEG.
// Translucent resin, fluorescence and coatings are not in it: what it says is
// a lower bound of the error.
type scene struct {
	seed         uint64
	cols, rows   int
	light        light
	balance      light   // the light that the camera's matrix was made for
	saturation   float64 // 1 as it is
	bend         float64 // of the tone curve
	exposure     float64 // linear light of white paper
	fall         float64 // how much darker the far corner is, in logarithms
	tint         float64 // of red against blue from left to right, in logarithms
	shadow       float64 // how much a hand's shadow takes away on a third of the card
	local        float64 // strength of a local tone map
	gloss        float64 // of the surface, share of white
	glints       bool
	noise        float64 // of 255
	jpeg         int     // quality, 0 for none
	tilt         float64 // perspective
	targetBeside bool
	frame        *Frame // our measuring sheet instead of a grid
}

type light func(nm float64) float64

func tabled(v []float64) light {
	return func(nm float64) float64 {
		o := spectral.CIE1931
		i := int(math.Round((nm - o.From) / o.Step))
		return v[min(max(i, 0), len(v)-1)]
	}
}

var (
	lightD65 = tabled(spectral.CIE1931.D65)
	lightD50 = tabled(spectral.CIE1931.D50)
)

// led is a white LED of two lobes, blue and phosphor.
func led(nm float64) float64 {
	g := func(m, s float64) float64 { return math.Exp(-(nm - m) * (nm - m) / (2 * s * s)) }
	return 90*g(450, 11) + 75*g(570, 55) + 2
}

// eye sums a reflectance under a light with the camera's sensitivities.
func camera(l light, reflect func(nm float64) float64) (v [3]float64) {
	lobe := func(nm, m, s float64) float64 { return math.Exp(-(nm - m) * (nm - m) / (2 * s * s)) }
	for nm := 400.0; nm <= 700; nm += 5 {
		e := l(nm) * reflect(nm)
		v[0] += e * (lobe(nm, 598, 38) + 0.05*lobe(nm, 440, 25))
		v[1] += e * lobe(nm, 536, 42)
		v[2] += e * lobe(nm, 462, 28)
	}
	return v
}

// smooth is the reflectance of a drill or an ink: a sigmoid of a quadratic,
// with a wiggle that the observer hardly sees.
type smooth struct{ a, b, c, wiggle, phase float64 }

func (s smooth) at(nm float64) float64 {
	x := (nm - 550) / 150
	v := 1 / (1 + math.Exp(-(s.a + s.b*x + s.c*x*x)))
	return min(0.98, max(0.005, v+s.wiggle*math.Sin(nm/14+s.phase)*v*(1-v)))
}

func (s smooth) color() lab.Color {
	o := spectral.CIE1931
	xyz, white := o.Under(o.D65, s.at)
	return lab.FromXYZ(xyz[0]*lab.White[0]/white[0], xyz[1], xyz[2]*lab.White[2]/white[2])
}

// spectrumFor returns a smooth reflectance of a given color.
func spectrumFor(c lab.Color) smooth {
	p := fit([]float64{math.Log(max(0.01, c.L/100) / max(0.01, 1-c.L/100*0.98)), 0, 0}, func(p []float64) []float64 {
		got := smooth{a: p[0], b: p[1], c: p[2]}.color()
		return []float64{got.L - c.L, got.A - c.A, got.B - c.B}
	})
	return smooth{a: p[0], b: p[1], c: p[2]}
}

// shot is a scene as photographed.
type shot struct {
	img     *image.NRGBA
	sheet   *Sheet
	corners [4]Point
	target  [4]Point
	truth   []lab.Color
}

func (s scene) codes() (grid [][]string) {
	for r := range s.rows {
		var row []string
		for c := range s.cols {
			row = append(row, fmt.Sprintf("SR-%03d", r*s.cols+c+1))
		}
		grid = append(grid, row)
	}
	return grid
}

// pixels a unit of the sheet: 14 a drill.
const (
	pitchPixels = 62.0
	mmPixels    = 5.0
)

func (s scene) shoot(t testing.TB) shot {
	t.Helper()
	rng := rand.New(rand.NewPCG(s.seed, 7))
	out := shot{}
	unit, margin := pitchPixels, 1.3
	var w, h float64 // of the scene, in units
	if s.frame != nil {
		out.sheet, unit, margin = s.frame.Sheet(), mmPixels, 8
		w, h = s.frame.W, s.frame.H
	} else {
		var err error
		out.sheet, err = Grid(s.codes(), Fill)
		require.NoError(t, err)
		w, h = float64(s.cols), float64(s.rows)
	}
	if s.targetBeside {
		h += 5
	}

	// What there is to see: for each kind of surface, what the camera records.
	paperColor := lab.Color{L: 94.5, A: 0.4, B: -2.5}
	paper := camera(s.light, spectrumFor(paperColor).at)
	matrix := cameraMatrix(s.balance)
	record := func(reflect func(float64) float64) (v [3]float64) {
		raw := camera(s.light, reflect)
		for c := range raw {
			raw[c] /= paper[c] // white balance on the paper
		}
		for i := range v {
			for j := range raw {
				v[i] += matrix[i][j] * raw[j]
			}
		}
		y := 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]
		for c := range v {
			v[c] = (y + s.saturation*(v[c]-y)) * s.exposure
		}
		return v
	}
	white := record(spectrumFor(paperColor).at)
	wood := record(spectrumFor(lab.Color{L: 55, A: 10, B: 22}).at)
	black := record(spectrumFor(lab.Color{L: 16, A: 0, B: 0}).at)
	drills := make([][3]float64, len(out.sheet.Patches))
	for i := range drills {
		d := smooth{a: rng.NormFloat64()*1.6 - 0.5, b: rng.NormFloat64() * 2, c: rng.NormFloat64() * 1.2, wiggle: rng.Float64() * 0.12, phase: rng.Float64() * 6}
		drills[i] = record(d.at)
		out.truth = append(out.truth, d.color())
	}
	var targetColors [24][3]float64
	for i, c := range Target2005.reference() {
		targetColors[i] = record(spectrumFor(c).at)
	}
	shades := make([][3][3]float64, len(drills)) // tilt of each drill
	for i := range shades {
		for a := range 3 {
			for b := range 3 {
				shades[i][a][b] = 1 + 0.018*rng.NormFloat64()
			}
		}
	}

	// The picture's corners: the scene with a margin, seen a little askew.
	pw, ph := int((w+2*margin)*unit), int((h+2*margin)*unit)
	scene := [4]Point{{-margin, -margin}, {w + margin, -margin}, {w + margin, h + margin}, {-margin, h + margin}}
	fw, fh := float64(pw), float64(ph)
	e := s.tilt
	to := [4]Point{{fw * e, fh * e * 0.6}, {fw * (1 - e*0.4), fh * e * 0.2}, {fw * (1 - e*0.1), fh * (1 - e*0.3)}, {fw * e * 0.3, fh * (1 - e*0.8)}}
	see, ok := newHomography(scene, to)
	require.True(t, ok)
	back, ok := newHomography(to, scene)
	require.True(t, ok)
	for i, c := range out.sheet.Corners {
		out.corners[i] = see.at(c)
	}
	tx, ty, tu := 0.5, h-4.4, min(1.2, w/7)
	if s.frame != nil {
		tx, ty, tu = 20, s.frame.H+1, 20
	}
	for i, c := range [4]Point{{0.5, 0.5}, {5.5, 0.5}, {5.5, 3.5}, {0.5, 3.5}} {
		out.target[i] = see.at(Point{tx + c.X*tu, ty + c.Y*tu})
	}

	surface := func(p Point, r uint64) (v [3]float64, shade, glint float64) {
		if s.targetBeside {
			if x, y := (p.X-tx)/tu, (p.Y-ty)/tu; x > -0.15 && y > -0.15 && x < 6.15 && y < 4.15 {
				if fx, fy := x-math.Floor(x), y-math.Floor(y); x > 0 && y > 0 && x < 6 && y < 4 && fx > 0.1 && fx < 0.9 && fy > 0.1 && fy < 0.9 {
					return targetColors[int(y)*6+int(x)], 1, 0
				}
				return black, 1, 0
			}
		}
		if s.frame != nil {
			if v, ok := s.frameInk(p, white, black); ok {
				return v, 1, 0
			}
			if p.X < 0 || p.Y < 0 || p.X > s.frame.W || p.Y > s.frame.H {
				return wood, 1, 0
			}
		} else if p.X < -0.7 || p.Y < -0.7 || p.X > float64(s.cols)+0.4 || p.Y > h+0.4 {
			return wood, 1, 0
		}
		i := s.patchAt(out.sheet, p)
		if i < 0 {
			return white, 1, 0
		}
		rect := out.sheet.Patches[i].Rect
		x, y := (p.X-rect.X)/rect.W*3, (p.Y-rect.Y)/rect.H*3
		a, b := min(int(x), 2), min(int(y), 2)
		x, y = x-float64(a), y-float64(b)
		edge := min(x, y, 1-x, 1-y)
		switch {
		case edge < 0.03:
			return black, 0.9, 0 // the gap
		case edge < 0.2: // bevels, each to another side
			shade := 0.72
			switch {
			case y == edge:
				shade = 1.16
			case x == edge:
				shade = 1.04
			case 1-x == edge:
				shade = 0.86
			}
			if s.glints && r%100 < 4 {
				glint = 0.5
			}
			return drills[i], shade, glint
		}
		if s.glints && (uint64(i)*2654435761>>7+uint64(a*3+b))%10 == 0 {
			glint = 0.12 // a table that mirrors the lamp
		}
		return drills[i], shades[i][a][b], glint
	}

	img := image.NewNRGBA(image.Rect(0, 0, pw, ph))
	par.Rows(ph, func(py int) {
		rng := rand.New(rand.NewPCG(s.seed, uint64(py)+100))
		for px := range pw {
			var sum [3]float64
			f := s.lit(back.at(Point{float64(px) + 0.5, float64(py) + 0.5}), w, h)
			for k := range 4 {
				p := back.at(Point{float64(px) + 0.25 + 0.5*float64(k%2), float64(py) + 0.25 + 0.5*float64(k/2)})
				v, shade, glint := surface(p, rng.Uint64())
				for c := range sum {
					sum[c] += ((v[c]*shade+glint*s.exposure)*f[c] + s.gloss*s.exposure) / 4
				}
			}
			o := img.PixOffset(px, py)
			for c := range sum {
				v := s.tone(sum[c])
				img.Pix[o+c] = uint8(math.Round(min(255, max(0, 255*v+s.noise*rng.NormFloat64()))))
			}
			img.Pix[o+3] = 255
		}
	})
	if s.local > 0 {
		localTone(img, s.local)
	}
	if s.jpeg > 0 {
		var b bytes.Buffer
		require.NoError(t, jpeg.Encode(&b, img, &jpeg.Options{Quality: s.jpeg}))
		got, err := jpeg.Decode(&b)
		require.NoError(t, err)
		img = image.NewNRGBA(got.Bounds())
		draw.Draw(img, img.Bounds(), got, image.Point{}, draw.Src)
	}
	out.img = img
	return out
}

// frameInk is what is printed on our sheet.
func (s scene) frameInk(p Point, white, black [3]float64) ([3]float64, bool) {
	in := func(r Rect) bool { return p.X >= r.X && p.Y >= r.Y && p.X < r.X+r.W && p.Y < r.Y+r.H }
	if in(s.frame.Hole) {
		return white, true
	}
	for _, m := range s.frame.Markers {
		if in(m) {
			return black, true
		}
	}
	for i, m := range s.frame.Marks {
		if s.frame.Bits[i] && in(m) {
			return black, true
		}
	}
	for _, ramp := range s.frame.Ramps {
		for i, g := range ramp {
			if in(g) {
				share := lab.Decode(float64(RampGrays[i]) / 255)
				return [3]float64{black[0] + share*(white[0]-black[0]), black[1] + share*(white[1]-black[1]), black[2] + share*(white[2]-black[2])}, true
			}
		}
	}
	return white, false
}

// patchAt returns the patch at a place, -1 where there is none.
func (s scene) patchAt(sheet *Sheet, p Point) int {
	i := int(math.Floor(p.Y))*s.cols + int(math.Floor(p.X))
	if s.frame != nil {
		pitchX, pitchY := (s.frame.W-40)/frameCols, (s.frame.H-cellsTop-cellsEnd)/frameRows
		i = int(math.Floor((p.Y-cellsTop)/pitchY))*frameCols + int(math.Floor((p.X-20)/pitchX))
	}
	if i < 0 || i >= len(sheet.Patches) {
		return -1
	}
	if q := sheet.Patches[i]; p.X >= q.X && p.Y >= q.Y && p.X < q.X+q.W && p.Y < q.Y+q.H {
		return i
	}
	return -1
}

// lit is the light at a place, by channel.
func (s scene) lit(p Point, w, h float64) (f [3]float64) {
	x, y := p.X/w, p.Y/h
	base := -s.fall * (0.45*x + 0.35*y + 0.2*(x*x+y*y)/2)
	if s.shadow > 0 {
		edge := 1 / (1 + math.Exp((x+0.3*y-0.45)*60))
		base += math.Log(1 - s.shadow*edge)
	}
	return [3]float64{math.Exp(base + s.tint*(x-0.5)), math.Exp(base), math.Exp(base - s.tint*(x-0.5))}
}

// encoded is sRGB's curve in steps of 1/4096, a little beyond white.
var encoded = func() (t [6000]float64) {
	for i := range t {
		v := float64(i) / 4096
		t[i] = 12.92 * v
		if v > 0.0031308 {
			t[i] = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
	}
	return t
}()

// tone is the camera's curve, encoded.
func (s scene) tone(v float64) float64 {
	if v < 0 {
		return 0
	}
	i := min(v*4096, float64(len(encoded)-2))
	e := encoded[int(i)] + (i-math.Floor(i))*(encoded[int(i)+1]-encoded[int(i)])
	return min(1, e+s.bend*e*(1-e)*(e-0.35))
}

// localTone lifts what lies in the dark of its surroundings.
func localTone(img *image.NRGBA, strength float64) {
	b := img.Bounds()
	const cell = 48
	cw, ch := b.Dx()/cell+1, b.Dy()/cell+1
	means := make([]float64, cw*ch)
	count := make([]float64, cw*ch)
	for y := range b.Dy() {
		for x := range b.Dx() {
			i := y/cell*cw + x/cell
			means[i] += float64(img.Pix[img.PixOffset(x, y)+1]) / 255
			count[i]++
		}
	}
	at := func(x, y int) float64 {
		x, y = min(max(x, 0), cw-1), min(max(y, 0), ch-1)
		return means[y*cw+x] / count[y*cw+x]
	}
	for y := range b.Dy() {
		for x := range b.Dx() {
			gx, gy := float64(x)/cell-0.5, float64(y)/cell-0.5
			x0, y0 := int(math.Floor(gx)), int(math.Floor(gy))
			fx, fy := gx-float64(x0), gy-float64(y0)
			m := (at(x0, y0)*(1-fx)+at(x0+1, y0)*fx)*(1-fy) + (at(x0, y0+1)*(1-fx)+at(x0+1, y0+1)*fx)*fy
			c := img.NRGBAAt(x, y)
			gain := math.Pow(0.6/max(m, 0.05), strength)
			lift := func(v uint8) uint8 { return uint8(min(255, float64(v)*gain)) }
			img.SetNRGBA(x, y, color.NRGBA{lift(c.R), lift(c.G), lift(c.B), 255})
		}
	}
}

// cameraMatrix is the camera's own: least squares from balanced raw values to
// linear sRGB over many smooth reflectances under a light.
func cameraMatrix(l light) (m [3][3]float64) {
	rng := rand.New(rand.NewPCG(1, 1))
	flat := camera(l, func(float64) float64 { return 1 })
	var eq [3]*normal
	for i := range eq {
		eq[i] = newNormal(3)
	}
	for range 300 {
		d := smooth{a: rng.NormFloat64() * 1.5, b: rng.NormFloat64() * 1.5, c: rng.NormFloat64()}
		raw := camera(l, d.at)
		row := []float64{raw[0] / flat[0], raw[1] / flat[1], raw[2] / flat[2]}
		r, g, b := d.color().LinearRGB()
		for i, want := range [3]float64{r, g, b} {
			eq[i].add(row, want, 1)
		}
	}
	for i := range m {
		x, _ := solve(eq[i].rows)
		copy(m[i][:], x)
		sum := x[0] + x[1] + x[2]
		for j := range m[i] {
			m[i][j] /= sum // white stays white
		}
	}
	return m
}
