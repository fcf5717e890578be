package photo

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"strings"

	"kitwright/internal/heif"
	"kitwright/internal/quickjpeg"
	"kitwright/internal/say"
)

// Read takes a photo in: JPEG, PNG, HEIC, AVIF, WebP, TIFF, GIF or BMP.
//
// The picture comes out upright, with see-through parts over white, and in
// known colors. Of an animation it is the first frame. Sizes over the limits
// are refused before anything of that size is made. Every error is one that a
// crafter can read (package say), also when a decoder panics: this is the one
// door through which foreign bytes come in. When ctx ends, Read returns its
// error at once, whatever decoder is at work.
func Read(ctx context.Context, r io.Reader, lim Limits) (p *Photo, err error) {
	data, err := io.ReadAll(io.LimitReader(&stoppable{ctx, r}, lim.bytes()+1))
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, say.Failed("check that the file can be opened and read to its end", "the photo could not be read: %w", err)
	}
	if int64(len(data)) > lim.bytes() {
		return nil, say.Failed("export the photo as JPEG, which is far smaller", "the photo's file is larger than %d MB", lim.bytes()>>20)
	}
	if len(data) == 0 {
		return nil, say.Failed("copy the photo again; this copy holds nothing", "the photo's file is empty")
	}
	f := recognize(data)
	if f == nil {
		return nil, refuse(data)
	}
	defer func() {
		if v := recover(); v != nil {
			p, err = nil, damaged(f.name, fmt.Errorf("decoder: %v", v))
		}
	}()
	return f.read(ctx, data, lim)
}

// Memory returns about how many bytes it takes to read a photo's file, the
// file itself among them: told by its head, before anything big is made. Of
// what is no photo it is the file alone.
func Memory(data []byte) (bytes int64) {
	bytes = int64(len(data))
	defer func() { _ = recover() }() // Read tells what is wrong with it
	if f := recognize(data); f != nil {
		if o, err := f.open(data); err == nil {
			bytes += o.memory
		}
	}
	return bytes
}

func recognize(data []byte) *format {
	if isRaw(data) {
		return nil
	}
	for i := range formats {
		if formats[i].starts(data) {
			return &formats[i]
		}
	}
	return nil
}

// refuse names a file that is not read here.
func refuse(data []byte) error {
	for _, s := range refusals {
		if s.is(data) {
			return say.Failed(s.try, "this is not a photo but %s", s.what)
		}
	}
	return say.Failed(takePicture, "this is not a photo, or a kind of photo that is not read here")
}

func (f *format) read(ctx context.Context, data []byte, lim Limits) (*Photo, error) {
	o, err := f.open(data)
	if err != nil {
		return nil, f.explain(err)
	}
	if err := lim.check(f.name, o, int64(len(data))); err != nil {
		return nil, err
	}
	d, err := o.decode(ctx)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, f.explain(err)
	}
	if d.image.Bounds().Empty() {
		return nil, damaged(f.name, errors.New("the picture has no pixels"))
	}
	p := &Photo{Format: o.name, Deep: deep(d.image.ColorModel()), turn: o.meta.turn.known(), quality: o.meta.quality}
	if d.matrix == nil {
		d.matrix = jpegRange
	}
	if err := p.develop(d.image, d.matrix, o.meta); err != nil {
		return nil, err
	}
	w, h := p.px.size()
	p.Width, p.Height = p.turn.size(w, h)
	p.HasAlpha = hasAlpha(p.px)
	if note := d.note(p.turn); note != "" {
		p.note("%s", note)
	}
	if o.meta.frames {
		p.note("the file holds several pictures; only the first is used")
	}
	return p, nil
}

// note keeps a sentence, given without its capital and its stop.
func (p *Photo) note(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	p.Notes = append(p.Notes, strings.ToUpper(s[:1])+s[1:]+".")
}

// develop gives the decoder's picture its colors.
func (p *Photo) develop(img image.Image, k *lumaMatrix, m meta) error {
	channels := 3
	switch m := img.(type) {
	case *image.Gray, *image.Gray16:
		channels = 1
	case picture:
		channels = m.channels()
	}
	if m.gray {
		channels = 1
	}
	s := p.spaceOf(m, channels)
	p.Space, p.toRGB = s.name, s.toRGB
	p.px = newPixels(img, s, k)
	if p.px == nil {
		return say.Failed(exportPicture, "this %s stores its colors in a way that is not read here", p.Format)
	}
	return nil
}

// spaceOf chooses between the ways in which a file names its colors: code
// points (cICP, nclx) first, then an ICC profile, then the chunks of PNG (the
// order of W3C PNG, third edition, section 4.3), then Exif; sRGB where none
// says anything.
func (p *Photo) spaceOf(m meta, channels int) *space {
	switch {
	case m.coded != nil && channels < 4:
		s, note := codedSpace(m.coded[0], m.coded[1])
		if note != "" {
			p.note("%s", note)
		}
		return s
	case m.profiled:
		s, err := parseICC(m.icc, channels)
		if err == nil {
			return s
		}
		name := ""
		if s != nil && s.name != "unnamed" {
			name = ` "` + s.name + `"`
		}
		p.note("the photo's color profile%s is broken or does not fit, and was ignored", name)
	case m.srgb:
	case m.gamma > 0 || m.chroma != nil:
		return p.pngSpace(m)
	case m.adobeRGB && channels == 3:
		return adobeRGB()
	}
	if channels == 4 {
		p.note("the photo is stored in printing inks (CMYK) without a usable profile, so its colors are a guess; export it as an RGB JPEG")
	}
	return srgbSpace
}

// pngSpace reads the chunks gAMA and cHRM. The exponent 1/2.2 stands for sRGB:
// its writers put that number in for programs that know no better (W3C PNG,
// third edition, section 11.3.2.5).
func (p *Photo) pngSpace(m meta) *space {
	s := &space{name: "sRGB", curves: srgb}
	if g := m.gamma; g > 0 && math.Abs(g-0.45455) > 0.005 {
		if g < 0.1 || g > 10 {
			p.note("the photo names an impossible gamma, which was ignored")
		} else {
			s.name, s.curves = fmt.Sprintf("gamma %.2f", 1/g), newCurves(same3(power(1/g)))
		}
	}
	if c := m.chroma; c != nil {
		if !c.sane() {
			p.note("the photo names impossible primary colors, which were ignored")
			return s
		}
		s.toRGB = c.toRGB()
		if s.toRGB != nil && s.name == "sRGB" {
			s.name = "PNG primaries"
		}
		if s.isSRGB() {
			return srgbSpace
		}
	}
	return s
}

func deep(m color.Model) bool {
	return m == color.NRGBA64Model || m == color.RGBA64Model || m == color.Gray16Model
}

// check refuses pictures over the limits, and small files that claim to hold
// a huge picture: the tightest that any of the formats can honestly pack is
// about one byte for 8000 equal pixels, and no photo is so equal.
func (l Limits) check(name string, o *opened, size int64) error {
	const try = "export it smaller, at most 10,000 pixels on the long side"
	w, h := int64(o.config.Width), int64(o.config.Height)
	if w <= 0 || h <= 0 {
		return damaged(name, fmt.Errorf("size %dx%d", w, h))
	}
	if w > maxSide || h > maxSide {
		return say.Failed(try, "the photo is %d x %d pixels; no side may be longer than %d", w, h, maxSide)
	}
	if w*h > l.pixels() {
		return say.Failed(try, "the photo is %d x %d pixels, more than fits (%d million)", w, h, l.pixels()/1_000_000)
	}
	most := int64(4000)
	if name == "JPEG" {
		// Each block of 8 x 8 pixels takes a bit at least (ITU-T T.81, annex F
		// and G: a Huffman code of its first coefficient), and a progressive
		// one takes memory before it is read.
		most = 512
	}
	if w*h > 25_000_000 && w*h/size > most {
		return say.Failed("copy the photo again, or export it anew", "the photo claims %d x %d pixels, but its file is far too small for that", w, h)
	}
	if need := o.memory + size; need > l.memory() {
		return say.Failed(try+", with 8 bits a color", "reading the photo (%s, %d x %d pixels) would take about %d MB of memory, more than the %d MB it may", name, w, h, need>>20, l.memory()>>20)
	}
	return nil
}

// explain turns a decoder's error into one for people.
func (f *format) explain(err error) error {
	var (
		pngOdd  png.UnsupportedError
		jpegOdd quickjpeg.ErrKind
		heifOdd heif.ErrKind
		odd     rare
	)
	switch {
	case errors.As(err, &odd), errors.As(err, &jpegOdd), errors.As(err, &heifOdd):
		return say.Failed(exportPicture, "this %s %s%s%s and is not read here", f.name, odd, jpegOdd, heifOdd)
	case errors.Is(err, heif.ErrShort), errors.Is(err, quickjpeg.ErrShort), errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF), strings.Contains(err.Error(), "not enough"):
		return say.Failed("copy it again from the phone or camera, or export it anew", "the photo (%s) ends too early, as if only a part of it was copied%w", f.name, quiet{err})
	case errors.As(err, &pngOdd):
		return say.Failed(exportPicture, "this %s is of a rare kind that is not read here%w", f.name, quiet{err})
	}
	return damaged(f.name, err)
}

var errDamaged = errors.New("photo: the file makes no sense")

func damaged(name string, err error) error {
	return say.Failed("copy it again from the phone or camera, or export it anew", "the photo (%s) is damaged and cannot be read%w", name, quiet{err})
}

// quiet is a cause that is kept for those who look for it, but not shown.
type quiet struct{ error }

func (quiet) Error() string   { return "" }
func (q quiet) Unwrap() error { return q.error }
