package heif

import (
	"errors"
	"fmt"
)

func (f *File) readMeta(body []byte) error {
	r := reader{data: body}
	r.full()
	var all []property
	var iprp, ipma []byte
	visit := func(kind string, body []byte) error {
		r := &reader{data: body}
		switch kind {
		case "pitm":
			v, _ := r.full()
			f.primary = uint32(r.uint(width(v > 0)))
		case "iinf":
			return f.readItems(r)
		case "iloc":
			return f.readPlaces(r)
		case "iref":
			return f.readRefs(r)
		case "idat":
			f.idat = body
		case "iprp":
			iprp = body
		}
		if r.bad {
			return errBox
		}
		return nil
	}
	if err := boxes(r.data, visit); err != nil {
		return err
	}
	err := boxes(iprp, func(kind string, body []byte) error {
		switch kind {
		case "ipco":
			return boxes(body, func(kind string, body []byte) error {
				all = append(all, property{kind, body})
				return nil
			})
		case "ipma":
			ipma = body
			return f.joinProps(&reader{data: ipma}, &all)
		}
		return nil
	})
	return err
}

func width(wide bool) int {
	if wide {
		return 4
	}
	return 2
}

// item returns the entry of an id, made if need be.
func (f *File) item(id uint32) (*item, error) {
	it := f.items[id]
	if it == nil {
		if len(f.items) >= maxItems {
			return nil, errBox
		}
		it = &item{id: id, refs: map[string][]uint32{}}
		f.items[id] = it
	}
	return it, nil
}

func (f *File) readItems(r *reader) error {
	v, _ := r.full()
	r.uint(width(v > 0)) // the number of entries; the boxes tell as well
	return boxes(r.data, func(kind string, body []byte) error {
		if kind != "infe" {
			return nil
		}
		r := reader{data: body}
		v, flags := r.full()
		if v < 2 {
			return nil
		}
		it, err := f.item(uint32(r.uint(width(v > 2))))
		if err != nil {
			return err
		}
		protected := r.u16()
		it.kind, it.hidden = string(r.take(4)), flags&1 != 0
		if protected != 0 {
			it.kind = "locked"
		}
		if r.bad {
			return errBox
		}
		return nil
	})
}

// readPlaces reads iloc (ISO/IEC 14496-12, 8.11.3).
func (f *File) readPlaces(r *reader) error {
	v, _ := r.full()
	sizes := r.u16()
	offset, length, base, index := sizes>>12, sizes>>8&15, sizes>>4&15, sizes&15
	if v == 0 {
		index = 0
	}
	count := int(r.uint(width(v > 1)))
	if offset > 8 || length > 8 || base > 8 || index > 8 || count > maxItems {
		return errBox
	}
	total := uint64(0)
	for range count {
		it, err := f.item(uint32(r.uint(width(v > 1))))
		if err != nil {
			return err
		}
		if v > 0 {
			it.inIdat = r.u16()&15 == 1
		}
		r.u16() // data reference
		start := r.uint(base)
		extents := r.u16()
		for range extents {
			r.uint(index)
			e := extent{at: start + r.uint(offset), n: r.uint(length)}
			if r.bad {
				return errBox
			}
			it.extents = append(it.extents, e)
			if total++; total > 8*maxItems {
				return errBox
			}
		}
	}
	if r.bad {
		return errBox
	}
	return nil
}

func (f *File) readRefs(r *reader) error {
	v, _ := r.full()
	n := width(v > 0)
	return boxes(r.data, func(kind string, body []byte) error {
		r := reader{data: body}
		it, err := f.item(uint32(r.uint(n)))
		if err != nil {
			return err
		}
		for range r.u16() {
			it.refs[kind] = append(it.refs[kind], uint32(r.uint(n)))
		}
		if r.bad {
			return errBox
		}
		return nil
	})
}

// joinProps reads ipma: which properties belong to which item, in order.
func (f *File) joinProps(r *reader, all *[]property) error {
	v, flags := r.full()
	for range int(min(r.uint(4), maxItems)) {
		it, err := f.item(uint32(r.uint(width(v > 0))))
		if err != nil {
			return err
		}
		for range r.u8() {
			i := 0
			if flags&1 != 0 {
				i = r.u16() & 0x7FFF
			} else {
				i = r.u8() & 0x7F
			}
			if i > 0 && i <= len(*all) {
				it.props = append(it.props, (*all)[i-1])
			}
		}
		if r.bad {
			return errBox
		}
	}
	return nil
}

// prop returns the first property of a kind, or nil.
func (it *item) prop(kind string) []byte {
	for _, p := range it.props {
		if p.kind == kind {
			return p.body
		}
	}
	return nil
}

// size returns the size that an item says it has (ispe).
func (it *item) size() (w, h int) {
	r := reader{data: it.prop("ispe")}
	r.full()
	w, h = int(r.uint(4)), int(r.uint(4))
	if r.bad {
		return 0, 0
	}
	return w, h
}

// bytes returns the coded data of an item.
func (f *File) bytes(it *item) ([]byte, error) {
	from := f.data
	if it.inIdat {
		from = f.idat
	}
	if it.joined != nil {
		return it.joined, nil
	}
	var out []byte
	for _, e := range it.extents {
		n := uint64(len(from))
		if e.n == 0 && e.at <= n { // to the end
			e.n = n - e.at
		}
		if e.at > n || e.n > n-e.at || uint64(len(out))+e.n > uint64(len(f.data)) {
			return nil, fmt.Errorf("heif: item %d: %w", it.id, ErrShort)
		}
		if len(it.extents) == 1 {
			return from[e.at : e.at+e.n], nil
		}
		out = append(out, from[e.at:e.at+e.n]...)
	}
	if len(out) == 0 {
		return nil, errBox
	}
	it.joined = out
	return out, nil
}

// ErrShort is an error about a file that ends before its pictures do.
var ErrShort = errors.New("heif: the file ends too early")
