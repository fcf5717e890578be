package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/md5"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// subsets gives fonts the names that subsets must have, and tells which glyphs
// they hold: a tag of six letters and a plus before the name (PDF Reference
// 1.4, 5.5.3), and for PDF/A a CIDSet (ISO 19005-1, 6.3.5; both from memory).
//
// For a font gofpdf writes the font, its descendant, two objects, the
// descriptor, the map from characters to glyphs and the font file, in this
// order. The tag is the sum of the file, so equal subsets have equal names.
func subsets(objects [][]byte, out *objectWriter, take func() int) error {
	for n, o := range objects {
		if !bytes.Contains(o, []byte("/Type /FontDescriptor")) {
			continue
		}
		if n < 5 || n+2 >= len(objects) {
			return fmt.Errorf("unexpected shape of the raw PDF: fonts")
		}
		old, _, _ := bytes.Cut(o[bytes.Index(o, []byte("/FontName /"))+len("/FontName /"):], []byte("\n"))
		name, ok := fontNames[strings.TrimRight(string(old), "0123456789")] // symbols of several sizes are numbered
		if !ok {
			return fmt.Errorf("unexpected shape of the raw PDF: font %s", old)
		}
		sum := md5.Sum(objects[n+2])
		tag := make([]byte, 6)
		for i := range tag {
			tag[i] = 'A' + sum[i]%26
		}
		for _, i := range []int{n - 4, n - 3, n} {
			objects[i] = bytes.Replace(objects[i], append([]byte("/"), old...), fmt.Appendf(nil, "/%s+%s", tag, name), 1)
		}
		set, err := characters(objects[n+1])
		if err != nil {
			return err
		}
		id := take()
		objects[n] = bytes.Replace(objects[n], []byte("/FontFile2"), []byte("/CIDSet "+strconv.Itoa(id)+" 0 R/FontFile2"), 1)
		out.stream(id, "/Filter/FlateDecode", deflated(set))
	}
	return nil
}

// fontNames are the names of fonts in a file, by gofpdf's.
var fontNames = map[string]string{
	"utf8text":    "Go-Regular",
	"utf8textB":   "Go-Bold",
	"utf8symbols": "Kitwright-Symbols",
}

// characters returns a bit for each character that a map from characters to
// glyphs has, the first in the highest bit, and for 0, which stands for all
// that are missing.
func characters(o []byte) ([]byte, error) {
	start, length, ok := streamOf(o)
	if !ok {
		return nil, fmt.Errorf("unexpected shape of the raw PDF: glyph map")
	}
	z, err := zlib.NewReader(bytes.NewReader(o[start : start+length]))
	if err != nil {
		return nil, fmt.Errorf("unexpected shape of the raw PDF: glyph map: %w", err)
	}
	gids, err := io.ReadAll(z)
	if err != nil {
		return nil, fmt.Errorf("unexpected shape of the raw PDF: glyph map: %w", err)
	}
	set := make([]byte, 1, len(gids)/16+1)
	set[0] = 0x80
	for c := 1; 2*c+1 < len(gids); c++ {
		if gids[2*c] == 0 && gids[2*c+1] == 0 {
			continue
		}
		for len(set) <= c/8 {
			set = append(set, 0)
		}
		set[c/8] |= 0x80 >> (c % 8)
	}
	return set, nil
}
