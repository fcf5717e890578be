// Package quickjpeg decodes the JPEGs that cameras and phones write, on several
// cores: one reads the Huffman codes, the others turn coefficients into pixels.
// Begin with [Decode].
//
// It takes files with 8 bits, gray or luma with two color differences: baseline
// of one scan, and progressive (ITU-T T.81, SOF0, 8-bit SOF1, SOF2), which is
// most of what there is. Of all else, and of anything damaged, it says
// [ErrOther]: then ask image/jpeg. Its numbers are those of libjpeg's accurate
// integer method.
package quickjpeg

import (
	"encoding/binary"
	"errors"
	"image"
	"runtime"
	"sync"
)

// ErrOther is the answer to every file that is not for this package.
var ErrOther = errors.New("quickjpeg: not a sound JPEG of a usual kind")

// component is one of the planes of a picture.
type component struct {
	id, h, v int // sampling factors
	quant    *[64]int32
	dc, ac   *huffman
	pred     int32
	pix      []byte
	stride   int
	wide     int     // blocks in a row of blocks
	coefs    []int16 // of a progressive picture: 64 for each block, row by row
}

type decoder struct {
	data    []byte
	quants  [4]*[64]int32 // in zigzag order
	dcs     [4]*huffman
	acs     [4]*huffman
	w, h    int
	comps   []component
	restart int // MCUs between restart markers; 0 = none

	progressive bool
	scanned     bool // something of a progressive picture has come
	m           image.Image
}

// Decode returns *image.YCbCr or *image.Gray. The picture must be of the size
// that the caller has made sure of before: nothing else is made room for.
func Decode(data []byte, w, h int) (image.Image, error) {
	d := &decoder{data: data}
	if err := d.segments(w, h); err != nil {
		return nil, err
	}
	return d.m, nil
}

// segments reads one segment after the other, and the scans between them.
func (d *decoder) segments(w, h int) error {
	data := d.data
	if len(data) < 4 || data[0] != 0xFF || data[1] != 0xD8 {
		return ErrOther
	}
	for at := 2; at+2 <= len(data); {
		if data[at] != 0xFF {
			return ErrOther
		}
		kind := data[at+1]
		if kind == 0xFF {
			at++
			continue
		}
		if kind == 0xD9 && d.scanned {
			d.paintAll()
			return nil
		}
		if at+4 > len(data) {
			return ErrOther
		}
		end := at + 2 + int(binary.BigEndian.Uint16(data[at+2:]))
		if end < at+4 || end > len(data) {
			return ErrOther
		}
		body := data[at+4 : end]
		ok := true
		switch {
		case kind == 0xDB:
			ok = d.readQuants(body)
		case kind == 0xC4:
			ok = d.readHuffman(body)
		case kind >= 0xC0 && kind <= 0xC2:
			d.progressive = kind == 0xC2
			if ok = d.readFrame(body) && d.w == w && d.h == h; ok {
				d.m = d.room()
			}
		case kind == 0xDD && len(body) == 2:
			d.restart = int(binary.BigEndian.Uint16(body))
		case kind == 0xDA:
			if d.progressive {
				if end, ok = d.refine(body, end); ok {
					break
				}
				return ErrOther
			}
			if !d.readScan(body) {
				return ErrOther
			}
			return d.scan(end)
		case kind == 0xEE: // Adobe: 0 would mean that it is red, green and blue
			ok = len(body) < 12 || string(body[:5]) != "Adobe" || body[11] == 1
		case kind >= 0xE0 && kind <= 0xEF || kind == 0xFE:
		default:
			ok = false
		}
		if !ok {
			return ErrOther
		}
		at = end
	}
	return ErrOther
}

// mcus returns how many groups of blocks there are in a row and in a column.
func (d *decoder) mcus() (across, down int) {
	w, h := 8*d.comps[0].h, 8*d.comps[0].v
	return (d.w + w - 1) / w, (d.h + h - 1) / h
}

// room makes the picture, with space for the blocks that hang over its edges.
func (d *decoder) room() image.Image {
	across, down := d.mcus()
	c := d.comps
	for i := range c {
		c[i].wide = c[i].h * across
		if d.progressive {
			c[i].coefs = make([]int16, 64*c[i].wide*c[i].v*down)
		}
	}
	full := image.Rect(0, 0, 8*c[0].h*across, 8*c[0].v*down)
	shown := image.Rect(0, 0, d.w, d.h)
	if len(c) == 1 {
		m := image.NewGray(full)
		c[0].pix, c[0].stride = m.Pix, m.Stride
		return m.SubImage(shown)
	}
	ratio := [3][3]image.YCbCrSubsampleRatio{
		1: {1: image.YCbCrSubsampleRatio444, 2: image.YCbCrSubsampleRatio440},
		2: {1: image.YCbCrSubsampleRatio422, 2: image.YCbCrSubsampleRatio420},
	}[c[0].h][c[0].v]
	m := image.NewYCbCr(full, ratio)
	c[0].pix, c[0].stride = m.Y, m.YStride
	c[1].pix, c[1].stride = m.Cb, m.CStride
	c[2].pix, c[2].stride = m.Cr, m.CStride
	return m.SubImage(shown)
}

// block is 64 coefficients, row by row, already multiplied by the table.
type block [64]int32

// stripe is a row of MCUs on its way from codes to pixels.
type stripe struct {
	y      int
	blocks []block
	last   []uint8 // the last coefficient (in zigzag order) that is not 0
}

// scan reads all codes; helpers make pixels of each row of MCUs behind it.
func (d *decoder) scan(start int) error {
	across, down := d.mcus()
	perMCU := 0
	for i := range d.comps {
		perMCU += d.comps[i].h * d.comps[i].v
	}
	workers := runtime.GOMAXPROCS(0)
	free, ready := make(chan *stripe, 2*workers+2), make(chan *stripe, 2*workers+2)
	for range cap(free) {
		free <- &stripe{blocks: make([]block, perMCU*across), last: make([]uint8, perMCU*across)}
	}
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for s := range ready {
				d.paint(s, across)
				free <- s
			}
		})
	}
	r := &bitReader{data: d.data, at: start}
	err := func() error {
		left := d.restart
		for y := range down {
			s := <-free
			s.y = y
			n := 0
			for range across {
				if d.restart > 0 && left == 0 {
					if !r.restart() {
						return ErrOther
					}
					for i := range d.comps {
						d.comps[i].pred = 0
					}
					left = d.restart
				}
				left--
				for i := range d.comps {
					c := &d.comps[i]
					for range c.h * c.v {
						last, ok := r.block(c, &s.blocks[n])
						if !ok {
							return ErrOther
						}
						s.last[n] = last
						n++
					}
				}
			}
			if r.overrun() {
				return ErrOther
			}
			ready <- s
		}
		return nil
	}()
	close(ready)
	wg.Wait()
	return err
}

// paint turns the blocks of a stripe into pixels and leaves them empty.
func (d *decoder) paint(s *stripe, across int) {
	n := 0
	for x := range across {
		for i := range d.comps {
			c := &d.comps[i]
			for v := range c.v {
				for h := range c.h {
					to := c.pix[(s.y*c.v+v)*8*c.stride+(x*c.h+h)*8:]
					b := &s.blocks[n]
					if s.last[n] == 0 {
						flat(b[0], to, c.stride)
						b[0] = 0
					} else {
						inverse(b, to, c.stride)
						*b = block{}
					}
					n++
				}
			}
		}
	}
}
