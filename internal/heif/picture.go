package heif

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// readPicture finds out all about the primary item.
func (f *File) readPicture() error {
	it := f.items[f.primary]
	if it == nil {
		return errBox
	}
	f.readColors(it)
	f.readTurn(it)
	for range 8 { // an item may stand for another one
		if it.kind != "iden" {
			break
		}
		refs := it.refs["dimg"]
		if len(refs) != 1 || f.items[refs[0]] == nil {
			return errBox
		}
		it = f.items[refs[0]]
		f.readColors(it)
	}
	f.primary = it.id

	tiles := []*item{it}
	switch it.kind {
	case "hvc1", "av01":
		f.Width, f.Height = it.size()
	case "grid":
		g, err := f.grid(it)
		if err != nil {
			return err
		}
		f.Width, f.Height, tiles = g.w, g.h, g.tiles
		f.readColors(tiles[0])
	case "iovl":
		return ErrKind("is put together from layers")
	case "locked":
		return ErrKind("is locked with a password")
	default:
		return ErrKind(fmt.Sprintf("holds a picture coded in a rare way (%q)", it.kind))
	}
	if err := f.checkTiles(it, tiles); err != nil {
		return err
	}
	f.readCrop(f.items[f.primary])
	return f.findAlpha()
}

// findAlpha looks for a picture that is the opacity of the primary one (ISO/IEC
// 23008-12, 6.6.2.1; auxC names its meaning), and whether the colors were
// multiplied by it (the reference "prem").
func (f *File) findAlpha() error {
	for id := range uint32(maxItems) {
		it := f.items[id]
		if it == nil || it.kind != "hvc1" && it.kind != "av01" && it.kind != "grid" {
			continue
		}
		of := it.refs["auxl"]
		if len(of) == 0 || of[0] != f.primary {
			continue
		}
		meaning := string(it.prop("auxC"))
		if !strings.Contains(meaning, "auxid:1\x00") && !strings.Contains(meaning, "auxiliary:alpha") {
			continue
		}
		tiles := []*item{it}
		if it.kind == "grid" {
			g, err := f.grid(it)
			if err != nil {
				return err
			}
			tiles = g.tiles
		}
		for _, t := range tiles {
			if _, err := f.bytes(t); err != nil {
				return err
			}
		}
		f.alpha = it
		f.premultiplied = slices.Contains(f.items[f.primary].refs["prem"], it.id)
		return nil
	}
	return nil
}

// checkTiles compares the sizes that the container claims with those in the
// coded pictures: the latter are what a decoder makes room for.
func (f *File) checkTiles(it *item, tiles []*item) error {
	for i, t := range tiles {
		if t.kind != tiles[0].kind {
			return errBox
		}
		w, h := t.size()
		data, err := f.bytes(t)
		if errors.Is(err, ErrShort) && i > 0 {
			f.there = i // the file breaks off: what is in front of it can be shown
			break
		}
		if err != nil {
			return err
		}
		switch t.kind {
		case "hvc1":
			f.Format = "HEIC"
			s, ok := readHvcC(t.prop("hvcC"))
			if !ok {
				return errBox
			}
			if it.kind == "hvc1" {
				f.Width, f.Height = s.w, s.h
			} else if w != 0 && (s.w != w || s.h != h) {
				return errBox
			}
			f.Deep, f.Gray = s.depth > 8, s.gray
			// Where neither container nor picture says so, the range is limited
			// (ITU-T H.265, E.2.1, and E.3.1: video_full_range_flag is inferred
			// to be 0) and the matrix unknown.
			said := codes{primary: 2, transfer: 2, matrix: 2}
			if s.signal {
				said = codes{s.primary, s.transfer, s.matrix, s.full}
			}
			f.take(said)
		case "av01":
			f.Format = "AVIF"
			s, ok := readAV1(data)
			if !ok || s.w > w || s.h > h {
				return errBox
			}
			f.Deep, f.Gray = s.depth > 8, s.gray
			f.take(s.colors)
		default:
			return ErrKind(fmt.Sprintf("holds a picture coded in a rare way (%q)", t.kind))
		}
	}
	if f.Width <= 0 || f.Height <= 0 {
		return errBox
	}
	return nil
}

// codes name a color space as ITU-T H.273 numbers it.
type codes struct {
	primary, transfer, matrix int
	full                      bool
}

// take takes what a coded picture says of its colors, where the container is
// silent.
func (f *File) take(said codes) {
	if f.told {
		return
	}
	f.told = true
	f.matrix, f.video = said.matrix, !said.full
	if f.ICC == nil && said.primary != 2 {
		f.Coded = &[2]int{said.primary, said.transfer}
	}
}

// grid is a picture of equal tiles (ISO/IEC 23008-12, 6.6.2.3).
type grid struct {
	cols, rows, w, h int
	tiles            []*item
}

func (f *File) grid(it *item) (g grid, err error) {
	data, err := f.bytes(it)
	if err != nil {
		return g, err
	}
	r := reader{data: data}
	_, flags := r.u8(), r.u8()
	g.rows, g.cols = r.u8()+1, r.u8()+1
	n := width(flags&1 != 0)
	g.w, g.h = int(r.uint(n)), int(r.uint(n))
	if r.bad || g.w == 0 || g.h == 0 {
		return g, errBox
	}
	for _, id := range it.refs["dimg"] {
		if t := f.items[id]; t != nil {
			g.tiles = append(g.tiles, t)
		}
	}
	if len(g.tiles) != g.cols*g.rows {
		return g, errBox
	}
	return g, nil
}

// readColors takes colr boxes: one may hold a profile and another the codes
// (ISO/IEC 14496-12, 12.1.5). What is known already stays.
func (f *File) readColors(it *item) {
	for _, p := range it.props {
		if p.kind != "colr" || len(p.body) < 4 {
			continue
		}
		r := reader{data: p.body[4:]}
		switch string(p.body[:4]) {
		case "prof", "rICC":
			if f.ICC == nil {
				f.ICC = r.data
			}
		case "nclx":
			c := [2]int{r.u16(), r.u16()}
			matrix, full := r.u16(), r.u8()&0x80 != 0
			if !r.bad && f.Coded == nil {
				f.Coded, f.matrix, f.video, f.told = &c, matrix, !full, true
			}
		}
	}
}

// readTurn joins irot and imir, in the order they stand, to one orientation.
// Exif data in the file only repeats them and is not asked (ISO/IEC 23008-12,
// 6.5.10 and 6.5.12; A.2.2.3 for Exif).
func (f *File) readTurn(it *item) {
	// Mirrored left to right or not, and then so many quarter turns clockwise.
	mirrored, quarters := 0, 0
	for _, p := range it.props {
		if len(p.body) < 1 {
			continue
		}
		v := int(p.body[0])
		switch p.kind {
		case "irot": // counted the other way
			quarters = (quarters - v&3 + 4) % 4
		case "imir": // 0 swaps top and bottom, 1 left and right
			mirrored = 1 - mirrored
			quarters = (4 - quarters) % 4
			if v&1 == 0 {
				quarters = (quarters + 2) % 4
			}
		}
	}
	f.Turn = [2][4]int{{1, 6, 3, 8}, {2, 7, 4, 5}}[mirrored][quarters]
}

// readCrop takes the clean aperture of an item (ISO/IEC 14496-12, 12.1.4):
// width, height and the distance of the middle, as fractions.
func (f *File) readCrop(it *item) {
	body := it.prop("clap")
	if len(body) < 32 {
		return
	}
	r := reader{data: body}
	var v [4]float64
	for i := range v {
		n, d := int32(r.uint(4)), int32(r.uint(4))
		if d <= 0 {
			return
		}
		v[i] = float64(n) / float64(d)
	}
	c := rect{w: int(v[0] + 0.5), h: int(v[1] + 0.5)}
	c.x = int(v[2] + float64(f.Width-c.w)/2 + 0.5)
	c.y = int(v[3] + float64(f.Height-c.h)/2 + 0.5)
	if c.w > 0 && c.h > 0 && c.x >= 0 && c.y >= 0 && c.x+c.w <= f.Width && c.y+c.h <= f.Height {
		f.crop = &c
	}
}
