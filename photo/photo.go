// Package photo reads a picture, sets it upright, manages its color and
// samples it to one color a drill.
//
// Begin with [Read], then [Photo.Sample] for the target colors of a canvas, or
// [Photo.Linear] to work on them as light first. [Photo.Picture] gives the
// photo itself for showing. docs/measured.md tells what each file
// format keeps.
//
// Everything a caller sees is upright: x runs right and y runs down from the
// top left corner of the picture as it is looked at, whatever way the camera
// was held.
package photo

import (
	"math"

	"kitwright/internal/say"
)

// Limits bounds what Read takes in. The zero value of each field stands for
// its default.
type Limits struct {
	Bytes  int64 // size of the file; default 300 MB
	Pixels int64 // width times height; default 120 million
	Memory int64 // of the file and what it is unpacked to; default 600 MB
}

// MaxBytes is the largest file that is read unless a limit says otherwise.
const MaxBytes = 300 << 20

const (
	defaultPixels = 120_000_000
	defaultMemory = 600 << 20
	maxSide       = 100_000 // pixels; keeps the sums in Photo.Sample inside 64 bits
)

func (l Limits) bytes() int64 {
	if l.Bytes > 0 {
		return l.Bytes
	}
	return MaxBytes
}

func (l Limits) pixels() int64 {
	if l.Pixels > 0 {
		return l.Pixels
	}
	return defaultPixels
}

func (l Limits) memory() int64 {
	if l.Memory > 0 {
		return l.Memory
	}
	return defaultMemory
}

// Photo is a picture in memory: upright, opaque over white, color-managed. It
// never changes after Read and may be used from several goroutines at once.
type Photo struct {
	Width, Height int      // pixels, upright
	Format        string   // "JPEG", "PNG", ...
	Space         string   // the color space its numbers were read in: "sRGB", "Display P3", ...
	Deep          bool     // more than 8 bits a channel
	HasAlpha      bool     // some part of it was see-through and lies over white now
	Notes         []string // what the crafter should know, a sentence each

	px    pixels // as stored in the file, not yet turned
	turn  turn   // from stored to upright
	toRGB *matrix

	quality int // of a JPEG, see jpegQuality; 0 = no JPEG
}

// Crop is a part of the upright photo, in pixels from its top left corner;
// fractions of a pixel are honored to 1/4096. The zero Crop is the whole photo.
type Crop struct{ X, Y, W, H float64 }

// Whole returns the crop that keeps everything.
func (p *Photo) Whole() Crop { return Crop{0, 0, float64(p.Width), float64(p.Height)} }

// Percent returns the crop that starts x percent from the left and y percent
// from the top and is w percent wide and h percent high.
func (p *Photo) Percent(x, y, w, h float64) Crop {
	fw, fh := float64(p.Width)/100, float64(p.Height)/100
	return Crop{x * fw, y * fh, w * fw, h * fh}
}

// Check tells, as a usage error, whether a crop lies inside the photo.
func (p *Photo) Check(c Crop) error {
	const try = "give left, top, width and height in percent of the upright photo, such as 10,0,80,100"
	for _, v := range [4]float64{c.X, c.Y, c.W, c.H} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return say.Usage(try, "the crop holds something that is not a number")
		}
	}
	const dust = 1e-6 // of a pixel: what percentages lose on the way
	switch {
	case c == Crop{}:
		return nil
	case c.W <= 0 || c.H <= 0:
		return say.Usage(try, "the crop is empty")
	case c.X < -dust || c.Y < -dust || c.X+c.W > float64(p.Width)+dust || c.Y+c.H > float64(p.Height)+dust:
		return say.Usage(try, "the crop reaches outside the photo")
	}
	return nil
}

// window is a crop in whole 1/4096 pixels.
type window struct{ x, y, w, h int64 }

const sub = 4096 // parts of a pixel in a window

// window returns the crop as integers, cut to what lies inside the photo and
// at least 1/4096 pixel wide and high.
func (p *Photo) window(c Crop) window {
	if c == (Crop{}) {
		c = p.Whole()
	}
	x0, x1 := cut(c.X, c.W, p.Width)
	y0, y1 := cut(c.Y, c.H, p.Height)
	return window{x0, y0, x1 - x0, y1 - y0}
}

func cut(at, length float64, side int) (lo, hi int64) {
	end := int64(side) * sub
	lo = min(max(fixed(at), 0), end-1)
	hi = min(max(fixed(at+length), lo+1), end)
	return lo, hi
}

// fixed rounds a length in pixels to 1/4096; what is not a number counts as 0.
func fixed(v float64) int64 {
	if math.IsNaN(v) {
		return 0
	}
	return int64(math.Round(math.Min(math.Max(v, -1), maxSide+1) * sub))
}
