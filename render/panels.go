package render

import (
	"math"

	"kitwright/internal/measure"
	"kitwright/internal/say"
	"kitwright/kit"
)

// A sheet that is wider than the shop's roll is cut into panels. Every panel
// shows a part of the very sheet, so that joined they are that sheet; cuts
// through the picture lie on grid lines, every ten if that takes no more
// panels, others run beside the picture or between columns of the legend.
// Title and legend keep to one panel.

// panels is how a canvas goes onto a roll: in one piece, or cut.
type panels struct {
	c       *canvas
	stacked bool // cut from side to side; else from top to bottom
	turned  bool // lies on the roll turned by a quarter
	pieces  []piece
}

// piece is what one panel shows of the sheet, along the direction in which the
// panels follow each other, mm.
type piece struct {
	from, to    cutPlace
	lap         float64 // printed beyond its end: what the next panel begins with
	lead, trail float64 // room before and behind it, for marks that are trimmed off
}

// cutPlace is where a sheet may be cut, mm from its edge.
type cutPlace struct {
	at   float64
	line int // of the grid; 0 beside the picture
}

// firstPanel is how far title and legend may reach; 0 is as far as the sheet.
type firstPanel struct{ across, down reach }

type reach float64

func (r reach) or(all float64) float64 {
	if r > 0 {
		return float64(r)
	}
	return all
}

// media is what a roll has room for, trimmed, mm.
type media struct {
	upright, turned float64
	turn            bool // whether a sheet may lie turned
	width           measure.Length
}

const (
	panelJoint = 17.0 // beside a cut through the picture: row numbers, notes; grows with the type
	panelAir   = 8.0  // beside a cut that goes through white, mm
	panelLines = 10   // lines of the grid from cut to cut, and from the picture's edges, at least
	rollLeast  = 100 * measure.Millimeter
)

// layCanvas decides where everything lies on the canvas, and how it goes onto
// the shop's roll, if the roll is named.
func layCanvas(k *kit.Kit, p Print) (*panels, error) {
	if !p.MediaWidth.Given {
		return &panels{c: newCanvas(k, p)}, nil
	}
	s := p.printerScale(k)
	around := 2 * p.Bleed.MM()
	if around > 0 {
		around += 2 * slug
	}
	return layOn(k, p, media{
		upright: p.MediaWidth.Length.MM()/s[0] - around, turned: p.MediaWidth.Length.MM()/s[1] - around,
		turn: true, width: p.MediaWidth.Length,
	})
}

// layOn lays a canvas on a roll.
func layOn(k *kit.Kit, p Print, m media) (*panels, error) {
	if s := panelsOn(k, p, m); s != nil {
		return s, nil
	}
	// By how much the roll is too narrow: whole centimeters.
	more, enough := 0.0, maxSide.MM()
	for enough-more > 10 {
		mid := 10 * math.Round((more+enough)/20)
		if wider := (media{upright: m.upright + mid, turned: m.turned + mid, turn: m.turn}); panelsOn(k, p, wider) != nil {
			enough = mid
		} else {
			more = mid
		}
	}
	return nil, say.Usage(say.Hint("it takes %s of paper or more across", m.width+measure.Length(enough)*measure.Millimeter),
		"{media-width} %s is narrower than the smallest panel of this canvas", m.width)
}

// panelsOn returns how a canvas goes onto a roll: in one piece if it can, else
// in as few panels as there must be; nil if the roll is too narrow.
func panelsOn(k *kit.Kit, p Print, m media) *panels {
	c := newCanvas(k, p)
	const slack = 1e-6
	switch {
	case c.sheetW <= m.upright+slack:
		return &panels{c: c}
	case m.turn && c.sheetH <= m.turned+slack:
		return &panels{c: c, turned: true}
	}
	best := panelsAcross(k, p, m.upright+slack)
	if m.turn {
		if s := panelsStacked(k, p, m.turned+slack); s != nil && (best == nil || len(s.pieces) < len(best.pieces)) {
			best = s
		}
	}
	return best
}

// panelsAcross cuts a sheet from top to bottom.
func panelsAcross(k *kit.Kit, p Print, room float64) *panels {
	s := &panels{c: newCanvasIn(k, p, firstPanel{across: reach(maxSide.MM())})}
	if s.pieces = s.divide(room); s.pieces == nil {
		return nil
	}
	// How wide title and lower legend are moves nothing from side to side.
	s.c = newCanvasIn(k, p, firstPanel{across: reach(s.pieces[0].to.at - 4)})
	return s
}

// panelsStacked cuts a sheet from side to side; its panels lie on the roll
// turned. The legend beside the picture gets as many columns as it takes to end
// with the first panel.
func panelsStacked(k *kit.Kit, p Print, room float64) *panels {
	high := k.Height().MM() + 2*p.Wrap.MM()
	for range 6 {
		s := &panels{c: newCanvasIn(k, p, firstPanel{down: reach(high)}), stacked: true, turned: true}
		if s.pieces = s.divide(room); s.pieces == nil {
			return nil
		}
		end := s.pieces[0].to.at - 3
		if s.c.besideEnd() <= end {
			return s
		}
		if high = min(high-1, end-(s.c.y-s.c.wrap)); high < leastInner+30 {
			return nil
		}
	}
	return nil
}

// besideEnd is where what stands beside the picture ends, mm from the top.
func (c *canvas) besideEnd() float64 {
	if c.beside == nil {
		return 0
	}
	end := c.y - c.wrap + c.besideHead() + c.beside.height(c.rowsB) + c.noteHeight(c.beside.widthOf(c.columns))
	if c.thumb.w > 0 {
		end = max(end, c.y+c.thumb.y+c.thumb.h+6*c.f)
	}
	return end
}

// lines is how many drills the picture has in the direction of the panels, and
// where it begins, mm.
func (s *panels) lines() (n int, from float64) {
	if s.stacked {
		return s.c.kit.Chart.Rows, s.c.y
	}
	return s.c.kit.Chart.Cols, s.c.x
}

// length is the sheet's side in the direction of the panels, mm.
func (s *panels) length() float64 {
	if s.stacked {
		return s.c.sheetH
	}
	return s.c.sheetW
}

// places returns where the sheet may be cut, in order, with its two ends.
func (s *panels) places() []cutPlace {
	c := s.c
	n, at := s.lines()
	all := []cutPlace{{}}
	for line := panelLines; line <= n-panelLines; line++ {
		all = append(all, cutPlace{at + float64(line)*c.kit.Pitch.MM(), line})
	}
	beside := func(at float64) { all = append(all, cutPlace{at: at}) }
	switch {
	case s.stacked && c.below != nil:
		beside(c.y + c.h + c.wrap + (belowOff-0.4)*c.f)
	case !s.stacked && c.beside != nil:
		beside(c.legendX - 2*c.f)
		for i := 1; i < c.columns; i++ {
			beside(c.legendX + c.beside.widthOf(i) + c.beside.apart/2)
		}
		if c.thumb.x > c.legendX+c.beside.widthOf(c.columns) {
			beside(c.thumb.x - c.beside.apart/2)
		}
	}
	return append(all, cutPlace{at: s.length()})
}

// lap returns how far a panel that ends at a place is printed beyond it.
func (s *panels) lap(at cutPlace) float64 {
	if at.line == 0 {
		return 0
	}
	n, _ := s.lines()
	pitch := s.c.kit.Pitch
	drills := int((s.c.print.PanelOverlap + pitch - 1) / pitch)
	return float64(min(drills, n-at.line)) * pitch.MM()
}

// beyond returns the room that a panel needs beside a cut.
func (s *panels) beyond(at cutPlace) float64 {
	switch {
	case at.line > 0:
		return panelJoint * s.c.f
	case at.at == 0 || at.at == s.length():
		return 0
	}
	return panelAir
}

// divide cuts the sheet into as few panels as have room; of those ways the one
// with the most cuts on tens, and of those the most even one. It is nil if
// there is none.
func (s *panels) divide(room float64) []piece {
	type way struct {
		panels, offTens int
		uneven          int64 // sum of squares, mm²
		before          int
	}
	all := s.places()
	ways := make([]way, len(all))
	between := func(i, j int) piece {
		p := piece{from: all[i], to: all[j]}
		p.lap, p.lead, p.trail = s.lap(all[j]), s.beyond(all[i]), s.beyond(all[j])
		return p
	}
	for j := 1; j < len(all); j++ {
		for i := j - 1; i >= 0; i-- {
			p := between(i, j)
			if p.wide() > room {
				if all[i].line > 0 {
					break
				}
				continue
			}
			if i > 0 && ways[i].panels == 0 || all[i].line > 0 && all[j].line > 0 && all[j].line-all[i].line < panelLines {
				continue
			}
			mm := int64(math.Round(p.to.at - p.from.at))
			w := way{ways[i].panels + 1, ways[i].offTens, ways[i].uneven + mm*mm, i}
			if all[j].line%10 != 0 {
				w.offTens++
			}
			b := ways[j]
			if b.panels == 0 || w.panels < b.panels || w.panels == b.panels && (w.offTens < b.offTens || w.offTens == b.offTens && w.uneven < b.uneven) {
				ways[j] = w
			}
		}
	}
	at := len(all) - 1
	if ways[at].panels == 0 {
		return nil
	}
	out := make([]piece, ways[at].panels)
	for i := len(out) - 1; i >= 0; i-- {
		out[i] = between(ways[at].before, at)
		at = ways[at].before
	}
	return out
}

// wide is the side of a panel in the direction of the panels, mm.
func (p piece) wide() float64 { return p.lead + p.to.at - p.from.at + p.lap + p.trail }
