package look

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"image"
	stdcolor "image/color"
	"image/png"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
	"kitwright/kit"
	"kitwright/lab"
	"kitwright/render/letters"
)

// ladderOf makes a ladder of a made-up picture: a disc on a slope of gray,
// finer in shade with every rung.
func ladderOf(cols, rows int, round bool, counts ...int) LadderPicture {
	photo := image.NewNRGBA(image.Rect(0, 0, 2*cols, 2*rows))
	for y := range 2 * rows {
		for x := range 2 * cols {
			v := uint8(40 + 170*x/(2*cols))
			c := stdcolor.NRGBA{v, v, v, 255}
			if dx, dy := 10*x-7*cols, 10*y-8*rows; dx*dx+dy*dy < 9*min(cols, rows)*min(cols, rows) {
				c = stdcolor.NRGBA{90, uint8(110 + 60*y/(2*rows)), 30, 255}
			}
			photo.SetNRGBA(x, y, c)
		}
	}
	l := LadderPicture{Title: "Ginger cat", Photo: photo, Pick: counts[len(counts)/2], Meters: 2,
		Why: "These are the fewest that look nearly as good: from two meters they are hard to tell from more."}
	for _, n := range counts {
		s := Stones{Cols: cols, Rows: rows, Round: round}
		for i := range n {
			v := uint8(40 + 170*i/n)
			s.RGB = append(s.RGB, [3]uint8{v, v, v})
		}
		s.RGB = append(s.RGB, [3]uint8{90, uint8(100 + n), 30})
		for y := range rows {
			for x := range cols {
				c := photo.NRGBAAt(2*x+1, 2*y+1)
				at := uint16(n)
				if c.R == c.G {
					at = uint16((int(c.R) - 40) * n / 171)
				}
				s.Cells = append(s.Cells, at)
			}
		}
		l.Views = append(l.Views, View{Colors: n, Asked: n, Stones: s, Mean: 2.5 + 16/float64(n), Bound: 2.4 + 15/float64(n), Far: 2 + 12/float64(n), Confetti: .013})
	}
	l.Magnify(13.96)
	return l
}

func upTo(n int) (counts []int) {
	for k := range n {
		counts = append(counts, 8+k)
	}
	return counts
}

// Nothing runs off the sheet, whatever the shape and the number of rungs: its
// outer edge stays bare.
func TestLadderStaysOnItsSheet(t *testing.T) {
	for _, c := range []struct {
		cols, rows int
		counts     []int
	}{
		{90, 60, []int{8, 12, 18, 24, 30, 40, 60}}, {40, 50, upTo(9)}, {30, 30, []int{5}}, {400, 40, []int{8, 30}},
		{24, 300, []int{8, 12}}, {1, 1, []int{1}}, {900, 700, []int{24}},
	} {
		if testing.Short() && c.cols+c.rows > 90 {
			continue // the large ones
		}
		l := ladderOf(c.cols, c.rows, false, c.counts...)
		l.Title = "A very long title for a photo of a ginger cat on the wall by the sea"
		img := DrawLadder(l)
		b := img.Rect
		assert.Less(t, b.Dx()*b.Dy(), 40_000_000)
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				if x == 24 && y >= 40 && y < b.Max.Y-40 {
					x = b.Max.X - 24 // only the edge
				}
				if got := img.NRGBAAt(x, y); got != (stdcolor.NRGBA{paper[0], paper[1], paper[2], 255}) {
					t.Fatalf("%v: %v at %d,%d", c, got, x, y)
				}
			}
		}
	}
}

func TestLadderIsLargeEnoughToJudge(t *testing.T) {
	for _, c := range [][2]int{{160, 107}, {120, 160}, {200, 200}, {300, 200}, {40, 60}, {400, 560}} {
		a := layOut(ladderOf(c[0], c[1], false, 8, 24))
		assert.GreaterOrEqual(t, a.width, 350, "%v", c)
		assert.GreaterOrEqual(t, a.loupePx, 10, "%v", c)
		assert.Equal(t, c[0]*a.px, a.width, "%v: drills of whole pixels, or the gaps would beat", c)
	}
}

// The closer to the photo, the lower a picture stands; the ground lies below
// every one, and the columns do not touch.
func TestLadderStandsOnItsHill(t *testing.T) {
	l := ladderOf(120, 90, false, 8, 12, 18, 24, 30, 40, 60)
	a := layOut(l)
	h := newHill(l, a)
	h.place(500)
	for i, r := range a.shown {
		mid := float64(a.middle(i + 1))
		on := h.along(mid, func(r View) float64 { return r.Mean })
		assert.InDelta(t, float64(h.level(r.Mean)), on, .51)
		assert.Greater(t, h.along(mid, func(r View) float64 { return r.Bound }), on)
		for _, edge := range []int{a.middle(i+1) - a.width/2, a.middle(i+1) + a.width/2} {
			assert.InDelta(t, on, h.along(float64(edge), func(r View) float64 { return r.Mean }), 1e-9, "flat under the picture")
		}
		if i > 0 {
			assert.Greater(t, h.level(r.Mean), h.level(a.shown[i-1].Mean))
			assert.GreaterOrEqual(t, a.left[i+1], a.left[i]+a.column+ladderGap)
		}
	}
	assert.Equal(t, 500+a.height+h.step, h.level(a.shown[0].Mean), "the worst stands highest")
	assert.LessOrEqual(t, h.level(a.shown[6].Bound), h.lowY)
	// Where no bound is known no ground is drawn.
	l.Views[3].Bound = 0
	assert.False(t, newHill(l, layOut(l)).ground)
	DrawLadder(l)
}

// Figures of a photo that was brightened are off the brightened photo, and the
// picture says so.
func TestLadderOfADimPhoto(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 90, 60))
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = uint8(5+i/4%90/2), uint8(4+i/4/90/2), 10, 255
	}
	var file bytes.Buffer
	require.NoError(t, png.Encode(&file, img))
	s, err := kit.Open(context.Background(), &file, "dim.png")
	require.NoError(t, err)
	o := kit.DefaultOrder()
	o.Grid, o.Effort = kit.Cells{Cols: 30, Rows: 20}, kit.EffortQuick
	for tone, says := range map[kit.Tone]string{kit.ToneAuto: "The photo was made ", kit.ToneNone: "Off the photo: "} {
		o.Tone = tone
		p, err := s.Lay(context.Background(), o.Canvas, o.Light)
		require.NoError(t, err)
		rungs, pick, err := p.Ladder(context.Background(), o.Choice, []int{4, 8})
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(keyOf(LadderOf(p, o.Choice, rungs, pick)), says), keyOf(LadderOf(p, o.Choice, rungs, pick)))
	}
}

func TestShownRungs(t *testing.T) {
	colors := func(rungs []View, pick int) (n []int) {
		for _, i := range shownRungs(rungs, pick) {
			n = append(n, rungs[i].Asked)
		}
		return n
	}
	of := func(counts []int) (rungs []View) {
		for _, c := range counts {
			rungs = append(rungs, View{Colors: min(c, 55), Asked: c})
		}
		return rungs
	}
	assert.Equal(t, []int{30}, colors(of([]int{30}), 0))
	assert.Equal(t, []int{8, 9, 10, 11, 12, 13, 14, 15}, colors(of(upTo(8)), 12))
	assert.Equal(t, []int{8, 12, 18, 24, 30, 40, 60}, colors(of(upTo(53)), 24))
	assert.Equal(t, []int{8, 12, 18, 24, 26, 30, 40, 60}, colors(of(upTo(53)), 26))
	some := colors(of([]int{10, 11, 12, 13, 14, 15, 16, 20, 50, 51, 52, 80}), 51)
	assert.Len(t, some, 7)
	assert.Equal(t, []int{10, 80}, []int{some[0], some[6]})
	assert.Contains(t, some, 51)
	assert.IsIncreasing(t, some)
}

func TestLiveliestSpot(t *testing.T) {
	change := make([]float64, 100*80)
	for y := 50; y < 70; y++ {
		for x := 10; x < 30; x++ {
			change[y*100+x] = 3
		}
	}
	for i := range change {
		change[i] += .9 // everywhere, but not to be seen
	}
	spot := liveliest(100, 80, [][]float64{change, change})
	assert.Equal(t, 28, spot.Cells)
	assert.True(t, spot.X <= 10 && spot.X+28 >= 30 && spot.Y <= 50 && spot.Y+28 >= 70, "%v", spot)
	assert.Equal(t, Spot{36, 26, 28}, liveliest(100, 80, nil), "the middle, where nothing changes")
	assert.Equal(t, Spot{0, 0, 1}, liveliest(1, 1, nil))
	assert.Equal(t, Spot{20, 0, 10}, liveliest(50, 10, nil))
}

func TestFocusIsMagnified(t *testing.T) {
	l := ladderOf(100, 80, false, 8, 12, 20)
	l.Magnify(13.96, Oval{X: 30, Y: 20, RX: 6, RY: 4}, Oval{X: 90, Y: 70, RX: 3, RY: 3})
	assert.Equal(t, Spot{16, 6, 28}, l.Spot)
	assert.Equal(t, l.Spot, layOut(l).spot)
	l.Spot = Spot{}
	assert.Equal(t, Spot{36, 26, 28}, layOut(l).spot, "nothing chosen: the middle")
	assert.Equal(t, Spot{72, 52, 28}, spotAt(100, 80, Oval{X: 98, Y: 79, RX: 3, RY: 3}), "stays inside")
	assert.Equal(t, 44, spotAt(100, 80, Oval{X: 50, Y: 40, RX: 40, RY: 20}).Cells, "no finer than 10 pixels a drill")
	assert.Equal(t, 35, spotAt(100, 80, Oval{X: 50, Y: 40, RX: 15, RY: 10}).Cells)
}

func TestChangeNote(t *testing.T) {
	change := make([]float64, 40*40)
	assert.Equal(t, "here hard to tell from 24", changeNote(change, 40, Spot{5, 5, 10}, 24))
	for y := 5; y < 15; y++ {
		for x := 5; x < 15; x++ {
			change[y*40+x] = 1.2
		}
	}
	assert.Empty(t, changeNote(change, 40, Spot{5, 5, 10}, 24))
	assert.NotEmpty(t, changeNote(change, 40, Spot{10, 10, 10}, 24))
}

// The same rungs twice are hard to tell apart, and say so.
func TestMagnifyNotes(t *testing.T) {
	l := ladderOf(60, 60, false, 8, 9)
	l.Views[1].Stones = l.Views[0].Stones
	l.Magnify(13.96)
	assert.Equal(t, "here hard to tell from 8", l.Views[1].Note)
}

func TestScaledKeepsLight(t *testing.T) {
	img := image.NewNRGBA(image.Rect(3, 5, 67, 69)) // does not start at 0,0
	for y := range 64 {
		for x := range 64 {
			c := stdcolor.NRGBA{200, 40, 90, 255}
			if (x+y)%2 == 0 {
				c = stdcolor.NRGBA{20, 240, 90, 255}
			}
			img.SetNRGBA(3+x, 5+y, c)
		}
	}
	for _, size := range [][2]int{{8, 8}, {7, 13}, {32, 16}} {
		out := scaled(img, frame(img), size[0], size[1])
		got := out.NRGBAAt(size[0]/2, size[1]/2)
		for k, pair := range [][2]uint8{{200, 20}, {40, 240}, {90, 90}} {
			mean := (float64(lab.Linear[pair[0]]) + float64(lab.Linear[pair[1]])) / 2
			is := lab.Linear[[]uint8{got.R, got.G, got.B}[k]]
			assert.InDelta(t, mean, float64(is), .012*lab.LinearOne, "%v", size)
		}
	}
	same := scaled(img, frame(img), 64, 64)
	assert.Equal(t, img.Pix, same.Pix)
	// A part, larger: one pixel's color all over.
	big := scaled(img, part{10, 10, .5, .5}, 20, 20)
	assert.Equal(t, 20, big.Rect.Dx())
	// Pictures of other kinds, too.
	gray := image.NewGray(image.Rect(0, 0, 4, 4))
	for i := range gray.Pix {
		gray.Pix[i] = 77
	}
	assert.Equal(t, stdcolor.NRGBA{77, 77, 77, 255}, scaled(gray, frame(gray), 9, 2).NRGBAAt(8, 1))
}

func TestLinesBreakAndCut(t *testing.T) {
	s := newSheet(10, 0)
	lines := s.lines(200, letters.Regular, 30, "the fewest that look nearly as good")
	assert.Greater(t, len(lines), 1)
	for _, l := range lines {
		assert.LessOrEqual(t, s.width(letters.Regular, 30, l), 200.)
	}
	for _, l := range s.lines(120, letters.Bold, 60, "donaudampfschifffahrtsgesellschaft") {
		assert.LessOrEqual(t, s.width(letters.Bold, 60, l), 120.)
	}
	assert.Equal(t, []string{""}, s.lines(100, letters.Regular, 30, ""))
}

// The same pixels on every machine and with any number of workers.
func TestLadderIsTheSameEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: large pictures")
	}
	var got bytes.Buffer
	for _, c := range []struct {
		name string
		l    LadderPicture
	}{
		{"seven rungs", ladderOf(90, 70, false, 8, 12, 18, 24, 30, 40, 60)},
		{"many rungs", ladderOf(40, 50, true, upTo(20)...)},
	} {
		img := DrawLadder(c.l)
		before := runtime.GOMAXPROCS(1)
		alone := DrawLadder(c.l)
		runtime.GOMAXPROCS(before)
		require.True(t, bytes.Equal(img.Pix, alone.Pix))
		fmt.Fprintf(&got, "%s: %v, sha256 of the pixels %x\n", c.name, img.Rect.Max, sha256.Sum256(img.Pix))
	}
	golden.Equal(t, "ladder.txt", got.Bytes())
}

func BenchmarkLadder(b *testing.B) {
	l := ladderOf(160, 200, false, 8, 12, 18, 24, 30, 40, 60)
	for b.Loop() {
		l.Magnify(13.96)
		var file bytes.Buffer
		require.NoError(b, WritePNG(&file, DrawLadder(l)))
		b.ReportMetric(float64(file.Len())/1e6, "MB")
	}
}
