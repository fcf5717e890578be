package place

import (
	"context"
	"slices"

	"kitwright/lab"
)

// Exchanges says which colors may be exchanged for which.
type Exchanges struct {
	From []lab.Color // all colors there are; those chosen are indices of it
	Out  []int       // which of From may not come in
	Stay []int       // which of those chosen may not leave, beside those of settled cells

	// Price is what an exchange has to save beside what any has to, as a share of
	// the energy; ok tells whether it may be tried at all. Nil: all may be, for
	// nothing.
	Price func(now []int) (share float64, ok bool)
}

const (
	looked   = 40960 // cells at most that exchanges are tried on
	tileSide = 32
	rounds   = 4     // exchanges at most
	trials   = 6     // exchanges laid in each round, of those that promise most and have no price
	dear     = 3     // and of those that have one
	asked    = 32    // of which as many are asked about
	worth    = 0.002 // of the energy: what an exchange has to save
)

// Exchange swaps one of the chosen colors for another as long as the laid
// picture's energy falls: colors that are best drill by drill may leave one soft
// ground split between two hues where one more shade would do. It returns the
// colors then chosen, in ascending order if any is another, and the cells that
// Place lays of them; no cells where they were not laid. On a large picture it
// is tried on tiles spread over it. When ctx ends, it returns the colors as they
// were and the context's error.
//
// An exchange is tried on the picture as it lies: only what it touches is laid
// anew. What comes of all of them is laid from the beginning once and taken if
// that has less energy than there was.
func Exchange(ctx context.Context, g *lab.Grid, chosen []int, opt Options, ex Exchanges) ([]int, []uint16, error) {
	for i, c := range opt.Fixed {
		if c >= 0 && (i == 0 || c != opt.Fixed[i-1]) && !slices.Contains(ex.Stay, chosen[c]) {
			ex.Stay = append(slices.Clip(ex.Stay), chosen[c])
		}
	}
	part, partly := sampleOf(g, opt)
	l, before := laid(ctx, part, colorsOf(ex.From, chosen), partly)
	if ctx.Err() != nil {
		return chosen, nil, ctx.Err()
	}
	cells := l.cells()
	best := exchanges(ctx, l, chosen, ex)
	if ctx.Err() != nil {
		return chosen, nil, ctx.Err()
	}
	if slices.Equal(best, chosen) {
		if part != g {
			cells = nil
		}
		return chosen, cells, nil
	}
	if part != g { // what holds for the tiles need not for the whole
		l, before = laid(ctx, g, colorsOf(ex.From, chosen), opt)
		cells = l.cells()
	}
	slices.Sort(best)
	then := opt
	then.Fixed = moved(opt.Fixed, chosen, best)
	l, after := laid(ctx, g, colorsOf(ex.From, best), then)
	switch {
	case ctx.Err() != nil:
		return chosen, nil, ctx.Err()
	case after >= before:
		return chosen, cells, nil
	}
	return best, l.cells(), nil
}

func colorsOf(from []lab.Color, chosen []int) []lab.Color {
	colors := make([]lab.Color, len(chosen))
	for i, j := range chosen {
		colors[i] = from[j]
	}
	return colors
}

// moved gives settled cells their colors by other places.
func moved(fixed []int32, was, is []int) []int32 {
	if fixed == nil {
		return nil
	}
	at := make([]int32, len(was))
	for i, j := range was {
		at[i] = int32(slices.Index(is, j))
	}
	out := slices.Clone(fixed)
	for i, c := range out {
		if c >= 0 {
			out[i] = at[c]
		}
	}
	return out
}

// laid lays colors as Place does, and returns the energy, too.
func laid(ctx context.Context, g *lab.Grid, colors []lab.Color, opt Options) (*layer, int64) {
	l := newLayer(g, colors, opt)
	l.descend(ctx, func(int) {})
	l.price(false)
	return l, l.energy()
}

// exchanges tries them on a laid picture.
func exchanges(ctx context.Context, l *layer, chosen []int, ex Exchanges) []int {
	best := slices.Clone(chosen)
	if l.with.bend > 0 {
		l.reweigh(1) // for what is laid: exchanges will only change a part of it
	}
	l.settle(trialFull)
	least := l.energy()
	p := newPromises(ex.From, l.cols*l.rows)
	for range rounds {
		found, left := false, map[bool]int{false: trials, true: dear}
		for _, swap := range p.ranked(l, best, ex) {
			next := slices.Clone(best)
			next[swap.out] = swap.in
			if ctx.Err() != nil {
				return best
			}
			price := 0.0
			if ex.Price != nil {
				var ok bool
				if price, ok = ex.Price(next); !ok {
					continue
				}
			}
			if left[price > 0] == 0 {
				continue
			}
			left[price > 0]--
			trial := l.instead(swap.out, ex.From[swap.in])
			if energy := trial.energy(); float64(energy) < float64((1-worth-price)*float64(least)) {
				found, l, best, least = true, trial, next, energy
				break
			}
		}
		if !found {
			break
		}
	}
	return best
}

// sampleOf returns the picture, or tiles of it one below the other, spread
// evenly, where it is large, with the options for them.
func sampleOf(g *lab.Grid, opt Options) (*lab.Grid, Options) {
	if len(g.Cells) <= looked {
		return g, opt
	}
	across, down := max(1, g.Cols/tileSide), max(1, g.Rows/tileSide)
	w, h := min(tileSide, g.Cols), min(tileSide, g.Rows)
	n := min(across*down, looked/tileSide/tileSide)
	part := lab.NewGrid(w, n*h)
	was := opt
	if was.Weight != nil {
		opt.Weight = make([]uint16, len(part.Cells))
	}
	if was.Fixed != nil {
		opt.Fixed = make([]int32, len(part.Cells))
	}
	for k := range n {
		tile := (2*k + 1) * across * down / (2 * n)
		left, top := tile%across*(g.Cols-w)/max(1, across-1), tile/across*(g.Rows-h)/max(1, down-1)
		for i := range w * h {
			from, to := (top+i/w)*g.Cols+left+i%w, k*w*h+i
			part.Cells[to] = g.Cells[from]
			if was.Weight != nil {
				opt.Weight[to] = was.Weight[from]
			}
			if was.Fixed != nil {
				opt.Fixed[to] = was.Fixed[from]
			}
		}
	}
	return part, opt
}
