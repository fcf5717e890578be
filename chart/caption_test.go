package chart

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
	"kitwright/internal/say"
	"kitwright/lab"
)

// drawn shows the cells of a frame: the border as +, the photo as a blank.
func drawn(t *testing.T, f Frame) string {
	t.Helper()
	cells, err := f.Cells(0, 1, 2)
	require.NoError(t, err)
	require.Len(t, cells, f.Cols*f.Rows)
	var b strings.Builder
	for i, v := range cells {
		b.WriteByte(" +#."[v+1])
		if i%f.Cols == f.Cols-1 {
			b.WriteByte('\n')
		}
	}
	return b.String()
}

func TestFrame(t *testing.T) {
	assert.Equal(t, strings.Repeat(strings.Repeat(" ", 12)+"\n", 10), drawn(t, Frame{Cols: 12, Rows: 10}))
	assert.Equal(t, `+++++++++++++++++++++++++
+                       +
+                       +
+                       +
+                       +
+                       +
+                       +
+                       +
+                       +
+                       +
+                       +
+                       +
+.......................+
+.......................+
+....#.....#......#.....+
+....#............#.....+
+....#.....#..###.#.....+
+....#.....#.#....#.....+
+....#.....#..##..#.....+
+....#.....#....#.......+
+....#####.#.###..#.....+
+.......................+
+.......................+
+++++++++++++++++++++++++
`, drawn(t, Frame{Cols: 25, Rows: 24, Border: 1, Caption: "Lis!", Size: Small}))
}

// Two lines of one size, each in the middle, as far from each other as from the
// edges.
func TestTwoLines(t *testing.T) {
	f := Frame{Cols: 25, Rows: 40, Border: 1, Caption: "Lis!\nly", Size: Small}
	assert.Equal(t, strings.TrimPrefix(`
+.......................+
+.......................+
+....#.....#......#.....+
+....#............#.....+
+....#.....#..###.#.....+
+....#.....#.#....#.....+
+....#.....#..##..#.....+
+....#.....#....#.......+
+....#####.#.###..#.....+
+.......................+
+.......................+
`, "\n"), strings.Join(strings.SplitAfter(drawn(t, f), "\n")[17:28], ""))
	one, two := f, f
	one.Caption = "Lis!"
	_, a, err := one.Layout()
	require.NoError(t, err)
	picture, b, err := two.Layout()
	require.NoError(t, err)
	assert.Equal(t, 11, a.H)
	assert.Equal(t, 22, b.H, "11 more: 9 of the letters with the tail of the y, 2 between")
	assert.Equal(t, 17, b.Y)
	assert.Equal(t, 16, picture.H)
	wide := Frame{Cols: 60, Rows: 90, Caption: "Ginger of the sea\n2019 to 2026"}
	_, _, err = wide.Layout()
	assert.Error(t, err)
	wide.Cols = 100
	_, _, err = wide.Layout()
	assert.NoError(t, err)
	for caption, want := range map[string]string{"a\nb\nc": "3 lines", "a\n \nb": "3 lines", "a\n\u200d": "no drawing", "\n": ""} {
		wide.Caption = caption
		_, _, err := wide.Layout()
		if want == "" {
			assert.NoError(t, err, caption)
			continue
		}
		assert.ErrorContains(t, err, want, caption)
	}
}

func TestFrameLayout(t *testing.T) {
	f := Frame{Cols: 160, Rows: 120, Border: 3, Caption: "Biscuit, 2019", Size: Large}
	picture, caption, err := f.Layout()
	require.NoError(t, err)
	assert.Equal(t, Box{3, 3, 154, 97}, picture)
	assert.Equal(t, Box{3, 100, 154, 17}, caption, "10 drills, 1 of the comma's tail, 3 above and below")

	f.Caption = ""
	picture, caption, err = f.Layout()
	require.NoError(t, err)
	assert.Equal(t, Box{3, 3, 154, 114}, picture)
	assert.Equal(t, Box{}, caption)
}

// Each cell of a frame is exactly one of border, photo, ink and ground.
func TestFrameCellsAgreeWithLayout(t *testing.T) {
	for _, f := range []Frame{{100, 60, 0, "Mog", Large}, {100, 60, 4, "Mog", Small}, {100, 60, 5, "", Fit}, {60, 90, 2, "Äg ♥ çy", Fit}} {
		picture, caption, err := f.Layout()
		require.NoError(t, err)
		cells, err := f.Cells(7, 8, 9)
		require.NoError(t, err)
		inside := func(b Box, x, y int) bool { return x >= b.X && x < b.X+b.W && y >= b.Y && y < b.Y+b.H }
		ink := 0
		for i, v := range cells {
			x, y := i%f.Cols, i/f.Cols
			switch {
			case inside(picture, x, y):
				assert.EqualValues(t, -1, v)
			case inside(caption, x, y):
				assert.Contains(t, []int32{8, 9}, v)
				if v == 8 {
					ink++
				}
			default:
				assert.EqualValues(t, 7, v)
				assert.Less(t, min(x, y, f.Cols-1-x, f.Rows-1-y), f.Border)
			}
		}
		assert.Equal(t, f.Caption != "", ink > 20)
	}
}

func TestFitTakesTheLargestLettersThatFit(t *testing.T) {
	same := func(a, b Frame) { t.Helper(); assert.Equal(t, drawn(t, a), drawn(t, b)) }
	same(Frame{160, 120, 2, "Biscuit", Fit}, Frame{160, 120, 2, "Biscuit", Large})
	same(Frame{48, 120, 2, "Biscuit", Fit}, Frame{48, 120, 2, "Biscuit", Small})
	same(Frame{160, 70, 2, "Biscuit", Fit}, Frame{160, 70, 2, "Biscuit", Small})
}

func TestFrameRefuses(t *testing.T) {
	for _, c := range []struct {
		frame Frame
		says  string
	}{
		{Frame{40, 30, -1, "", Fit}, "a border of -1 drills cannot be made"},
		{Frame{40, 11, 1, "", Fit}, "a border of 1 drill leaves too little of 40 x 11"},
		{Frame{40, 30, 11, "", Fit}, "a border of 11 drills leaves too little of 40 x 30"},
		{Frame{40, 90, 1 << 40, "", Fit}, fmt.Sprintf("a border of %d drills leaves too little of 40 x 90", 1<<40)},
		{Frame{40, 9, 0, "A", Fit}, "a canvas of 40 x 9 has no room for a caption"},
		{Frame{40, 30, 1, "Biscuit II", Fit}, "the caption is 46 drills wide and there is room for 38"},
		{Frame{160, 24, 1, "Biscuit", Large}, "the caption takes 16 of 24 rows and leaves too little of the photo"},
		{Frame{160, 120, 1, "Бісквіт", Fit}, "there is no drawing in drills of the character 'Б'"},
		{Frame{160, 120, 1, "a\nb\nc", Fit}, "the caption has 3 lines and may have 2"},
		{Frame{160, 120, 1, "a\tb\x01", Fit}, `there is no drawing in drills of the character '\x01'`},
		{Frame{160, 120, 1, strings.Repeat("i", 81), Fit}, "the caption has 81 characters, more than 80"},
		{Frame{160, 120, 1, "x", 7}, "there is no caption size 7"},
	} {
		for _, err := range []error{second(c.frame.Layout()), first(c.frame.Cells(0, 1, 2))} {
			var e *say.Error
			require.True(t, errors.As(err, &e), "%v", c.frame)
			assert.Equal(t, c.says, e.What)
			assert.True(t, e.Usage && e.Try != "")
		}
	}
}

func second(_, _ Box, err error) error { return err }
func first(_ []int32, err error) error { return err }
func ink(l letter) string              { return fmt.Sprint(l) }
func everyLetter(a *alphabet) (n []rune) {
	for r := range a.letters {
		n = append(n, r)
	}
	return n
}

// Both sizes draw the same characters, each in its own way, none empty but the
// space, and all within a height that captions leave room for.
func TestAlphabets(t *testing.T) {
	small, large := alphabets()[Small], alphabets()[Large]
	assert.ElementsMatch(t, everyLetter(small), everyLetter(large))
	for _, a := range []*alphabet{small, large} {
		assert.Greater(t, len(a.letters), 220)
		seen := map[string]rune{}
		for r, l := range a.letters {
			if r == ' ' {
				continue
			}
			require.NotEmpty(t, l.rows, "%c", r)
			assert.LessOrEqual(t, len(l.rows), a.capital+8, "%c", r)
			for _, row := range l.rows {
				assert.Len(t, row, l.width)
			}
			if other, twice := seen[ink(l)]; twice {
				// Two ways each to write s and t with a mark below, and a barred D.
				assert.Contains(t, []string{"ŞȘ", "ȘŞ", "şș", "șş", "ŢȚ", "ȚŢ", "ţț", "țţ", "ÐĐ", "ĐÐ"}, string([]rune{r, other}))
			}
			seen[ink(l)] = r
		}
		// The common accents, digits and signs of names and dates.
		for _, r := range "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 .,:;!?'\"-–+/&()*#%=♥" +
			"ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿŒœŠšŽžŸŁłŃńŐőŰűĞğİıŞşČčĘęĄąŹźŻżÝýŘřŮů" {
			assert.Contains(t, a.letters, r, "%c", r)
		}
	}
}

func TestLooksAlikeInAnySpelling(t *testing.T) {
	f := func(s string) string { return drawn(t, Frame{160, 60, 1, s, Large}) }
	assert.Equal(t, f("Zoé’s “Cat”… ❤\ufe0f"), f("Zoe\u0301's \"Cat\"... ♥"))
}

func TestCaptionDrawings(t *testing.T) {
	var b strings.Builder
	for _, f := range []Frame{
		{170, 26, 0, "ABCDEFGHIJKLMNOPQRSTUVWXYZ", Small}, {170, 26, 0, "abcdefghijklmnopqrstuvwxyz", Small},
		{170, 26, 0, "0123456789 .,:;!?'\"-–+/&()♥*#%=", Small}, {170, 26, 0, "ÄÉÑÇŠŐÅ äéñçšőå ÆØß æøł", Small},
		{270, 36, 0, "ABCDEFGHIJKLMNOPQRSTUVWXYZ", Large}, {270, 36, 0, "abcdefghijklmnopqrstuvwxyz", Large},
		{270, 36, 0, "0123456789 .,:;!?'\"-–+/&()♥*#%=", Large}, {270, 36, 0, "ÄÉÑÇŠŐÅ äéñçšőå ÆØß æøł", Large},
	} {
		for _, row := range strings.SplitAfter(drawn(t, f), "\n") {
			if strings.Contains(row, "#") {
				b.WriteString(row)
			}
		}
		b.WriteByte('\n')
	}
	golden.Equal(t, "caption.txt", []byte(b.String()))
}

// Ratios that the W3C's own texts give: black on white is 21, and #767676 is
// the lightest gray that passes on white, with 4.54; #777777 fails with 4.48.
func TestContrast(t *testing.T) {
	gray := func(v uint8) lab.Color { return lab.FromSRGB([3]uint8{v, v, v}) }
	assert.InDelta(t, 21, Contrast(gray(0), gray(255)), 1e-5)
	assert.InDelta(t, 4.54, Contrast(gray(255), gray(0x76)), 0.005)
	assert.InDelta(t, 4.48, Contrast(gray(0x77), gray(255)), 0.005)
	assert.InDelta(t, 4.00, Contrast(gray(255), lab.FromSRGB([3]uint8{255, 0, 0})), 0.005, "red on white")
}

func TestCaptionColors(t *testing.T) {
	from := []lab.Color{{L: 95}, {L: 70, A: 20, B: 30}, {L: 50}, {L: 25, A: 8, B: 12}, {L: 10}}
	ink, ground, err := CaptionColors(from, lab.Color{L: 40, A: 16, B: 24}, -1)
	require.NoError(t, err)
	assert.Equal(t, [2]int{0, 3}, [2]int{ink, ground}, "light letters under a dark picture")

	ink, ground, err = CaptionColors(from, lab.Color{L: 80, A: 10, B: 16}, -1)
	require.NoError(t, err)
	assert.Equal(t, [2]int{3, 0}, [2]int{ink, ground}, "dark letters under a light one")

	ink, ground, err = CaptionColors(from, lab.Color{L: 80}, 4)
	require.NoError(t, err)
	assert.Equal(t, [2]int{0, 4}, [2]int{ink, ground}, "the ground was chosen")

	for _, none := range [][]lab.Color{nil, {{L: 50}}, {{L: 50}, {L: 60}, {L: 45}}} {
		_, _, err = CaptionColors(none, lab.Color{L: 50}, -1)
		var e *say.Error
		require.True(t, errors.As(err, &e))
		assert.NotEmpty(t, e.Try)
	}
}

func FuzzFrame(f *testing.F) {
	f.Add(160, 120, 3, "Biscuit, 2019 ♥", 0)
	f.Add(60, 40, 0, "Zoe\u0301 i\u0307\u0301", 2)
	f.Add(20, 20, 5, "\u0301", 1)
	f.Fuzz(func(t *testing.T, cols, rows, border int, text string, size int) {
		if cols < 1 || rows < 1 || cols > 400 || rows > 400 {
			return
		}
		cells, err := Frame{cols, rows, border, text, Size(size)}.Cells(0, 1, 2)
		if err == nil {
			require.Len(t, cells, cols*rows)
		}
	})
}
