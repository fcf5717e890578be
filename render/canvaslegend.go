package render

import (
	"math"

	"kitwright/internal/say"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// layBeside lays out the legend beside the picture: in the largest type, up to
// 12 points and more on large sheets, that takes no more columns than 9 points
// would and leaves the finished picture its room below, if 9 points do.
func (c *canvas) layBeside(blockH float64) {
	room := max(blockH, leastInner+30)
	note := 2.0 // lines at most: a narrow legend must not take more columns than a wide one
	if c.kit.Card.Builtin {
		note = 4
	}
	lay := func(size float64) {
		c.beside = newLegend(c.kit, c.skin, allEntries(c.kit), nil, size, 4.7*size)
		c.columns, c.rowsB = c.beside.blocks(c.beside.fit(room - c.besideHead() - (3+3.8*note)*c.f))
	}
	lay(9)
	fewest, size := c.columns, 12*c.f
	if fewest > 1 {
		size = 10.5 * c.f // wide enough as it is
	}
	under := c.thumbBelow(blockH).w > 0
	for lay(size); c.columns > fewest || under && size > 9 && c.thumbBelow(blockH).w == 0; lay(size) {
		size -= 0.5
	}
}

// layBelow lays out the legend below the picture and returns the room it takes.
func (c *canvas) layBelow() (bottom float64) {
	size := 9 * c.f
	c.below = newLegend(c.kit, c.skin, allEntries(c.kit), nil, size, 4.7*size)
	sheetW := c.first.across.or(c.sheetW)
	room := sheetW - 2*c.margin
	if c.beside == nil && room > c.below.width()+c.below.apart+thumbLeast {
		c.thumb.w = min(thumbMost*c.f, room-c.below.width()-c.below.apart)
		room -= thumbLeast + c.below.apart
	}
	if over := c.below.width() - room; over > 0 {
		c.below = newLegend(c.kit, c.skin, allEntries(c.kit), nil, size, max(10, 4.7*size-over))
	}
	blocks := max(1, int((room+c.below.apart)/(c.below.width()+c.below.apart)))
	c.rowsU = (len(c.below.rows) + blocks - 1) / blocks
	high := c.besideHead() + c.below.height(c.rowsU) + c.noteHeight(sheetW-2*c.margin)
	if c.thumb.w > 0 { // beside the legend below
		blocks = (len(c.below.rows) + c.rowsU - 1) / c.rowsU
		c.thumb.x = c.margin + c.below.widthOf(blocks) + c.below.apart
		c.thumb.w = min(thumbMost*c.f, sheetW-c.margin-c.thumb.x)
		c.thumb.h = max(high-4*c.f, thumbLeast)
		c.thumb.fit(c)
		high = max(high, c.thumb.h+6*c.f)
		c.thumb.y = c.h + c.wrap + belowOff*c.f
	}
	return belowOff*c.f + high + safe
}

// thumbnailPlace is where the finished picture is shown in small, mm.
type thumbnailPlace struct {
	x, w, h float64
	y       float64 // from the picture's upper edge
}

// Sides of the picture in small, mm; the larger one grows with the sheet.
const (
	thumbLeast = 45.0
	thumbMost  = 125.0
)

// fit makes the place as large as the picture in it.
func (t *thumbnailPlace) fit(c *canvas) {
	s := min(t.w/c.w, t.h/c.h)
	t.w, t.h = s*c.w, s*c.h
}

// thumbBelow returns the place for the picture in small below the legend that
// stands beside the picture; none if there is no room.
func (c *canvas) thumbBelow(blockH float64) thumbnailPlace {
	wide := c.beside.widthOf(c.columns)
	top := c.besideHead() + c.beside.height(c.rowsB) + c.noteHeight(wide) + 10*c.f
	t := thumbnailPlace{y: top - c.wrap, w: min(wide, thumbMost*c.f), h: min(thumbMost*c.f, blockH-top-6*c.f)}
	if t.h <= 0 {
		return thumbnailPlace{}
	}
	if t.fit(c); max(t.w, t.h) < thumbLeast || min(t.w, t.h) < thumbLeast/3 {
		return thumbnailPlace{}
	}
	return t
}

// placeThumb finds room for the picture in small: below the legend that stands
// beside the picture, or else behind its columns. It returns where the place
// ends on the right.
func (c *canvas) placeThumb(blockH float64) float64 {
	if c.thumb = c.thumbBelow(blockH); c.thumb.w > 0 {
		c.thumb.x = c.legendX
	} else {
		const most = 1.6 * thumbLeast
		c.thumb = thumbnailPlace{x: c.legendX + c.beside.widthOf(c.columns) + c.beside.apart, y: c.besideHead() - c.wrap, w: most * c.f, h: max(thumbLeast/3, min(most*c.f, blockH-c.besideHead()))}
		c.thumb.fit(c)
	}
	return c.thumb.x + c.thumb.w
}

func (c *canvas) legends() []pdf.Op {
	var ops []pdf.Op
	if l := c.beside; l != nil {
		y := c.y - c.wrap
		ops = append(ops, c.legendOps(l, c.legendX, y, c.rowsB, l.widthOf(c.columns))...)
		if c.left {
			ops = append(ops, c.legendOps(l, safe, y, c.rowsB, l.widthOf(c.columns))...)
		}
	}
	if l := c.below; l != nil {
		room := c.first.across.or(c.sheetW) - 2*c.margin
		y := c.y + c.h + c.wrap + belowOff*c.f
		if c.beside != nil {
			y = max(y, c.sheetH-safe-c.noteHeight(room)-l.height(c.rowsU)-c.besideHead())
		}
		ops = append(ops, c.legendOps(l, c.margin, y, c.rowsU, room)...)
	}
	return ops
}

// finished shows the picture as it will be, in small.
func (c *canvas) finished() []pdf.Op {
	p := c.thumb
	if p.w <= 0 {
		return nil
	}
	t := thumbnail(c.kit.Chart, int(math.Round(240*c.f)))
	cell := min(p.w/float64(t.Cols), p.h/float64(t.Rows))
	e := gray
	y := c.y + p.y
	return []pdf.Op{
		pdf.Area{X: p.x, Y: y, Pitch: cell, Lattice: t},
		pdf.Rect{X: p.x, Y: y, W: cell * float64(t.Cols), H: cell * float64(t.Rows), Edge: &e, Line: 0.18},
		pdf.Text{X: p.x, Y: y + cell*float64(t.Rows) + 4.2*c.f, Size: 8 * c.f, Ink: dim, S: "The finished picture."},
	}
}

func (c *canvas) legendOps(l *legend, x, y float64, rows int, width float64) []pdf.Op {
	ops := []pdf.Op{pdf.Text{X: x, Y: y + letters.CapHeight*big*c.f*letters.PointMM, Size: big * c.f, Face: letters.Bold, S: say.Count(len(l.rows), "color")}}
	y += c.besideHead()
	ops = append(ops, l.ops(x, y, rows)...)
	y += l.height(rows) + 3*c.f
	ops, _ = paragraph(ops, x, y+2*c.f, letters.Regular, 8*c.f, 3.8*c.f, dim, c.note(width))
	return ops
}
