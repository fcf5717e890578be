// Package gauge measures a color card from photos or scans: of a supplier's
// own card, or of our measuring sheet with drills on it.
//
// Begin with [Grid] or [Frames] for what lies where, [Sheet.Measure] for what
// a picture shows of it, and [Combine] for the card. A picture that cannot be
// trusted is refused with a reason; what can, comes with a certainty for each
// code and words about the error to expect.
//
// How it works: a homography leads from the sheet to the picture; the
// commonest color of each window is its drill's table; the white between the
// drills tells the light, channel by channel, as a smooth field; and a
// 24-patch target in the picture, where there is one, tells the camera's curve
// and colors. The thresholds were measured on simulated photos; the tests hold
// a part of them.
package gauge

import (
	"fmt"
	"strings"

	"kitwright/internal/say"
	"kitwright/palettes"
)

// Patch is a place on a sheet where a color lies.
type Patch struct {
	Code   string
	Finish palettes.Finish
	Rect
}

// Sheet is what lies where, in units of its own.
type Sheet struct {
	Corners [4]Point // what is looked for in a picture: top left, and on clockwise
	Patches []Patch
	Whites  []Rect    // bare paper between the patches
	Ring    []Rect    // paper around them, if the card reaches so far
	Grays   [2][]Rect // two ramps of the same grays, dark to light; of our own sheet only

	frame *Frame
}

// MaxPatches is how many places a sheet may have.
const MaxPatches = 1000

// Fill is how much of the way from one patch to the next a patch takes, unless
// it is said otherwise: three drills in a cell of a usual card.
const Fill = 0.68

// Grid returns a supplier's card: patches in even rows and columns, codes as
// they lie, "" where none does, CODE/FINISH for a finish. Its corners are the
// outer corners of the first and last patches.
func Grid(codes [][]string, fill float64) (*Sheet, error) {
	const hint = "write the codes as they lie on the card: a row a line, with commas between them"
	if !(fill >= 0.2 && fill <= 0.95) {
		return nil, say.Usage("0.68 means that the gaps take 32 percent", "{fill} takes 0.2 to 0.95")
	}
	cols, rows := 0, len(codes)
	for _, row := range codes {
		cols = max(cols, len(row))
	}
	if rows == 0 || cols == 0 {
		return nil, say.Failed(hint, "the layout holds no codes")
	}
	if rows*cols > MaxPatches {
		return nil, say.Failed("measure it in parts", "the layout has %d places, more than %d", rows*cols, MaxPatches)
	}
	s := &Sheet{}
	right, bottom, gap := float64(cols-1)+fill, float64(rows-1)+fill, 1-fill
	s.Corners = [4]Point{{0, 0}, {right, 0}, {right, bottom}, {0, bottom}}
	seen := map[string]bool{}
	for r, row := range codes {
		for c, address := range row {
			if address = strings.TrimSpace(address); address == "" {
				continue
			}
			code, finish := palettes.SplitAddress(address)
			key := strings.ToLower(address)
			if seen[key] {
				return nil, say.Failed("give every place a code of its own; leave empty places empty", "the layout names %s twice", address)
			}
			seen[key] = true
			s.Patches = append(s.Patches, Patch{code, finish, Rect{float64(c), float64(r), fill, fill}})
		}
	}
	if len(s.Patches) == 0 {
		return nil, say.Failed(hint, "the layout holds no codes")
	}
	// White: the middles of the lanes, where they cross, and a ring around.
	spot := gap * 0.5
	add := func(x, y float64) {
		r := Rect{x - float64(spot/2), y - float64(spot/2), spot, spot}
		if x < 0 || y < 0 || x > right || y > bottom {
			s.Ring = append(s.Ring, r)
		} else {
			s.Whites = append(s.Whites, r)
		}
	}
	for r := -1; r < rows; r++ {
		for c := -1; c < cols; c++ {
			x, y := float64(c)+fill+float64(gap/2), float64(r)+fill+float64(gap/2)
			add(x, y)
			if c+1 < cols {
				add(float64(c+1)+float64(fill/2), y)
			}
			if r+1 < rows {
				add(x, float64(r+1)+float64(fill/2))
			}
		}
	}
	if len(s.Whites) < 12 { // a strip: what lies around is all there is
		s.Whites, s.Ring = append(s.Whites, s.Ring...), nil
	}
	return s, nil
}

// Frame is our measuring sheet on paper: markers, two gray ramps in opposite
// order, the sheet's number as marks, and cells for nine drills each. All in
// millimeters from the top left.
type Frame struct {
	W, H         float64
	Index, Total int // this sheet and how many there are, from 1
	Codes        []string

	Markers [4]Rect // top left, which has a hole, and on clockwise
	Hole    Rect
	Ramps   [2][]Rect // dark to light
	Marks   []Rect    // of the sheet's number
	Bits    []bool    // which of them are black
	Cells   []Rect
	sheet   *Sheet
}

// Sizes of the measuring sheet, in millimeters.
const (
	frameCols, frameRows = 5, 8
	PerFrame             = frameCols * frameRows // cells of a sheet
	MaxFrames            = 16
	cellSide             = 9.0 // three drills of 2.5 to 2.8 mm and a little room
	markerSide           = 12.0
	markerInset          = 12.0
	holeSide             = 4.0
	cellsTop, cellsEnd   = 56.0, 36.0
)

// RampGrays are the grays of the ramps, as sRGB, dark to light.
var RampGrays = []uint8{0, 40, 75, 110, 145, 180, 210, 235}

// Frames returns the measuring sheets for codes, 40 a page.
func Frames(codes []string, w, h float64) ([]*Frame, error) {
	if len(codes) == 0 {
		return nil, say.Usage("name the codes that you own with {codes}", "no codes were named")
	}
	total := (len(codes) + PerFrame - 1) / PerFrame
	if total > MaxFrames {
		return nil, say.Usage("measure a part of them", "%d codes need %d sheets, and %d is the most", len(codes), total, MaxFrames)
	}
	if w < 190 || h < 250 || w > 600 || h > 600 {
		return nil, say.Usage("use a4 or letter", "the measuring sheet needs paper of 190 x 250 mm or more")
	}
	seen := map[string]bool{}
	for _, c := range codes {
		if seen[strings.ToLower(c)] {
			return nil, say.Usage("name each color once", "%s is named twice", c)
		}
		seen[strings.ToLower(c)] = true
	}
	var out []*Frame
	for i := range total {
		out = append(out, newFrame(codes[i*PerFrame:min((i+1)*PerFrame, len(codes))], w, h, i+1, total))
	}
	return out, nil
}

func newFrame(codes []string, w, h float64, index, total int) *Frame {
	f := &Frame{W: w, H: h, Index: index, Total: total, Codes: codes}
	near, farX, farY := markerInset, w-markerInset-markerSide, h-markerInset-markerSide
	for i, at := range [4]Point{{near, near}, {farX, near}, {farX, farY}, {near, farY}} {
		f.Markers[i] = Rect{at.X, at.Y, markerSide, markerSide}
	}
	f.Hole = f.Markers[0].shrunk(holeSide / markerSide)

	step := (w - 2*(markerInset+markerSide+10)) / float64(len(RampGrays))
	for i := range RampGrays {
		from := markerInset + markerSide + 10
		f.Ramps[0] = append(f.Ramps[0], Rect{from + float64(step*float64(i)), 14, step, 8})
		f.Ramps[1] = append(f.Ramps[1], Rect{from + float64(step*float64(len(RampGrays)-1-i)), h - 22, step, 8})
	}

	f.Bits = numberBits(index, total, codes)
	for i := range f.Bits {
		f.Marks = append(f.Marks, Rect{34 + float64(float64(i)*6), 28, 4, 4})
	}

	s := &Sheet{frame: f}
	for i, m := range f.Markers {
		s.Corners[i] = m.center()
	}
	pitchX, pitchY := (w-40)/frameCols, (h-cellsTop-cellsEnd)/frameRows
	for i, address := range codes {
		c, r := i%frameCols, i/frameCols
		cell := Rect{20 + float64(pitchX*float64(c)) + float64((pitchX-cellSide)/2), cellsTop + float64(pitchY*float64(r)), cellSide, cellSide}
		f.Cells = append(f.Cells, cell)
		code, finish := palettes.SplitAddress(address)
		s.Patches = append(s.Patches, Patch{code, finish, cell})
	}
	// White: below the codes, between the rows, where no tape lies.
	const label, spot = 6.0, 3.0
	for r := -1; r < frameRows; r++ {
		y := cellsTop + float64(pitchY*float64(r)) + cellSide + label + float64((float64(pitchY)-cellSide-label-2.5)/2)
		if r < 0 {
			y = cellsTop - 4
		}
		for c := range 2*frameCols + 1 {
			x := 20 + float64(pitchX*float64(c)/2)
			s.Whites = append(s.Whites, Rect{x - spot/2, y - spot/2, spot, spot})
		}
	}
	for i, ramp := range f.Ramps {
		for _, g := range ramp {
			s.Grays[i] = append(s.Grays[i], g.shrunk(0.5))
		}
	}
	f.sheet = s
	return f
}

// Sheet returns where things lie on the measuring sheet.
func (f *Frame) Sheet() *Sheet { return f.sheet }

// numberBits codes a sheet's number: 4 bits which, 4 bits of how many, 8 bits
// that stand for its codes, so that the layout of another sheet is noticed,
// and 8 bits to check them.
func numberBits(index, total int, codes []string) (bits []bool) {
	sum := uint32(2166136261) // FNV-1a
	for _, b := range []byte(strings.ToLower(strings.Join(codes, "\x00"))) {
		sum = (sum ^ uint32(b)) * 16777619
	}
	sum ^= sum >> 16
	words := []uint32{uint32(index-1)<<4 | uint32(total-1), (sum ^ sum>>8) & 0xff}
	words = append(words, checkBits(words[0], words[1]))
	for _, w := range words {
		for i := 7; i >= 0; i-- {
			bits = append(bits, w>>i&1 == 1)
		}
	}
	return bits
}

// checkBits is never 0 for an empty row of marks, nor 255 for a black one.
func checkBits(a, b uint32) uint32 { return (a*7 + b*13 + 0x5a) & 0xff }

// readNumber checks the bits and returns the sheet's number.
func readNumber(bits []bool) (index, total int, codes uint32, ok bool) {
	var w [3]uint32
	for i, b := range bits {
		w[i/8] <<= 1
		if b {
			w[i/8] |= 1
		}
	}
	return int(w[0]>>4) + 1, int(w[0]&15) + 1, w[1], checkBits(w[0], w[1]) == w[2]
}

// Name says which sheet it is.
func (f *Frame) Name() string { return fmt.Sprintf("sheet %d of %d", f.Index, f.Total) }
