package photo

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"io"

	"golang.org/x/image/bmp"
	xtiff "golang.org/x/image/tiff"
	"golang.org/x/image/webp"

	"kitwright/internal/heif"
	"kitwright/internal/quickjpeg"
)

// format is a kind of file that Read can read.
type format struct {
	name   string
	starts func(data []byte) bool
	open   func(data []byte) (*opened, error)
}

// opened is a file whose head has been read: nothing big has been made yet.
type opened struct {
	name   string
	config image.Config
	meta   meta
	decode func(context.Context) (image.Image, *lumaMatrix, error) // the matrix for pictures of luma and color differences
}

var formats = []format{
	{"JPEG", prefix("\xff\xd8\xff"), openJPEG},
	{"PNG", prefix("\x89PNG\r\n\x1a\n"), plain("PNG", png.DecodeConfig, png.Decode, pngMeta)},
	{"HEIC", func(d []byte) bool { return heif.Brand(d) == "HEIC" }, openHEIF},
	{"AVIF", func(d []byte) bool { return heif.Brand(d) == "AVIF" }, openHEIF},
	{"WebP", func(d []byte) bool { return riffOf(d, "WEBP") }, openWebP},
	{"TIFF", prefix("II*\x00", "MM\x00*"), openTIFF},
	{"GIF", prefix("GIF87a", "GIF89a"), plain("GIF", gif.DecodeConfig, decodeGIF, gifMeta)},
	{"BMP", prefix("BM"), plain("BMP", bmp.DecodeConfig, bmp.Decode, func([]byte) meta { return meta{turn: upright} })},
}

// plain opens the formats of the image libraries.
func plain(name string, config func(io.Reader) (image.Config, error), decode func(io.Reader) (image.Image, error), about func([]byte) meta) func([]byte) (*opened, error) {
	return func(data []byte) (*opened, error) {
		c, err := config(bytes.NewReader(data))
		if err != nil {
			return nil, err
		}
		return &opened{name, c, about(data), func(ctx context.Context) (image.Image, *lumaMatrix, error) {
			m, err := decode(&stoppable{ctx, bytes.NewReader(data)})
			return m, jpegRange, err
		}}, nil
	}
}

// openJPEG decodes the usual kinds of JPEG on several cores, and leaves all
// others, and every verdict on what is damaged, to the standard library.
func openJPEG(data []byte) (*opened, error) {
	o, err := plain("JPEG", jpeg.DecodeConfig, jpeg.Decode, jpegMeta)(data)
	if err != nil {
		return nil, err
	}
	decode := o.decode
	o.decode = func(ctx context.Context) (image.Image, *lumaMatrix, error) {
		if m, err := quickjpeg.Decode(data, o.config.Width, o.config.Height); err == nil {
			return m, jpegRange, nil
		}
		return decode(ctx)
	}
	return o, nil
}

// openTIFF refuses pictures whose colors lie in planes of their own: the
// library takes the first plane for the whole picture, and finds it too short.
func openTIFF(data []byte) (*opened, error) {
	if t, ok := newTIFF(data); ok {
		samples, _ := t.number(t.first, tagSamples)
		if planes, _ := t.number(t.first, tagPlanes); planes == 2 && samples > 1 {
			return nil, xtiff.UnsupportedError("colors in planes")
		}
	}
	return plain("TIFF", xtiff.DecodeConfig, xtiff.Decode, tiffMeta)(data)
}

// openWebP reads the first frame of an animation, too: the library reads still
// pictures only.
func openWebP(data []byte) (*opened, error) {
	o, err := plain("WebP", webp.DecodeConfig, webp.Decode, webpMeta)(stillWebP(data))
	if err != nil {
		return nil, err
	}
	o.meta = webpMeta(data)
	decode := o.decode
	o.decode = func(ctx context.Context) (image.Image, *lumaMatrix, error) {
		m, _, err := decode(ctx)
		return m, webpRange, err
	}
	return o, nil
}

// openHEIF reads HEIC and AVIF. Of a profile and codes, the profile counts.
func openHEIF(data []byte) (*opened, error) {
	f, err := heif.Parse(data)
	if err != nil {
		return nil, err
	}
	o := &opened{name: f.Format, config: image.Config{Width: f.Width, Height: f.Height, ColorModel: color.RGBAModel}}
	if f.Deep {
		o.config.ColorModel = color.RGBA64Model
	}
	o.meta = meta{turn: turn(f.Turn), icc: f.ICC, profiled: f.ICC != nil, gray: f.Gray, frames: f.Several}
	if f.ICC == nil {
		o.meta.coded = f.Coded
	}
	o.decode = func(ctx context.Context) (image.Image, *lumaMatrix, error) {
		p, err := f.Decode(ctx)
		if err != nil {
			return nil, nil, err
		}
		if p.Kr == 0 { // no luma: red, green and blue
			return p.Image, nil, nil
		}
		return p.Image, newLumaMatrix(p.Kr, p.Kb, p.Video), nil
	}
	return o, nil
}

// stoppable is a reader that ends with its context: so do the decoders of the
// libraries, which know of none.
type stoppable struct {
	ctx context.Context
	r   io.Reader
}

func (s *stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}

func prefix(any ...string) func([]byte) bool {
	return func(data []byte) bool {
		for _, p := range any {
			if bytes.HasPrefix(data, []byte(p)) {
				return true
			}
		}
		return false
	}
}

func riffOf(data []byte, kind string) bool {
	return len(data) >= 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == kind
}

// decodeGIF returns the first picture, laid on the canvas of the file: it may
// be smaller.
func decodeGIF(r io.Reader) (image.Image, error) {
	var head bytes.Buffer
	c, err := gif.DecodeConfig(io.TeeReader(r, &head))
	if err != nil {
		return nil, err
	}
	m, err := gif.Decode(io.MultiReader(&head, r))
	if err != nil {
		return nil, err
	}
	canvas := image.Rect(0, 0, c.Width, c.Height)
	if m.Bounds() == canvas {
		return m, nil
	}
	out := image.NewNRGBA(canvas)
	for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
		for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
			out.Set(x, y, m.At(x, y))
		}
	}
	return out, nil
}

// stillWebP returns the first frame of an animated WebP as a file of its own
// (RFC 9649, section 2.7.1.1: ANMF holds place, size and time in 16 bytes, then
// the chunks of a still picture), and other files as they are.
func stillWebP(data []byte) []byte {
	if len(data) < 12 {
		return data
	}
	var frame []byte
	riff(data[12:], func(kind string, body []byte) bool {
		if kind == "ANMF" && len(body) > 16 {
			frame = body
			return false
		}
		return true
	})
	if frame == nil {
		return data
	}
	var alpha byte
	if bytes.HasPrefix(frame[16:], []byte("ALPH")) {
		alpha = 0x10
	}
	out := []byte("RIFF\x00\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00")
	out = append(out, alpha, 0, 0, 0)
	out = append(out, frame[6:12]...) // width and height, each less 1, in 3 bytes
	out = append(out, frame[16:]...)
	n := len(out) - 8
	out[4], out[5], out[6], out[7] = byte(n), byte(n>>8), byte(n>>16), byte(n>>24)
	return out
}
