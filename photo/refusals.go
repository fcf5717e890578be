package photo

import (
	"strings"
	"unicode/utf8"
)

// A refusal is a kind of file that is not read here, and what to do instead.
type refusal struct {
	what, try string
	is        func(data []byte) bool
}

const (
	exportPicture = "open it in the program it came from and export it as JPEG or PNG"
	exportRaw     = "develop it in the camera maker's or any photo program and export it as JPEG"
	takePicture   = "choose a photo: JPEG, PNG, HEIC, AVIF, WebP, TIFF, GIF or BMP"
)

var refusals = []refusal{
	{"a PDF document", "export the page or the picture in it as PNG", prefix("%PDF")},
	{"a JPEG XL picture, which is not read here", "export it as JPEG", prefix("\xff\x0a", "\x00\x00\x00\x0cJXL ")},
	{"a JPEG 2000 picture, which is not read here", "export it as JPEG", prefix("\x00\x00\x00\x0cjP  ", "\xff\x4f\xff\x51")},
	{"a camera raw file", exportRaw, isRaw},
	{"a BigTIFF picture, which is not read here", "export it as plain TIFF or PNG", prefix("II+\x00", "MM\x00+")},
	{"a layered picture of an image editor", exportPicture, prefix("8BPS", "8BPB", "gimp xcf")},
	{"a high-dynamic-range picture, which is not read here", exportPicture, prefix("v/1\x01", "#?RADIANCE", "#?RGBE")},
	{"an icon file", exportPicture, isIcon},
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
	if prefix("FUJIFILMCCD-RAW", "IIRO", "IIRS", "MMOR", "IIU\x00", "FOVb", "\x00MRM", "II\x1a\x00\x00\x00HEAPCCDR")(d) || brand(d) == "crx " {
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

// isIcon tells icons and cursors by their head and by the number of pictures
// behind it, which other files that begin alike have as zero.
func isIcon(d []byte) bool {
	return prefix("\x00\x00\x01\x00", "\x00\x00\x02\x00")(d) && len(d) > 5 && d[4]|d[5] != 0
}

// isText tells whether a file begins as text in UTF-8, of which the last
// character may be cut in two.
func isText(d []byte) bool {
	head := d[:min(len(d), 512)]
	for cut := 0; ; cut++ {
		if utf8.Valid(head[:len(head)-cut]) {
			break
		}
		if len(d) == len(head) || cut == utf8.UTFMax-1 {
			return false
		}
	}
	for _, c := range head {
		if c < 32 && !strings.ContainsRune("\t\r\n\f", rune(c)) || c == 127 {
			return false
		}
	}
	return true
}
