package photo

import (
	"bytes"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"io"
	"strings"

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
	decode func() (image.Image, *inks, error) // inks for pictures of luma and color differences
}

var formats = []format{
	{"JPEG", prefix("\xff\xd8\xff"), openJPEG},
	{"PNG", prefix("\x89PNG\r\n\x1a\n"), plain("PNG", png.DecodeConfig, png.Decode, pngMeta)},
	{"HEIC", func(d []byte) bool { return heif.Brand(d) == "HEIC" }, openHEIF},
	{"AVIF", func(d []byte) bool { return heif.Brand(d) == "AVIF" }, openHEIF},
	{"WebP", func(d []byte) bool { return riffOf(d, "WEBP") }, openWebP},
	{"TIFF", prefix("II*\x00", "MM\x00*"), plain("TIFF", xtiff.DecodeConfig, xtiff.Decode, tiffMeta)},
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
		return &opened{name, c, about(data), func() (image.Image, *inks, error) {
			m, err := decode(bytes.NewReader(data))
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
	o.decode = func() (image.Image, *inks, error) {
		if m, err := quickjpeg.Decode(data, o.config.Width, o.config.Height); err == nil {
			return m, jpegRange, nil
		}
		return decode()
	}
	return o, nil
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
	o.decode = func() (image.Image, *inks, error) {
		m, _, err := decode()
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
	if f.Deep && f.Format == "AVIF" {
		o.config.ColorModel = color.RGBA64Model
	}
	o.meta = meta{turn: turn(f.Turn), icc: f.ICC, profiled: f.ICC != nil, gray: f.Gray, frames: f.Several}
	if f.ICC == nil {
		o.meta.coded = f.Coded
	}
	o.decode = func() (image.Image, *inks, error) {
		p, err := f.Decode()
		if err != nil {
			return nil, nil, err
		}
		return p.Image, newInks(p.Kr, p.Kb, p.Video, p.Cut), nil
	}
	return o, nil
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

// A stranger is a kind of file that is not read here, and what to do instead.
type stranger struct {
	what, try string
	is        func(data []byte) bool
}

const (
	exportPicture = "open it in the program it came from and export it as JPEG or PNG"
	exportRaw     = "develop it in the camera maker's or any photo program and export it as JPEG"
	takePicture   = "choose a photo: JPEG, PNG, HEIC, AVIF, WebP, TIFF, GIF or BMP"
)

var strangers = []stranger{
	{"a PDF document", "export the page or the picture in it as PNG", prefix("%PDF")},
	{"a JPEG XL picture, which is not read here", "export it as JPEG", prefix("\xff\x0a", "\x00\x00\x00\x0cJXL ")},
	{"a JPEG 2000 picture, which is not read here", "export it as JPEG", prefix("\x00\x00\x00\x0cjP  ", "\xff\x4f\xff\x51")},
	{"a camera raw file", exportRaw, isRaw},
	{"a BigTIFF picture, which is not read here", "export it as plain TIFF or PNG", prefix("II+\x00", "MM\x00+")},
	{"a layered picture of an image editor", exportPicture, prefix("8BPS", "8BPB", "gimp xcf")},
	{"a high-dynamic-range picture, which is not read here", exportPicture, prefix("v/1\x01", "#?RADIANCE", "#?RGBE")},
	{"an icon file", exportPicture, prefix("\x00\x00\x01\x00", "\x00\x00\x02\x00")},
	{"a portable pixmap, which is not read here", exportPicture, isPixmap},
	{"a video", "save one frame of it as JPEG or PNG", isVideo},
	{"a sound file", takePicture, prefix("ID3", "OggS", "fLaC")},
	{"a PostScript drawing", exportPicture, prefix("%!PS", "\xc5\xd0\xd3\xc6")},
	{"a vector drawing", exportPicture, func(d []byte) bool { return textWith(d, "<svg") }},
	{"a web page", "save the picture on the page, not the page", func(d []byte) bool { return textWith(d, "<!doctype html", "<html") }},
	{"an archive or an office document", "unpack it, or export the picture in it as PNG", prefix("PK\x03\x04", "Rar!", "7z\xbc\xaf", "\x1f\x8b", "\xd0\xcf\x11\xe0")},
	{"a program", takePicture, prefix("\x7fELF", "MZ", "\xcf\xfa\xed\xfe")},
	{"a text file", takePicture, isText},
}

func isRaw(d []byte) bool {
	if prefix("FUJIFILMCCD-RAW", "IIRO", "IIRS", "MMOR", "IIU\x00", "FOVb", "\x00MRM")(d) || brand(d) == "crx " {
		return true
	}
	if len(d) > 10 && string(d[:4]) == "II*\x00" && string(d[8:10]) == "CR" {
		return true
	}
	t, ok := newTIFF(d)
	if !ok {
		return false
	}
	if t.find(t.first, tagDNG) != nil {
		return true
	}
	// Raw files that pose as TIFF begin with a thumbnail and keep the picture
	// in a directory below it.
	kind, _ := t.number(t.first, tagSubfile)
	return kind == 1 && t.find(t.first, 0x014A) != nil
}

// brand returns the major brand of an ISO media file, or "".
func brand(d []byte) string {
	if len(d) < 12 || string(d[4:8]) != "ftyp" {
		return ""
	}
	return string(d[8:12])
}

func isVideo(d []byte) bool {
	return brand(d) != "" || riffOf(d, "AVI ") || prefix("\x1aE\xdf\xa3", "\x00\x00\x01\xba", "\x00\x00\x01\xb3", "FLV")(d)
}

func isPixmap(d []byte) bool {
	return len(d) > 2 && d[0] == 'P' && d[1] >= '1' && d[1] <= '7' && strings.ContainsRune(" \t\r\n#", rune(d[2]))
}

// textWith tells whether a text begins with one of some words, or has them
// among its first lines.
func textWith(d []byte, words ...string) bool {
	head := strings.ToLower(string(d[:min(len(d), 1024)]))
	for _, w := range words {
		if strings.Contains(head, w) && strings.HasPrefix(strings.TrimLeft(head, " \t\r\n\xef\xbb\xbf"), "<") {
			return true
		}
	}
	return false
}

func isText(d []byte) bool {
	for _, c := range d[:min(len(d), 512)] {
		if c < 32 && !strings.ContainsRune("\t\r\n\f", rune(c)) || c == 127 {
			return false
		}
	}
	return true
}
