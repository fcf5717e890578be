package photo

import (
	"compress/lzw"
	"image"
	"image/color"
	"io"
)

// mendGIF reads the first picture of a GIF that breaks off in it, as far as it
// goes: whole rows. It answers nil where there are fewer than half, where the
// picture is not cut, and for interlaced ones, whose rows come in four passes.
// (GIF89a: the logical screen, then blocks; image/gif gives nothing of a picture
// that is not whole.)
func mendGIF(data []byte) (m *image.Paletted, height int) {
	if len(data) < 13 {
		return nil, 0
	}
	table := func(at int, flags byte) []byte {
		if n := gifTable(flags); n > 0 && at+n <= len(data) {
			return data[at : at+n]
		}
		return nil
	}
	colors, through := table(13, data[10]), -1
	at := 13 + gifTable(data[10])
	for at < len(data) && data[at] == 0x21 {
		if at+6 < len(data) && data[at+1] == 0xF9 && data[at+3]&1 == 1 { // graphic control: what is see-through
			through = int(data[at+6])
		}
		at = gifBlocks(data, at+2)
	}
	if at+11 > len(data) || data[at] != 0x2C {
		return nil, 0
	}
	word := func(k int) int { return int(data[at+k]) | int(data[at+k+1])<<8 }
	x, y, w, h, flags := word(1), word(3), word(5), word(7), data[at+9]
	if own := table(at+10, flags); own != nil {
		colors = own
	}
	at += 10 + gifTable(flags)
	if wide, high := int(data[6])|int(data[7])<<8, int(data[8])|int(data[9])<<8; x+w > wide || y+h > high {
		return nil, 0
	}
	if flags&0x40 != 0 || w == 0 || h == 0 || colors == nil || at >= len(data) || data[at] < 2 || data[at] > 8 {
		return nil, 0
	}
	codes := lzw.NewReader(&gifStream{data: data[at+1:]}, lzw.LSB, int(data[at]))
	pix, err := io.ReadAll(io.LimitReader(codes, int64(w)*int64(h)))
	rows := len(pix) / w
	if err == nil && rows == h || half(rows, h) != nil || rows == 0 {
		return nil, 0
	}
	p := make(color.Palette, 256) // a number beyond the table is black, not a fault
	for k := range p {
		p[k] = color.RGBA{A: 255}
		if 3*k+2 < len(colors) {
			p[k] = color.RGBA{colors[3*k], colors[3*k+1], colors[3*k+2], 255}
		}
	}
	if through >= 0 {
		p[through] = color.RGBA{}
	}
	return &image.Paletted{Pix: pix[:rows*w], Stride: w, Rect: image.Rect(x, y, x+w, y+rows), Palette: p}, h
}

// gifStream is the content of a row of data blocks.
type gifStream struct{ data, block []byte }

func (g *gifStream) Read(p []byte) (int, error) {
	for len(g.block) == 0 {
		if len(g.data) == 0 || g.data[0] == 0 {
			return 0, io.EOF
		}
		n := min(int(g.data[0]), len(g.data)-1)
		g.block, g.data = g.data[1:1+n], g.data[1+n:]
	}
	n := copy(p, g.block)
	g.block = g.block[n:]
	return n, nil
}
