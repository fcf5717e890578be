package quickjpeg

import (
	"runtime"
	"sync"
)

// block is 64 coefficients, row by row, already multiplied by the table.
type block [64]int32

// stripe is a row of MCUs on its way from codes to pixels.
type stripe struct {
	y      int
	blocks []block
	last   []uint8 // the last coefficient (in zigzag order) that is not 0
}

// scan reads a scan, whose codes begin at start, and returns where the next
// segment may begin.
func (d *decoder) scan(body []byte, start int) (int, error) {
	s, err := d.readScan(body)
	if err != nil {
		return 0, err
	}
	if d.progressive {
		return d.refine(s, start)
	}
	for _, c := range s.comps {
		if c.rows > 0 {
			return 0, ErrDamaged // it has been here already
		}
		if c.pix == nil {
			c.pix = make([]byte, 64*c.wide*c.high)
		}
	}
	return d.sequential(s, start)
}

// shape is the row of MCUs of a scan: with one component an MCU is one block.
func (d *decoder) shape(s scanHead) (across, down, perMCU int) {
	if len(s.comps) == 1 {
		across, down = d.blocksOf(s.comps[0])
		return across, down, 1
	}
	across, down = d.mcus()
	for _, c := range s.comps {
		perMCU += c.h * c.v
	}
	return across, down, perMCU
}

// sequential reads all codes; helpers make pixels of each row of MCUs behind it.
func (d *decoder) sequential(s scanHead, start int) (int, error) {
	across, down, perMCU := d.shape(s)
	workers := runtime.GOMAXPROCS(0)
	free, ready := make(chan *stripe, 2*workers+2), make(chan *stripe, 2*workers+2)
	for range cap(free) {
		free <- &stripe{blocks: make([]block, perMCU*across), last: make([]uint8, perMCU*across)}
	}
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for t := range ready {
				paint(s, t, across)
				free <- t
			}
		})
	}
	r := &bitReader{data: d.data, at: start}
	err := d.rows(s, r, across, down, free, ready)
	close(ready)
	wg.Wait()
	return r.at, err
}

// rows reads the codes of all rows of MCUs.
func (d *decoder) rows(s scanHead, r *bitReader, across, down int, free, ready chan *stripe) error {
	single := len(s.comps) == 1
	left := d.restart
	for y := range down {
		if err := d.ctx.Err(); err != nil {
			return err
		}
		t := <-free
		t.y = y
		n := 0
		for range across {
			if d.restart > 0 && left == 0 {
				if !r.restart() {
					return ErrDamaged
				}
				for _, c := range s.comps {
					c.pred = 0
				}
				left = d.restart
			}
			left--
			for _, c := range s.comps {
				blocks := c.h * c.v
				if single {
					blocks = 1
				}
				for range blocks {
					last, ok := r.block(c, &t.blocks[n])
					if !ok {
						return ErrDamaged
					}
					t.last[n] = last
					n++
				}
			}
		}
		if r.overrun() {
			return ErrShort
		}
		ready <- t
		for _, c := range s.comps {
			if c.rows++; !single {
				c.rows += c.v - 1
			}
		}
	}
	return nil
}

// paint turns the blocks of a stripe into pixels and leaves them empty.
func paint(s scanHead, t *stripe, across int) {
	single := len(s.comps) == 1
	n := 0
	for x := range across {
		for _, c := range s.comps {
			h, v := c.h, c.v
			if single {
				h, v = 1, 1
			}
			for j := range v {
				for i := range h {
					to := c.pix[(t.y*v+j)*8*c.stride+(x*h+i)*8:]
					b := &t.blocks[n]
					if t.last[n] == 0 {
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
