// Package quickjpeg decodes JPEGs on several cores: one reads the Huffman
// codes, the others turn coefficients into pixels. Begin with [ReadHead], then
// [Decode].
//
// It takes all files with 8 bits and Huffman codes (ITU-T T.81, SOF0, 8-bit
// SOF1, SOF2): gray, luma with two color differences, red, green and blue, or
// four inks, in any sampling, in one scan or many. Of a file that breaks off it
// gives what is there and says how far that goes. Its numbers are those of
// libjpeg's accurate integer method.
package quickjpeg

import (
	"context"
	"encoding/binary"
	"errors"
)

// ErrKind is an error about a sound file of a kind that is not read; its text
// ends a sentence that begins with the name of the format.
type ErrKind string

func (e ErrKind) Error() string { return string(e) }

var (
	// ErrDamaged is the answer to a file that makes no sense.
	ErrDamaged = errors.New("quickjpeg: damaged")
	// ErrShort is the answer to a file that ends before anything can be shown.
	ErrShort = errors.New("quickjpeg: the file ends too early")
)

// component is one of the planes of a picture.
type component struct {
	id, h, v   int // sampling factors
	table      int // of the four quantization tables
	quant      *[64]int32
	dc, ac     *huffman
	pred       int32
	pix        []byte
	stride     int
	wide, high int     // blocks in a row and in a column, with those that hang over the edges
	coefs      []int16 // of a progressive picture: 64 for each block, row by row
	rows       int     // rows of blocks that have come, 0 to high
	fine       int     // rows of blocks of which more than the mean has come
	bits       [64]int8
}

type decoder struct {
	ctx     context.Context
	data    []byte
	quants  [4]*[64]int32 // in zigzag order
	dcs     [4]*huffman
	acs     [4]*huffman
	w, h    int
	hmax    int
	vmax    int
	comps   []component
	restart int // MCUs between restart markers; 0 = none
	jfif    bool
	adobe   int // the transform that Adobe's marker names, or -1

	progressive bool
	broken      bool // the data ended, or made no sense from somewhere on
}

// Head is what a file says before its picture.
type Head struct {
	Width, Height int
	Components    int // 1, 3 or 4
	Progressive   bool
	// Memory is how many bytes Decode makes room for.
	Memory int64
}

// ReadHead reads on to the size of the picture and makes room for nothing.
func ReadHead(data []byte) (Head, error) {
	for at := 2; ; {
		kind, body, next, err := segment(data, at)
		if err != nil {
			return Head{}, err
		}
		if kind == 0xDA || kind == 0xD9 {
			return Head{}, ErrDamaged
		}
		if isFrame(kind) {
			d := &decoder{}
			if err := d.readFrame(kind, body); err != nil {
				return Head{}, err
			}
			head := Head{Width: d.w, Height: d.h, Components: len(d.comps), Progressive: d.progressive}
			for _, c := range d.comps {
				plane := 64 * int64(c.wide) * int64(c.high)
				if head.Memory += plane; d.progressive {
					head.Memory += 2 * plane
				}
			}
			return head, nil
		}
		at = next
	}
}

// isFrame tells the markers SOF0 to SOF15, which share their numbers with DHT,
// JPG and DAC (T.81, table B.1).
func isFrame(kind byte) bool {
	return kind >= 0xC0 && kind <= 0xCF && kind != 0xC4 && kind != 0xC8 && kind != 0xCC
}

// segment finds the next marker at or behind a place, with its body and the
// place behind it. What lies between segments is passed over, as are restart
// markers that lost their scan; EOI has no body.
func segment(data []byte, at int) (kind byte, body []byte, next int, err error) {
	if len(data) < 4 || data[0] != 0xFF || data[1] != 0xD8 {
		return 0, nil, 0, ErrDamaged
	}
	for ; at+2 <= len(data); at++ {
		if data[at] != 0xFF {
			continue
		}
		switch kind = data[at+1]; {
		case kind == 0xFF: // filling
			continue
		case kind <= 0x01, kind >= 0xD0 && kind <= 0xD8:
			at++
			continue
		case kind == 0xD9:
			return kind, nil, at + 2, nil
		}
		if at+4 > len(data) {
			break
		}
		end := at + 2 + int(binary.BigEndian.Uint16(data[at+2:]))
		if end < at+4 {
			return 0, nil, 0, ErrDamaged
		}
		if end > len(data) {
			break
		}
		return kind, data[at+4 : end], end, nil
	}
	return 0, nil, 0, ErrShort
}

// Decode decodes a file of which ReadHead was asked before whether it fits.
func Decode(ctx context.Context, data []byte) (*Picture, error) {
	d := &decoder{ctx: ctx, data: data, adobe: -1}
	if err := d.segments(); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return d.picture()
}

// segments reads one segment after the other, and the scans between them.
// Where the data break off behind the first scan, it answers with what it has.
func (d *decoder) segments() error {
	for at := 2; ; {
		kind, body, next, err := segment(d.data, at)
		if err == nil {
			switch {
			case kind == 0xD9:
				return nil
			case kind == 0xDB:
				err = d.readQuants(body)
			case kind == 0xC4:
				err = d.readHuffman(body)
			case kind == 0xDD && len(body) >= 2:
				d.restart = int(binary.BigEndian.Uint16(body))
			case isFrame(kind):
				if err = d.readFrame(kind, body); err == nil && d.progressive && !d.worthwhile(next) {
					return ErrShort
				}
			case kind == 0xDA:
				next, err = d.scan(body, next)
			case kind == 0xE0 && len(body) >= 5 && string(body[:5]) == "JFIF\x00":
				d.jfif = true
			case kind == 0xEE && len(body) >= 12 && string(body[:5]) == "Adobe":
				d.adobe = int(body[11])
			case kind == 0xDC: // the number of lines, known by now
			}
		}
		if err != nil {
			if !d.begun() || d.ctx.Err() != nil {
				return errors.Join(err, d.ctx.Err())
			}
			d.broken = true
			return nil
		}
		if !d.progressive && d.whole() {
			return nil
		}
		at = next
	}
}

// begun tells whether anything of every component has come.
func (d *decoder) begun() bool {
	for i := range d.comps {
		if d.comps[i].rows == 0 {
			return false
		}
	}
	return len(d.comps) > 0
}

// whole tells whether every component has come to its end, and every bit of it.
func (d *decoder) whole() bool {
	for i := range d.comps {
		c := &d.comps[i]
		if c.rows < d.rowsOf(c) {
			return false
		}
		for _, low := range c.bits {
			if d.progressive && low != 0 {
				return false
			}
		}
	}
	return len(d.comps) > 0
}

// worthwhile looks ahead in a progressive file from a place: without its end
// and without anything of luma but the mean of blocks it shows nothing.
func (d *decoder) worthwhile(at int) bool {
	for {
		kind, body, next, err := segment(d.data, at)
		if err != nil {
			return false
		}
		if kind == 0xD9 {
			return true
		}
		if kind == 0xDA && len(body) == 6 && int(body[1]) == d.comps[0].id && body[3] > 0 {
			return true
		}
		at = next
	}
}

// mcus returns how many groups of blocks there are in a row and in a column.
func (d *decoder) mcus() (across, down int) {
	w, h := 8*d.hmax, 8*d.vmax
	return (d.w + w - 1) / w, (d.h + h - 1) / h
}

// blocksOf returns how many blocks of a component show anything: those that a
// scan of this component alone holds (T.81, A.2.2 and A.1.1).
func (d *decoder) blocksOf(c *component) (across, down int) {
	across = ((d.w*c.h+d.hmax-1)/d.hmax + 7) / 8
	down = ((d.h*c.v+d.vmax-1)/d.vmax + 7) / 8
	return across, down
}

func (d *decoder) rowsOf(c *component) int {
	_, down := d.blocksOf(c)
	return down
}
