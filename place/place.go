// Package place lays chosen colors into the cells of a picture: near the
// target drill by drill, close to it from across the room, and calm.
//
// Begin with [Place]. The package sees only numbers: a grid of target colors
// and the colors to lay; it answers with indices. How the colors were chosen
// does not matter to it.
//
// What it lowers is one sum of whole numbers, the energy: the miss of each
// drill seen near; the miss seen from afar through the eye's blur, squared where
// it is small; neighbors of unlike color, by the length and the height of the
// border between them; drills without a like neighbor; and thin straight lines.
// A soft ground between two colors is then mixed of both in pairs and short
// runs, an edge stays an edge, and few drills stand alone. On smooth light
// ground, a sky or a white wall, and in a small spot of a hue of its own, such as
// a green eye, colors that look unlike are mixed only where one goes over into the
// other.
package place

import (
	"context"
	"math"

	"kitwright/internal/say"
	"kitwright/lab"
)

// Options says how colors are laid into cells.
type Options struct {
	// Calm runs from the picture that is closest from afar, at 0, to areas as
	// plain as they get with hardly a lone drill, at 1.
	Calm float64

	// PerDegree is how many cells make up one degree of the eye's view from
	// where the picture is looked at (lab.CellsPerDegree); 0 stands for drills
	// of 2.5 mm from two meters.
	PerDegree float64

	Weight []uint16 // how much a miss seen near counts in each cell, relative to the mean; nil: all alike
	Fixed  []int32  // a color's index for cells that are settled, -1 for free ones; nil: all free
	Supply *Supply  // how many cells each color may take; nil: any number
	Scene  *Scene   // what other layings of the picture may have made ready; nil: it is made

	force *strengths // in place of what Calm makes of them
}

// strengths weigh the parts of the energy, all against CIEDE2000 of the cells.
type strengths struct {
	blend  float64 // of the squared difference from afar
	bend   float64 // difference from afar up to which its square counts; 0: all the way
	smooth float64 // of a border one cell long between mildly unlike colors
	lone   float64 // of a drill without a like neighbor
	worm   float64 // of a drill amid a line one drill wide
	merge  float64 // by how much more than the nearest any color may miss
	alike  float64 // how far colors may differ that are mixed freely where a cell keeps to its like; 0: as far as they like
}

// strengths of a calm: from the far optimum over the default at .5 to plain
// areas. Chosen by figures and by eye on photos with soft grounds: see
// docs/measured.md.
func (o Options) strengths() strengths {
	if o.force != nil {
		return *o.force
	}
	c := math.Max(0, math.Min(1, o.Calm))
	if c != c {
		c = 0.5
	}
	first, then := math.Min(2*c, 1), math.Max(0, 2*c-1) // up to the middle, and on to 1
	return strengths{
		blend:  20 - float64(18.2*then*(2-then)),
		bend:   0.7,
		smooth: 1 + first + float64(2.5*then),
		lone:   72 + float64(45*first) + float64(13*then*then),
		worm:   3 + float64(2*then),
		merge:  3 + float64(9*then),
		alike:  28 - float64(23*first),
	}
}

const (
	unit   = 4096 // costs a unit of CIEDE2000
	early  = 3    // passes of the descent with lone drills and lines at a quarter of their price, so that mixtures find their place
	passes = 10   // passes in all, at most
)

// Place lays colors into the cells of g. It begins with the nearest color of
// each cell and changes single cells, or two neighbors at once, as long as the
// energy falls. The result is the same for any number of processors. When ctx
// ends, Place returns what it has and the context's error.
func Place(ctx context.Context, g *lab.Grid, colors []lab.Color, opt Options) ([]uint16, error) {
	if opt.Supply != nil {
		return placeSupplied(ctx, g, colors, opt)
	}
	l := newLayer(g, colors, opt)
	l.descend(ctx, func(pass int) { say.Step(ctx, "placing colors", pass, passes) })
	return l.cells(), ctx.Err()
}

// descend lowers the energy, telling each pass, until nothing changes, it has
// been tried often enough, or ctx ends.
func (l *layer) descend(ctx context.Context, tell func(pass int)) {
	for pass := range passes {
		if ctx.Err() != nil {
			break
		}
		tell(pass)
		l.price(pass < early)
		if !l.pass(pass) && pass >= early {
			break
		}
	}
	tell(passes)
}

// price sets what lone drills and lines cost: less at first.
func (l *layer) price(early bool) {
	if lone, worm := l.prices(early); lone != l.lone || worm != l.worm {
		l.lone, l.worm = lone, worm
		l.wakeAll()
	}
}

func (l *layer) prices(early bool) (lone, worm int64) {
	share := 1.0
	if early {
		share = 0.25
	}
	return whole(share * l.with.lone), whole(share * l.with.worm)
}

func whole(v float64) int64 { return int64(math.Round(v * unit)) }

// cells returns the color of each cell.
func (l *layer) cells() []uint16 {
	out := make([]uint16, l.cols*l.rows)
	for y := range l.rows {
		copy(out[y*l.cols:(y+1)*l.cols], l.at[l.place(0, y):])
	}
	return out
}
