package render

import (
	"bytes"
	"context"
	"image"
	_ "image/jpeg" // photos for tests
	_ "image/png"
	"math"
	"os"
	"path/filepath"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/chart"
	"kitwright/internal/checker"
	"kitwright/internal/measure"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/palettes"
	"kitwright/photo"
)

// testCard returns n invented colors, well apart, in no order of lightness.
func testCard(n int) *palettes.Card {
	names := []string{"sandbar", "harbor rust", "sea glass", "marmalade", "driftwood", "deep tide", "gull", "whisker", "rope, a longer name than most of them have"}
	card := &palettes.Card{Name: "seaside", Builtin: true}
	for i := range n {
		h := float64(i) * 2.399963 // the golden angle spreads hues
		v := 0.12 + 0.8*math.Mod(float64(i)*0.618034+0.1, 1)
		s := 0.25 + 0.6*math.Mod(float64(i)*0.754878, 1)
		ch := func(off float64) uint8 { return uint8(255 * v * (1 - s*(0.5+0.5*math.Cos(h+off)))) }
		rgb := [3]uint8{ch(0), ch(2.0944), ch(4.18879)}
		card.Drills = append(card.Drills, palettes.Drill{
			Code: "SR-" + string([]byte{'0' + byte(i/100), '0' + byte(i/10%10), '0' + byte(i%10)}), Name: names[i%len(names)], RGB: rgb, Lab: lab.FromSRGB(rgb),
		})
	}
	return card
}

// testKit returns a kit of a synthetic picture: waves of color with confetti
// over them, the same each time. Every color is used.
func testKit(t testing.TB, cols, rows, colors int, shape kit.Shape) *kit.Kit {
	t.Helper()
	cells := make([]uint16, cols*rows)
	seed := uint32(1)
	random := func() uint32 {
		seed ^= seed << 13
		seed ^= seed >> 17
		seed ^= seed << 5
		return seed
	}
	for y := range rows {
		for x := range cols {
			v := math.Sin(float64(x)/17) + math.Cos(float64(y)/23) + math.Sin(float64(x+y)/41) + 3
			c := int(v / 6 * float64(colors))
			switch r := random() % 16; {
			case r < 4:
				c = int(random()) % colors
			case r < 9:
				c += int(random() % 3)
			}
			cells[y*cols+x] = uint16(min(max(c, 0), colors-1))
		}
	}
	for i := range min(colors, len(cells)) {
		cells[i*(len(cells)/colors)] = uint16(i)
	}
	return kitOf(t, cols, rows, testCard(colors), cells, shape)
}

func kitOf(t testing.TB, cols, rows int, card *palettes.Card, cells []uint16, shape kit.Shape) *kit.Kit {
	t.Helper()
	chosen := make([]int, len(card.Drills))
	for i := range chosen {
		chosen[i] = i
	}
	c, err := chart.New(cols, rows, card, chosen, cells)
	require.NoError(t, err)
	pitch := 2500 * measure.Micrometer
	if shape == kit.Round {
		pitch = 2800
	}
	return &kit.Kit{
		Title: "Marmalade at the harbor wall", Pitch: pitch, Chart: c,
		Drill: kit.Drill{Shape: shape, Size: pitch}, Card: kit.CardRef{Name: card.Name, Builtin: card.Builtin},
	}
}

// photoKit returns a kit of a photo, its pixels averaged under each drill and
// given to the nearest of colors taken from the photo itself by median cut.
func photoKit(t testing.TB, path string, cols, rows, colors int, shape kit.Shape) *kit.Kit {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	img, _, err := image.Decode(f)
	require.NoError(t, err)
	b := img.Bounds()
	side := math.Min(float64(b.Dx())/float64(cols), float64(b.Dy())/float64(rows))
	mean := make([][3]int, cols*rows)
	for y := range rows {
		for x := range cols {
			var sum [3]int
			n := 0
			for py := int(float64(y) * side); py < max(int(float64(y)*side)+1, int(float64(y+1)*side)); py++ {
				for px := int(float64(x) * side); px < max(int(float64(x)*side)+1, int(float64(x+1)*side)); px++ {
					r, g, bl, _ := img.At(b.Min.X+px, b.Min.Y+py).RGBA()
					sum[0], sum[1], sum[2] = sum[0]+int(r>>8), sum[1]+int(g>>8), sum[2]+int(bl>>8)
					n++
				}
			}
			mean[y*cols+x] = [3]int{sum[0] / n, sum[1] / n, sum[2] / n}
		}
	}
	boxes := [][][3]int{append([][3]int(nil), mean...)}
	for len(boxes) < colors {
		sort.SliceStable(boxes, func(i, j int) bool { return spread(boxes[i]) > spread(boxes[j]) })
		big := boxes[0]
		ch := widest(big)
		sort.SliceStable(big, func(i, j int) bool { return big[i][ch] < big[j][ch] })
		boxes = append(boxes[1:], big[:len(big)/2], big[len(big)/2:])
	}
	card := testCard(colors)
	for i, bx := range boxes {
		var s [3]int
		for _, p := range bx {
			s[0], s[1], s[2] = s[0]+p[0], s[1]+p[1], s[2]+p[2]
		}
		rgb := [3]uint8{uint8(s[0] / len(bx)), uint8(s[1] / len(bx)), uint8(s[2] / len(bx))}
		card.Drills[i].RGB, card.Drills[i].Lab = rgb, lab.FromSRGB(rgb)
	}
	cells := make([]uint16, len(mean))
	for i, p := range mean {
		best := 1 << 30
		for j, d := range card.Drills {
			e := 0
			for c := range 3 {
				e += (p[c] - int(d.RGB[c])) * (p[c] - int(d.RGB[c]))
			}
			if e < best {
				best, cells[i] = e, uint16(j)
			}
		}
	}
	return kitOf(t, cols, rows, card, cells, shape)
}

func widest(b [][3]int) int {
	best, at := -1, 0
	for c := range 3 {
		lo, hi := 255, 0
		for _, p := range b {
			lo, hi = min(lo, p[c]), max(hi, p[c])
		}
		if hi-lo > best {
			best, at = hi-lo, c
		}
	}
	return at
}

func spread(b [][3]int) int {
	lo, hi, c := 255, 0, widest(b)
	for _, p := range b {
		lo, hi = min(lo, p[c]), max(hi, p[c])
	}
	return (hi - lo) * len(b)
}

// catKit is photoKit of scikit-image's photo of a cat.
func catKit(t testing.TB, cols, rows, colors int, shape kit.Shape) *kit.Kit {
	t.Helper()
	return photoKit(t, filepath.Join(checker.Folder(t, "KITWRIGHT_PHOTOS"), "chelsea.png"), cols, rows, colors, shape)
}

// TestSamples writes every kind of print into the folder that KITWRIGHT_SAMPLES
// names, to be looked at.
func TestSamples(t *testing.T) {
	dir := checker.Folder(t, "KITWRIGHT_SAMPLES")
	write := func(name string, k *kit.Kit, p Print, f func(*os.File) error) {
		out, err := os.Create(filepath.Join(dir, name+".pdf"))
		require.NoError(t, err)
		require.NoError(t, f(out), name)
		require.NoError(t, out.Close())
	}
	square := catKit(t, 160, 200, 60, kit.Square)
	round := catKit(t, 100, 100, 30, kit.Round)
	p := DefaultPrint()
	us := DefaultPrint().In("en_US.UTF-8")
	us.Legend, us.Wrap, us.FrameLip = LegendBelow, 40000, 6000
	write("canvas-square", square, p, func(f *os.File) error { return Canvas(f, square, p) })
	write("canvas-square-us", square, us, func(f *os.File) error { return Canvas(f, square, us) })
	us.FilmWidth = measure.Auto{Length: 300000, Given: true}
	seams := us
	seams.Wrap, seams.Legend = 0, LegendBeside
	write("canvas-seams", square, seams, func(f *os.File) error { return Canvas(f, square, seams) })
	write("ticket", square, p, func(f *os.File) error { return Ticket(f, square, p) })
	write("ticket-us", square, us, func(f *os.File) error { return Ticket(f, square, us) })
	write("test-square", square, p, func(f *os.File) error { return TestPrint(f, square, p) })
	write("test-none", square, us, func(f *os.File) error { return TestPrint(f, nil, us) })
	write("test-round", square, us, func(f *os.File) error { return TestPrint(f, round, us) })
	order := kit.DefaultOrder()
	order.Colors = 100
	demo, err := kit.Make(context.Background(), bytes.NewReader(photo.Demo()), photo.DemoName, order)
	require.NoError(t, err)
	below := p
	below.Legend, below.Look = LegendBoth, LookColor
	write("demo", demo, p, func(f *os.File) error { return Canvas(f, demo, p) })
	write("demo-both", demo, p, func(f *os.File) error { return Canvas(f, demo, below) })
	write("demo-legend", demo, p, func(f *os.File) error { return Legend(f, demo, p) })
	write("demo-read", demo, p, func(f *os.File) error { return Sheets(f, demo, p) })
	write("demo-labels", demo, p, func(f *os.File) error { return Labels(f, demo, p) })
	few := catKit(t, 60, 80, 12, kit.Round)
	for _, look := range []CellLook{LookTint, LookInk, LookColor} {
		q := us
		q.Look, q.Large, q.Wrap, q.FrameLip = look, look != LookTint, 0, 0
		write("few-"+string(look), few, q, func(f *os.File) error { return Canvas(f, few, q) })
	}
	build := p
	build.Sheets = SheetsBuild
	write("read", square, p, func(f *os.File) error { return Sheets(f, square, p) })
	write("read-us", round, us, func(f *os.File) error { return Sheets(f, round, us) })
	write("build", square, build, func(f *os.File) error { return Sheets(f, square, build) })
	lid, bag, stickers := p, p, us
	lid.LabelRound = measure.Auto{Length: 25000, Given: true}
	bag.LabelFor = ForBag
	require.NoError(t, stickers.LabelSheet.Set("1.75x0.5in,4x20,0.3x0.5in,0.3x0in"))
	write("labels", square, p, func(f *os.File) error { return Labels(f, square, p) })
	write("labels-lid", round, lid, func(f *os.File) error { return Labels(f, round, lid) })
	write("labels-bag", round, bag, func(f *os.File) error { return Labels(f, round, bag) })
	write("labels-sheet", square, stickers, func(f *os.File) error { return Labels(f, square, stickers) })
	write("legend", square, p, func(f *os.File) error { return Legend(f, square, p) })
	write("legend-round", round, us, func(f *os.File) error { return Legend(f, round, us) })
	write("canvas-round", round, p, func(f *os.File) error { return Canvas(f, round, p) })
}
