package photo

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/gif"
	"image/png"
	"io"

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
	memory int64 // bytes that decode makes room for, beside the file
	decode func(context.Context) (*decoded, error)
}

var formats = []format{
	{"JPEG", prefix("\xff\xd8\xff"), openJPEG},
	{"PNG", prefix("\x89PNG\r\n\x1a\n"), openPNG},
	{"HEIC", func(d []byte) bool { return heif.Brand(d) == "HEIC" }, openHEIF},
	{"AVIF", func(d []byte) bool { return heif.Brand(d) == "AVIF" }, openHEIF},
	{"WebP", func(d []byte) bool { return riffOf(d, "WEBP") }, openWebP},
	{"TIFF", prefix("II*\x00", "MM\x00*"), openTIFF},
	{"GIF", prefix("GIF87a", "GIF89a"), openGIF},
	{"BMP", prefix("BM"), openBMP},
}

// plain opens the formats of the image libraries.
func plain(name string, config func(io.Reader) (image.Config, error), decode func(io.Reader) (image.Image, error), about func([]byte) meta) func([]byte) (*opened, error) {
	return func(data []byte) (*opened, error) {
		c, err := config(bytes.NewReader(data))
		if err != nil {
			return nil, err
		}
		o := &opened{name: name, config: c, meta: about(data), memory: int64(c.Width) * int64(c.Height) * bytesOf(c.ColorModel)}
		o.decode = func(ctx context.Context) (*decoded, error) {
			m, err := decode(&stoppable{ctx, bytes.NewReader(data)})
			return &decoded{image: m}, err
		}
		return o, nil
	}
}

// bytesOf is what the image libraries keep of a pixel at the most.
func bytesOf(m color.Model) int64 {
	switch m {
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	}
	if _, ok := m.(color.Palette); ok {
		return 1
	}
	return 4
}

func openJPEG(data []byte) (*opened, error) {
	head, err := quickjpeg.ReadHead(data)
	if err != nil {
		return nil, err
	}
	o := &opened{name: "JPEG", meta: jpegMeta(data), memory: head.Memory}
	o.config = image.Config{Width: head.Width, Height: head.Height, ColorModel: color.YCbCrModel}
	o.decode = func(ctx context.Context) (*decoded, error) {
		p, err := quickjpeg.Decode(ctx, data)
		if err != nil {
			return nil, err
		}
		if err := half(p.Rows, p.Height); err != nil {
			return nil, err
		}
		d := &decoded{lost: lost{bottom: p.Height - p.Rows, of: p.Height}, coarse: p.Coarse}
		d.image = imageOf(p)
		return d, nil
	}
	return o, nil
}

// openPNG counts the passes of an interlaced picture, each of which the library
// makes room for, and mends a file that is broken off, for which the rows are
// held twice more.
func openPNG(data []byte) (*opened, error) {
	o, err := plain("PNG", png.DecodeConfig, png.Decode, pngMeta)(data)
	if err != nil {
		return nil, err
	}
	if len(data) > 28 && data[28] == 1 {
		o.memory *= 2
	}
	if wholePNG(data) {
		return o, nil
	}
	o.memory *= 3
	o.decode = func(ctx context.Context) (*decoded, error) {
		mended, rows, ok := mendPNG(data)
		if !ok {
			return nil, io.ErrUnexpectedEOF
		}
		m, err := png.Decode(&stoppable{ctx, bytes.NewReader(mended)})
		return &decoded{image: m, lost: lost{bottom: o.config.Height - rows, of: o.config.Height}}, err
	}
	return o, nil
}

// openWebP reads the first frame of an animation, too, and lays it on its
// canvas: the library reads still pictures only.
func openWebP(data []byte) (*opened, error) {
	if lacks := webpLacks(data); lacks > 0 && lacks <= int64(len(data)) {
		return openCutWebP(data, lacks)
	}
	still, at, canvas := stillWebP(data)
	o, err := plain("WebP", webp.DecodeConfig, webp.Decode, webpMeta)(still)
	if err != nil {
		return nil, err
	}
	switch o.config.ColorModel {
	case color.YCbCrModel:
		o.memory = o.memory * 3 / 8
	default: // a lossless picture, or the opacity of a lossy one, is unpacked in steps
		o.memory *= 2
	}
	o.meta = webpMeta(data)
	decode := o.decode
	o.decode = func(ctx context.Context) (*decoded, error) {
		d, err := decode(ctx)
		if err != nil {
			return nil, err
		}
		d.matrix = webpRange
		if canvas != (image.Point{}) {
			d.image = place(d.image, at, canvas)
		}
		return d, nil
	}
	if canvas != (image.Point{}) {
		o.config.Width, o.config.Height = canvas.X, canvas.Y
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
	o.memory = f.Memory()
	o.meta = meta{turn: turn(f.Turn), icc: f.ICC, profiled: f.ICC != nil, gray: f.Gray, frames: f.Several}
	if f.ICC == nil {
		o.meta.coded = f.Coded
	}
	o.decode = func(ctx context.Context) (*decoded, error) {
		p, err := f.Decode(ctx)
		if err != nil {
			return nil, err
		}
		d := &decoded{image: p.Image, lost: lost{bottom: f.Height - p.Rows, of: f.Height}}
		if p.Kr != 0 { // otherwise no luma: red, green and blue
			d.matrix = newLumaMatrix(p.Kr, p.Kb, p.Video)
		}
		return d, nil
	}
	return o, nil
}

// openGIF takes the first picture, laid on the canvas of the file: it may be
// smaller.
func openGIF(data []byte) (*opened, error) {
	o, err := plain("GIF", gif.DecodeConfig, gif.Decode, gifMeta)(data)
	if err != nil {
		return nil, err
	}
	decode := o.decode
	o.decode = func(ctx context.Context) (*decoded, error) {
		d, err := decode(ctx)
		if err != nil {
			m, h := mendGIF(data)
			if m == nil || ctx.Err() != nil {
				return nil, err
			}
			// The picture ends there, and the canvas with it.
			end := image.Pt(o.config.Width, min(o.config.Height, m.Rect.Max.Y))
			return &decoded{image: place(m, m.Rect.Min, end), lost: lost{bottom: m.Rect.Min.Y + h - m.Rect.Max.Y, of: h}}, nil
		}
		d.image = place(d.image, d.image.Bounds().Min, image.Pt(o.config.Width, o.config.Height))
		return d, err
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

// stillWebP returns the first frame of an animated WebP as a file of its own,
// with its place on the canvas and the size of that; other files as they are,
// with no canvas.
//
// RFC 9649, section 2.7.1.1: ANMF holds place (halved), size (less 1) and time
// in 16 bytes, then the chunks of a still picture; VP8X the size of the canvas
// (less 1). The color behind the frames is a hint that readers may leave aside;
// here what no frame covers is see-through.
func stillWebP(data []byte) (still []byte, at, canvas image.Point) {
	if len(data) < 12 {
		return data, at, canvas
	}
	u24 := func(b []byte) int { return int(b[0]) | int(b[1])<<8 | int(b[2])<<16 }
	var frame []byte
	riff(data[12:], func(kind string, body []byte) bool {
		if kind == "VP8X" && len(body) >= 10 {
			canvas = image.Pt(u24(body[4:])+1, u24(body[7:])+1)
		}
		if kind == "ANMF" && len(body) > 16 {
			frame = body
			return false
		}
		return true
	})
	if frame == nil {
		return data, at, image.Point{}
	}
	at = image.Pt(2*u24(frame), 2*u24(frame[3:]))
	var alpha byte
	if bytes.HasPrefix(frame[16:], []byte("ALPH")) {
		alpha = 0x10
	}
	out := []byte("RIFF\x00\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00")
	out = append(out, alpha, 0, 0, 0)
	out = append(out, frame[6:12]...)
	out = append(out, frame[16:]...)
	n := len(out) - 8
	out[4], out[5], out[6], out[7] = byte(n), byte(n>>8), byte(n>>16), byte(n>>24)
	return out, at, canvas
}
