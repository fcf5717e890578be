package chart

import (
	"fmt"
	"math"
	"strings"

	"kitwright/internal/say"
	"kitwright/lab"
)

// Frame is what stands around the photo on a canvas: a border of whole drills
// and a line or two of text in drills. Its cells are decided before any color is
// chosen, and nothing merges or dithers them away.
type Frame struct {
	Cols, Rows int    // the whole canvas, in drills
	Border     int    // drills on each side; 0 = none
	Caption    string // below the photo, inside the border: one line, or two with a line break between; "" = none
	Size       Size   // of the letters
}

const (
	leastPicture = 10 // drills that must be left of the photo, each way
	maxCaption   = 80 // characters
	maxLines     = 2
)

// Box is a part of the canvas: columns X to X+W, rows Y to Y+H, in drills.
type Box struct{ X, Y, W, H int }

// Layout returns where the photo and the caption lie; the caption's box is
// empty without one. What does not fit is a usage error.
func (f Frame) Layout() (picture, caption Box, err error) {
	picture = Box{f.Border, f.Border, f.Cols - 2*f.Border, f.Rows - 2*f.Border}
	if f.Border < 0 {
		return picture, caption, say.Usage("give 0 for none, or a few drills such as 3", "a border of %s cannot be made", drills(f.Border))
	}
	if f.Border == 0 && (picture.W < leastPicture || picture.H < leastPicture) {
		return picture, caption, say.Usage("choose a larger canvas, or no caption", "a canvas of %d x %d has no room for a caption", f.Cols, f.Rows)
	}
	if picture.W < leastPicture || picture.H < leastPicture {
		return picture, caption, say.Usage("choose a narrower border or a larger canvas", "a border of %s leaves too little of %d x %d", drills(f.Border), f.Cols, f.Rows)
	}
	_, word, err := f.spell(picture.W)
	if err != nil || word == nil {
		return picture, caption, err
	}
	band := word.band()
	if picture.H-band < leastPicture {
		return picture, caption, say.Usage("choose a larger canvas, small letters or no caption", "the caption takes %d of %d rows and leaves too little of the photo", band, f.Rows)
	}
	caption = Box{picture.X, picture.Y + picture.H - band, picture.W, band}
	picture.H -= band
	return picture, caption, nil
}

func drills(n int) string {
	if n == 1 {
		return "1 drill"
	}
	return fmt.Sprintf("%d drills", n)
}

// line is one line of a caption in one size, with its rows from top to bottom
// counted from the top of a capital.
type line struct {
	letters            []letter
	width, top, bottom int
}

// text is a caption in one size.
type text struct {
	lines    []line
	gap, pad int // between letters; above, below and between lines
}

// band is the height of the lines with room above, below and between.
func (t *text) band() int {
	high := t.pad
	for _, l := range t.lines {
		high += l.bottom - l.top + t.pad
	}
	return high
}

// spell returns the caption in the size wanted, nil if there is none.
func (f Frame) spell(room int) (Size, *text, error) {
	words := strings.TrimSpace(f.Caption)
	if n := len([]rune(words)); n > maxCaption {
		return 0, nil, say.Usage("a name and a year are enough", "the caption has %d characters, more than %d", n, maxCaption)
	}
	if words == "" {
		return 0, nil, nil
	}
	parts := strings.Split(words, "\n")
	if len(parts) > maxLines {
		return 0, nil, say.Usage("put it on two lines, or one", "the caption has %d lines and may have %d", len(parts), maxLines)
	}
	sizes := []Size{f.Size}
	switch f.Size {
	case Fit:
		sizes = []Size{Large, Small}
	case Small, Large:
	default:
		return 0, nil, say.Usage("choose small or large", "there is no caption size %d", f.Size)
	}
	var width int
	for _, size := range sizes {
		a := alphabets()[size]
		t := &text{gap: a.gap, pad: 1 + a.gap}
		width = 0
		for _, part := range parts {
			letters, missing := a.spell(part)
			if missing != 0 {
				return 0, nil, say.Usage("use Latin letters, digits and plain signs", "there is no drawing in drills of the character %q", missing)
			}
			if len(letters) == 0 {
				return 0, nil, say.Usage("leave out the line break", "the caption has an empty line")
			}
			l := line{letters: letters}
			l.width, l.top, l.bottom = a.extent(letters)
			width = max(width, l.width+2*t.pad)
			t.lines = append(t.lines, l)
		}
		// Large letters should leave most of the photo.
		if width <= room && (f.Size != Fit || size == Small || 5*t.band() <= f.Rows) {
			return size, t, nil
		}
	}
	try := "shorten it, or choose a wider canvas or small letters"
	if len(parts) == 1 && strings.Contains(words, " ") {
		try = "put it on two lines, shorten it, or choose a wider canvas or small letters"
	}
	return 0, nil, say.Usage(try, "the caption is %d drills wide and there is room for %d", width, room)
}

// Cells returns the color that each cell of the canvas must have, row by row
// from the top left: the border's, the ink or the ground of the caption, and -1
// where the photo is.
func (f Frame) Cells(border, ink, ground int32) ([]int32, error) {
	picture, caption, err := f.Layout()
	if err != nil {
		return nil, err
	}
	cells := make([]int32, f.Cols*f.Rows)
	for i := range cells {
		cells[i] = border
	}
	fill := func(b Box, with int32) {
		for y := b.Y; y < b.Y+b.H; y++ {
			for x := b.X; x < b.X+b.W; x++ {
				cells[y*f.Cols+x] = with
			}
		}
	}
	fill(picture, -1)
	fill(caption, ground)
	_, word, err := f.spell(picture.W)
	if err != nil || word == nil {
		return cells, err
	}
	y := caption.Y + word.pad
	for _, l := range word.lines {
		x := caption.X + (caption.W-l.width)/2
		for _, c := range l.letters {
			for dy, row := range c.rows {
				for dx, is := range row {
					if is {
						cells[(y-l.top+c.top+dy)*f.Cols+x+dx] = ink
					}
				}
			}
			x += c.width + word.gap
		}
		y += l.bottom - l.top + word.pad
	}
	return cells, nil
}

// Contrast is the contrast ratio of two colors, 1 to 21, as the Web Content
// Accessibility Guidelines 2.2 of the W3C define it (relative luminance is the
// Y of D65).
func Contrast(a, b lab.Color) float64 {
	_, p, _ := a.XYZ()
	_, q, _ := b.XYZ()
	return (max(p, q) + 0.05) / (min(p, q) + 0.05)
}

// EnoughContrast is the least contrast of text that those guidelines ask for
// (success criterion 1.4.3, level AA).
const EnoughContrast = 4.5

// CaptionColors chooses an ink and a ground for the caption among the colors,
// by what the picture is like on average: under a dark picture a dark ground in
// its hue with light letters, under a light one the other way around. A ground
// already chosen (an index, or -1) is kept. It is an error if no ink stands out
// enough.
func CaptionColors(from []lab.Color, picture lab.Color, ground int) (ink, under int, err error) {
	under = ground
	dark := lab.Color{L: 24, A: picture.A / 2, B: picture.B / 2}
	light := lab.Color{L: 92, A: picture.A / 4, B: picture.B / 4}
	if under < 0 {
		want := light
		if picture.L < 55 {
			want = dark
		}
		under = nearestTo(from, want, func(lab.Color) bool { return true })
	}
	if under < 0 {
		return -1, -1, say.Usage("choose a card with more colors", "there is no color for the caption")
	}
	want := light
	if Contrast(from[under], lab.Color{L: 0}) > Contrast(from[under], lab.Color{L: 100}) {
		want = dark
	}
	ink = nearestTo(from, want, func(c lab.Color) bool { return Contrast(c, from[under]) >= EnoughContrast })
	if ink < 0 {
		return -1, -1, say.Usage("choose another color under it, or a card with darker and lighter colors", "no color of the card stands out enough from the caption's ground")
	}
	return ink, under, nil
}

// nearestTo returns the index of the color nearest to one wanted among those
// that will do, -1 if none does.
func nearestTo(from []lab.Color, want lab.Color, will func(lab.Color) bool) int {
	best, least := -1, math.Inf(1)
	for i, c := range from {
		if d := lab.DeltaE(c, want); will(c) && d < least {
			best, least = i, d
		}
	}
	return best
}
