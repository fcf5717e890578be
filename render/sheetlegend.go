package render

import (
	"kitwright/internal/say"
	"kitwright/render/letters"
	"kitwright/render/pdf"
)

// legendForms returns the legends that a page may have, from 9 points with
// names to 7 without, packed. Columns are as wide as all colors need, so they are
// the same on every page of a form.
func (s *sheets) legendForms() []*legend {
	laid := func(size, widest float64) *legend {
		l := newLegend(s.kit, s.skin, allEntries(s.kit), nil, size, widest)
		l.gap, l.apart, l.tick = 0.21*size, 5, 3.6
		return l
	}
	var out []*legend
	for _, size := range []float64{9, 8.25, 7.5} {
		widest := 3.5 * size
		l := laid(size, widest)
		if over := l.width() - (s.w - 2*s.margin); over > 0 { // narrow paper
			if l = laid(size, widest-over); over > widest/2 || l.width() > s.w-2*s.margin {
				continue
			}
		}
		blocks := s.blocksOf(l)
		// Names grow into what their blocks leave free.
		if free := s.w - 2*s.margin - 0.01 - l.widthOf(blocks); free > 0 {
			if wider := laid(size, widest+free/float64(blocks)); wider.widthOf(blocks) <= s.w-2*s.margin {
				l = wider
			}
		}
		out = append(out, l)
	}
	bare := laid(7.5, 26)
	packed := laid(small, 26)
	for _, l := range []*legend{bare, packed} {
		l.name = 0
		for i := range l.rows {
			l.rows[i].name = ""
		}
	}
	// For pages with nearly all of a hundred colors: rows that nearly touch, a
	// line under every fifth.
	packed.packed, packed.gap, packed.apart, packed.tick, packed.cell, packed.pitch = true, 0.14*small, 3.5, 3, 0.5*small, 0.56*small
	return append(out, bare, packed)
}

// blocksOf returns how many blocks of a legend stand side by side on a page.
func (s *sheets) blocksOf(l *legend) int {
	return max(1, int((s.w-2*s.margin+l.apart)/(l.width()+l.apart)))
}

// legendRoom returns the height that a page leaves for its legend.
func (s *sheets) legendRoom(cell float64, pl panel) float64 {
	_, h := s.field()
	return h - float64(pl.Rows.size())*cell - legendAbove
}

// formFor returns the roomiest legend of so many colors that has room.
func (s *sheets) formFor(colors int, room float64) *legend {
	for _, l := range s.forms {
		blocks := s.blocksOf(l)
		if l.height((colors+blocks-1)/blocks) <= room+1e-9 {
			return l
		}
	}
	return s.forms[len(s.forms)-1]
}

// legendOf returns the legend of one page, and how long its blocks are.
func (s *sheets) legendOf(form *legend, entries, counts []int) (l legend, each int) {
	l = *form
	l.rows = make([]legendRow, len(entries))
	for i, e := range entries {
		l.rows[i] = form.rows[e]
		if counts != nil {
			l.rows[i].count = say.Number(counts[i])
		}
	}
	blocks := s.blocksOf(form)
	return l, (len(entries) + blocks - 1) / blocks
}

// legendPages returns pages that hold nothing but a legend; without counts that
// of the whole chart, with what to buy.
func (s *sheets) legendPages(title string, entries, counts []int) []*pdf.Page {
	l, _ := s.legendOf(s.forms[0], entries, counts)
	if counts == nil {
		l.tellBuy(s.print.Buying(s.kit))
	}
	rows, blocks := l.fit(s.h-2*s.margin-sheetHead), s.blocksOf(&l)
	all := l.rows
	var out []*pdf.Page
	for at := 0; at < len(all); at += rows * blocks {
		pg := &pdf.Page{W: s.w, H: s.h, Label: title}
		pg.Add(pdf.Text{X: s.margin, Y: s.margin + 4.4, Size: 14, Face: letters.Bold, S: title},
			pdf.Text{X: s.margin, Y: s.margin + 9.2, Size: 8.5, Ink: dim, S: letters.Shorten(letters.Regular, 8.5, s.w-2*s.margin, titleOf(s.kit, s.print)+" · "+s.stamp)})
		l.rows = all[at:min(at+rows*blocks, len(all))]
		pg.Add(l.ops(s.margin, s.margin+sheetHead, min(rows, (len(l.rows)+blocks-1)/blocks))...)
		out = append(out, pg)
	}
	return out
}
