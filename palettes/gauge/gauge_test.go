package gauge

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/disintegration/imaging"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/internal/say"
	"kitwright/lab"
	"kitwright/palettes"
)

// Scenes of the kinds that photos come in. Their figures are not those of any
// real camera; the aims are the ones a sheet in such light should reach.
var (
	gentle = scene{seed: 1, cols: 15, rows: 10, light: lightD65, balance: lightD65, saturation: 1, exposure: 0.74,
		fall: 0.35, gloss: 0.002, glints: true, noise: 1, jpeg: 95, tilt: 0.03}
	daylight = scene{seed: 2, cols: 15, rows: 10, light: lightD50, balance: lightD65, saturation: 1.1, bend: 0.35, exposure: 0.72,
		fall: 0.45, gloss: 0.004, glints: true, noise: 1.5, jpeg: 92, tilt: 0.04}
	scanned = scene{seed: 3, cols: 15, rows: 10, light: led, balance: led, saturation: 1.05, bend: 0.1, exposure: 0.8,
		fall: 0.04, gloss: 0.002, noise: 0.7, jpeg: 95, tilt: 0.002}
)

func measured(t testing.TB, s scene) (*Reading, shot, float64) {
	t.Helper()
	shot := s.shoot(t)
	opt := Options{}
	if s.targetBeside {
		opt = Options{Target: Target2005, TargetCorners: shot.target}
	}
	r, err := shot.sheet.Measure(shot.img, shot.corners, opt)
	require.NoError(t, err)
	return r, shot, missOf(r, shot)
}

func missOf(r *Reading, s shot) float64 {
	sum := 0.0
	for i, read := range r.Reads {
		sum += lab.DeltaE(read.Lab, s.truth[i])
	}
	return sum / float64(len(r.Reads))
}

// seeds is how many cards each kind of light is tried with: all of them where
// every check has to run.
func seeds() uint64 {
	if os.Getenv("KITWRIGHT_CHECKERS") == "all" {
		return 2
	}
	return 1
}

// A card of 450 colors fares as one of 150: only the number of windows grows.
func TestLargeCard(t *testing.T) {
	if seeds() == 1 {
		t.Skip("skipped: tried where every check has to run")
	}
	s := daylight
	s.cols, s.rows, s.targetBeside = 30, 15, true
	r, _, e := measured(t, s)
	t.Logf("450 colors: mean %.2f, expected %.2f; %v", e, r.Mean, r.Warnings)
	assert.Less(t, e, 1.5)
}

func TestAccuracy(t *testing.T) {
	for _, c := range []struct {
		name         string
		scene        scene
		plain, aimed float64
	}{{"gentle light", gentle, 2.0, 1.0}, {"mild daylight", daylight, 2.5, 1.5}, {"scanned", scanned, 2.0, 1.6}} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.name != "gentle light" {
				t.Skip("skipped: short")
			}
			for seed := range seeds() {
				s := c.scene
				s.seed += 10 * seed
				r, _, e := measured(t, s)
				t.Logf("without a target: mean %.2f; warnings %v", e, r.Warnings)
				assert.Less(t, e, c.plain)
				s.targetBeside = true
				r, _, e = measured(t, s)
				t.Logf("with one: mean %.2f, expected %.2f and %.2f, %s; %v", e, r.Mean, r.P95, r.Model, r.Warnings)
				assert.Less(t, e, c.aimed)
			}
		})
	}
}

// Spoiled pictures, each with what has to be said about it: "refused: ..."
// begins a refusal. The good ones above are never refused and carry no warning.
func TestTrouble(t *testing.T) {
	shift := func(dx, dy float64) func(*shot) {
		return func(s *shot) {
			h, ok := newHomography(s.sheet.Corners, s.corners)
			require.True(t, ok)
			for i, c := range s.sheet.Corners {
				s.corners[i] = h.at(Point{c.X + dx, c.Y + dy})
			}
		}
	}
	layout := func(cols, rows int) func(*shot) {
		return func(s *shot) {
			sheet, err := Grid(scene{cols: cols, rows: rows}.codes(), Fill)
			require.NoError(t, err)
			s.sheet = sheet
		}
	}
	with := func(change func(s *scene)) scene {
		s := gentle
		s.cols, s.rows = 12, 8
		change(&s)
		return s
	}
	plain := with(func(*scene) {})
	for _, c := range []struct {
		name  string
		scene scene
		spoil func(*shot)
		says  string
	}{
		{"corners off by an eighth", plain, shift(0.125, 0.125), "refused: the corners or the layout do not fit"},
		{"off by a quarter across", plain, shift(0.25, 0), "refused: the corners or the layout do not fit"},
		{"off by half across", plain, shift(0.5, 0), "refused: the corners or the layout do not fit"},
		{"off by half down", plain, shift(0, 0.5), "refused: the corners or the layout do not fit"},
		{"a row too many", plain, layout(12, 9), "refused: the corners or the layout do not fit"},
		{"a column too few", plain, layout(11, 8), "refused: the corners or the layout do not fit"},
		{"burnt out", with(func(s *scene) { s.exposure = 1.15; s.fall = 0.15 }), nil, "refused: the white paper is burnt out"},
		{"in the dark", with(func(s *scene) { s.exposure = 0.06 }), nil, "refused: the white paper is too dark"},
		{"too dark", with(func(s *scene) { s.exposure = 0.2 }), nil, "the white paper is dark"},
		{"a little burnt out", with(func(s *scene) { s.exposure = 1.01; s.fall = 0.35 }), nil, "the white paper is burnt out in"},
		{"a strong slope of light", with(func(s *scene) { s.fall = 1.7; s.exposure = 0.85 }), nil, "refused: one end of the card is"},
		{"a slope of light", with(func(s *scene) { s.fall = 1.25; s.exposure = 0.85 }), nil, "one end of the card is"},
		{"two kinds of light", with(func(s *scene) { s.tint = 1.0 }), nil, "refused: two kinds of light fall"},
		{"a little of another light", with(func(s *scene) { s.tint = 0.2 }), nil, "two kinds of light seem to mix"},
		{"the shadow of a hand", with(func(s *scene) { s.shadow = 0.35 }), nil, "shadow"},
		{"HDR", with(func(s *scene) { s.local = 0.14; s.fall = 0.5 }), nil, "switch off HDR"},
		{"an empty sheet", plain, emptied, "refused: most of the places where colors should lie show white paper"},
		{"a photo of a screen", plain, rasterOf(3.4, 0.45), "refused: what lies between the colors is not evenly lit white paper: the corners, the layout, a hard shadow, or a photo of a screen"},
		{"a photo of a printed photo", plain, halftoned, "it shows a print or a screen instead of the card"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.spoil == nil {
				t.Skip("skipped: short; the corners are tried")
			}
			t.Parallel()
			shot := c.scene.shoot(t)
			if c.spoil != nil {
				c.spoil(&shot)
			}
			r, err := shot.sheet.Measure(shot.img, shot.corners, Options{})
			if err != nil {
				assert.Contains(t, "refused: "+err.Error(), c.says)
				return
			}
			t.Logf("%+v", r.seen)
			assert.Contains(t, strings.Join(r.Warnings, "\n"), c.says)
		})
	}
	shot := plain.shoot(t)
	r, err := shot.sheet.Measure(shot.img, shot.corners, Options{})
	require.NoError(t, err)
	assert.Empty(t, r.Warnings)
	t.Logf("good: %+v", r.seen)
	c := shot.corners
	for name, corners := range map[string][4]Point{
		"outside": {{-5, 0}, c[1], c[2], c[3]}, "crossed": {c[1], c[0], c[2], c[3]}, "mirrored": {c[1], c[0], c[3], c[2]},
		"on a line": {{10, 10}, {20, 20}, {30, 30}, {5, 40}}, "tiny": {{10, 10}, {30, 10}, {30, 30}, {10, 30}}, "NaN": {{math.NaN(), 0}, c[1], c[2], c[3]},
	} {
		_, err := shot.sheet.Measure(shot.img, corners, Options{})
		var said *say.Error
		assert.True(t, errors.As(err, &said) && said.Try != "", name)
	}
}

// emptied paints paper over all that is darker.
func emptied(s *shot) {
	for i := 0; i < len(s.img.Pix); i += 4 {
		for c := range 3 {
			s.img.Pix[i+c] = max(s.img.Pix[i+c], 205)
		}
	}
}

// rasterOf lays the stripes of a screen over a picture, red, green and blue
// beside one another, so many pixels wide and so dark between.
func rasterOf(width, dark float64) func(*shot) {
	return func(s *shot) {
		for i := 0; i < len(s.img.Pix); i += 4 {
			x := float64(i % s.img.Stride / 4)
			for c := range 3 {
				by := 1 - dark + dark*math.Cos(2*math.Pi*(x/width-float64(c)/3))
				s.img.Pix[i+c] = uint8(float64(s.img.Pix[i+c]) * max(0, by))
			}
		}
	}
}

// halftoned prints a picture in dots of three inks, each at an angle of its
// own, and blurs it a little as a lens does.
func halftoned(s *shot) {
	for i := 0; i < len(s.img.Pix); i += 4 {
		x, y := float64(i%s.img.Stride/4), float64(i/s.img.Stride)
		for c, angle := range []float64{15, 75, 45} {
			sin, cos := math.Sincos(angle * math.Pi / 180)
			dot := (math.Cos(2*math.Pi*(cos*x+sin*y)/4.6) + math.Cos(2*math.Pi*(cos*y-sin*x)/4.6) + 2) / 4 * 255
			v := uint8(10)
			if float64(s.img.Pix[i+c]) > dot {
				v = 240
			}
			s.img.Pix[i+c] = v
		}
	}
	s.img = imaging.Blur(s.img, 1.2)
}

// The codes at the picture's own corners are told, so that a person sees a
// card that was photographed on its head.
func TestEnds(t *testing.T) {
	shot := gentle.shoot(t)
	r, err := shot.sheet.Measure(shot.img, shot.corners, Options{})
	require.NoError(t, err)
	first, last := r.Ends()
	assert.Equal(t, shot.sheet.Patches[0].Code, first)
	assert.Equal(t, shot.sheet.Patches[len(shot.sheet.Patches)-1].Code, last)
	c := shot.corners
	r, err = shot.sheet.Measure(shot.img, [4]Point{c[2], c[3], c[0], c[1]}, Options{})
	require.NoError(t, err, "a card on its head cannot be told from another")
	turned, end := r.Ends()
	assert.Equal(t, []string{first, last}, []string{end, turned})
}

// Our measuring sheet is found by its markers, however it lies, and read.
func TestMeasuringSheet(t *testing.T) {
	checker.Slow(t)
	var codes []string
	for i := range 55 {
		codes = append(codes, fmt.Sprintf("SR-%03d", i+1))
	}
	frames, err := Frames(codes, 210, 297)
	require.NoError(t, err)
	require.Len(t, frames, 2)
	other, err := Frames(codes[1:41], 210, 297)
	require.NoError(t, err)
	for i, base := range []scene{gentle, daylight} {
		s := base
		s.frame = frames[i]
		shot := s.shoot(t)
		for j, turn := range []func(image.Image) *image.NRGBA{imaging.Clone, imaging.Rotate90, imaging.Rotate180, func(i image.Image) *image.NRGBA { return imaging.Rotate(i, 25, color.NRGBA{120, 90, 60, 255}) }} {
			if i > 0 && j > 0 {
				break // one turn of the second sheet is enough
			}
			img := turn(shot.img)
			f, corners, err := Find(img, frames)
			require.NoError(t, err)
			assert.Equal(t, frames[i], f)
			r, err := f.Sheet().Measure(img, corners, Options{})
			require.NoError(t, err)
			e := missOf(r, shot)
			t.Logf("%s: mean %.2f %v", f.Name(), e, r.Warnings)
			assert.Less(t, e, 2.5)
			assert.Len(t, r.Reads, len(f.Codes))
		}
		at, err := FindAt(shot.img, frames, shot.corners)
		require.NoError(t, err)
		assert.Equal(t, frames[i], at)
		_, err = FindAt(shot.img, frames, [4]Point{shot.corners[1], shot.corners[2], shot.corners[3], shot.corners[0]})
		assert.ErrorContains(t, err, "no measuring sheet was found")
		_, _, err = Find(shot.img, other)
		assert.ErrorContains(t, err, "of a measuring sheet for other codes")
		_, corners, err := Find(shot.img, frames)
		require.NoError(t, err)
		worst := 0.0
		for i, c := range corners {
			worst = max(worst, distance(c, shot.corners[i]))
		}
		t.Logf("markers within %.2f pixels", worst)
		assert.Less(t, worst, 1.5)
	}
	_, _, err = Find(gentle.shoot(t).img, frames)
	assert.ErrorContains(t, err, "no measuring sheet was found")
}

// Two pictures of one card: averaged, and their disagreement told. The same
// pictures give the same card, byte for byte.
func TestCombine(t *testing.T) {
	a, b := gentle, gentle
	a.cols, a.rows, b.cols, b.rows = 8, 6, 8, 6
	b.fall, b.noise, b.light = -0.3, 2, lightD50
	var cards [2]bytes.Buffer
	for i := range cards {
		ra, shot, ea := measured(t, a)
		rb, _, eb := measured(t, b)
		c := Combine("two", []*Reading{ra, rb})
		assert.Equal(t, 2, c.Pictures)
		assert.Greater(t, c.Apart, 0.05)
		assert.Less(t, c.Apart, 2.0)
		sum := 0.0
		for j, d := range c.Card.Drills {
			sum += lab.DeltaE(d.Lab, shot.truth[j]) / float64(len(c.Card.Drills))
		}
		t.Logf("%.2f and %.2f, together %.2f, apart %.2f", ea, eb, sum, c.Apart)
		assert.Less(t, sum, max(ea, eb))
		require.NoError(t, c.WriteCSV(&cards[i]))
	}
	assert.Equal(t, cards[0].String(), cards[1].String())
	back, err := palettes.Read("two.csv", &cards[0])
	require.NoError(t, err)
	assert.Len(t, back.Drills, 48)
	assert.Contains(t, back.Source, "measured with kitwright from 2 pictures; no target was in the picture")
}

func TestLayouts(t *testing.T) {
	for name, codes := range map[string][][]string{
		"empty": {}, "no codes": {{"", " "}}, "twice": {{"A", "B"}, {"a"}},
		"too many": make([][]string, 2000),
	} {
		if name == "too many" {
			for i := range codes {
				codes[i] = []string{fmt.Sprint("A", i)}
			}
		}
		_, err := Grid(codes, Fill)
		assert.Error(t, err, name)
	}
	_, err := Grid([][]string{{"A"}}, 1.5)
	assert.Error(t, err)
	s, err := Grid([][]string{{"A", "", "B/AB"}, {"C", "5YR 6/8"}}, Fill)
	require.NoError(t, err)
	assert.Len(t, s.Patches, 4)
	assert.Equal(t, palettes.Finish("AB"), s.Patches[1].Finish)
	assert.Equal(t, "5YR 6/8", s.Patches[3].Code)
	for _, n := range []int{0, 641} {
		var codes []string
		for i := range n {
			codes = append(codes, fmt.Sprint("A", i))
		}
		_, err := Frames(codes, 210, 297)
		assert.Error(t, err)
	}
}

// What is on a measuring sheet lies on the paper, and nothing on anything else.
func TestFrameLayout(t *testing.T) {
	for _, paper := range [][2]float64{{210, 297}, {215.9, 279.4}} {
		var codes []string
		for i := range 40 {
			codes = append(codes, fmt.Sprint("A", i))
		}
		frames, err := Frames(codes, paper[0], paper[1])
		require.NoError(t, err)
		f := frames[0]
		var all []Rect
		all = append(all, f.Markers[:]...)
		all = append(append(append(append(all, f.Ramps[0]...), f.Ramps[1]...), f.Marks...), f.Cells...)
		all = append(all, f.Sheet().Whites...)
		for i, a := range all {
			assert.True(t, a.X >= 5 && a.Y >= 5 && a.X+a.W <= f.W-5 && a.Y+a.H <= f.H-5, "%v", a)
			for _, b := range all[i+1:] {
				assert.False(t, a.X+1e-9 < b.X+b.W && b.X+1e-9 < a.X+a.W && a.Y+1e-9 < b.Y+b.H && b.Y+1e-9 < a.Y+a.H, "%v lies on %v", a, b)
			}
		}
	}
}

// The reference of the target against the two D65 values that its maker's
// sRGB table gives for the editions up to 2014 (white 243,243,242; from
// memory): rounding and its own adaptation leave a difference of 1.
func TestTargetReference(t *testing.T) {
	ref := Target2005.reference()
	assert.Less(t, lab.DeltaE(ref[18], lab.FromSRGB([3]uint8{243, 243, 242})), 1.0)
	assert.Less(t, lab.DeltaE(ref[21], lab.FromSRGB([3]uint8{122, 122, 121})), 1.0)
	assert.Less(t, lab.DeltaE(ref[14], lab.FromSRGB([3]uint8{175, 54, 60})), 1.5)
	for i, c := range Target2014.reference() {
		assert.Less(t, lab.DeltaE(c, ref[i]), 3.0, "patch %d", i+1)
	}
}

// Whatever a picture holds, it is read or refused with a sentence.
func FuzzMeasure(f *testing.F) {
	f.Add([]byte{1, 2, 3}, 40, 30, 1.0, 1.0, 35.0, 2.0, 36.0, 28.0, 2.0, 27.0)
	frames, err := Frames([]string{"A", "B"}, 210, 297)
	require.NoError(f, err)
	sheet, err := Grid([][]string{{"A", "B"}, {"C"}}, Fill)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, data []byte, w, h int, x0, y0, x1, y1, x2, y2, x3, y3 float64) {
		if w < 1 || h < 1 || w > 200 || h > 200 {
			return
		}
		img := image.NewNRGBA(image.Rect(0, 0, w, h))
		for i := range img.Pix {
			if len(data) > 0 {
				img.Pix[i] = data[i%len(data)]
			}
			if i%4 == 3 {
				img.Pix[i] = 255
			}
		}
		var said *say.Error
		if _, _, err := Find(img, frames); err != nil {
			require.True(t, errors.As(err, &said) && said.Try != "", "%v", err)
		}
		corners := [4]Point{{x0, y0}, {x1, y1}, {x2, y2}, {x3, y3}}
		r, err := sheet.Measure(img, corners, Options{Target: Target2005, TargetCorners: corners})
		if err != nil {
			require.True(t, errors.As(err, &said) && said.Try != "", "%v", err)
			return
		}
		require.Len(t, r.Reads, 3)
		r.Draw(img)
	})
}

// Measuring a photo of 150 colors, with and without a target.
func BenchmarkMeasure(b *testing.B) {
	for name, target := range map[string]bool{"plain": false, "target": true} {
		b.Run(name, func(b *testing.B) {
			s := gentle
			s.targetBeside = target
			shot := s.shoot(b)
			opt := Options{}
			if target {
				opt = Options{Target: Target2005, TargetCorners: shot.target}
			}
			for b.Loop() {
				if _, err := shot.sheet.Measure(shot.img, shot.corners, opt); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
