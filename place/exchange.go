package place

import (
	"context"
	"math"
	"slices"

	"kitwright/internal/par"
	"kitwright/lab"
)

// Exchanges says which colors may be exchanged for which.
type Exchanges struct {
	From  []lab.Color          // all colors there are; those chosen are indices of it
	Out   []int                // which of From may not come in
	Stay  []int                // which of those chosen may not leave, beside those of settled cells
	Allow func(now []int) bool // asked before other colors are tried; nil: any may be
}

const (
	looked   = 24576 // cells at most that exchanges are tried on
	tileSide = 32
	rounds   = 4     // exchanges at most
	trials   = 4     // exchanges laid in each round, of those that promise most and are allowed
	asked    = 32    // of which as many are asked about
	worth    = 0.002 // of the energy: what an exchange has to save
)

// Exchange swaps one of the chosen colors for another as long as the laid
// picture's energy falls, and returns the colors then chosen, each at its
// place: colors that are best drill by drill may leave one soft ground split
// between two hues where one more shade would do. On a large picture it is
// tried on tiles spread over it. When ctx ends, it returns what it has and the
// context's error.
func Exchange(ctx context.Context, g *lab.Grid, chosen []int, opt Options, ex Exchanges) ([]int, error) {
	for i, c := range opt.Fixed {
		if c >= 0 && (i == 0 || c != opt.Fixed[i-1]) && !slices.Contains(ex.Stay, chosen[c]) {
			ex.Stay = append(slices.Clip(ex.Stay), chosen[c])
		}
	}
	all := opt
	part, opt := sampleOf(g, opt)
	opt.Scene = opt.scene(part)
	best := slices.Clone(chosen)
	cells, least, err := energyLaid(ctx, part, ex.From, best, opt)
	if err != nil {
		return best, err
	}
	for range rounds {
		found, laid := false, 0
		for _, swap := range promising(part, best, cells, opt, ex) {
			next := slices.Clone(best)
			next[swap.out] = swap.in
			if ex.Allow != nil && !ex.Allow(next) {
				continue
			}
			other, energy, err := energyLaid(ctx, part, ex.From, next, opt)
			if err != nil {
				return best, err
			}
			if float64(energy) < float64((1-worth)*float64(least)) {
				found, best, cells, least = true, next, other, energy
				break
			}
			if laid++; laid == trials {
				break
			}
		}
		if !found {
			break
		}
	}
	if part == g || slices.Equal(best, chosen) {
		return best, nil
	}
	// What holds for the tiles need not for the whole.
	_, before, err := energyLaid(ctx, g, ex.From, chosen, all)
	if err != nil {
		return best, err
	}
	_, after, err := energyLaid(ctx, g, ex.From, best, all)
	if err != nil || after >= before {
		return slices.Clone(chosen), err
	}
	return best, nil
}

// energyLaid lays colors and returns the cells and their energy.
func energyLaid(ctx context.Context, g *lab.Grid, from []lab.Color, chosen []int, opt Options) ([]uint16, int64, error) {
	colors := make([]lab.Color, len(chosen))
	for i, j := range chosen {
		colors[i] = from[j]
	}
	l := newLayer(g, colors, opt)
	for pass := range passes {
		if ctx.Err() != nil {
			return nil, 0, ctx.Err()
		}
		l.price(pass < early)
		if !l.pass(pass) && pass >= early {
			break
		}
	}
	l.price(false)
	return l.cells(), l.energy(), nil
}

// swap is an exchange: the place in the chosen that is emptied, and what comes
// in.
type swap struct {
	out, in int
	value   int64 // of near misses, as a promise
}

// promising returns the exchanges that promise most by near misses alone: what
// a color would save on the laid picture where it is nearer than what lies
// there, less what the one that leaves costs.
func promising(g *lab.Grid, chosen []int, cells []uint16, opt Options, ex Exchanges) []swap {
	n, m := len(chosen), len(ex.From)
	points := make([]lab.Point, m)
	for j, c := range ex.From {
		points[j] = lab.PointOf(c)
	}
	weight := relative(opt.Weight)
	rows := make([][]int64, g.Rows) // a row: savings by color that comes in and place that is emptied
	par.Rows(g.Rows, func(y int) {
		sum := make([]int64, m*(n+1))
		for x := range g.Cols {
			i := y*g.Cols + x
			if opt.Fixed != nil && opt.Fixed[i] >= 0 {
				continue
			}
			here := lab.PointOf(g.Cells[i])
			w := int64(weightOne)
			if weight != nil {
				w = weight[i]
			}
			own := int(cells[i])
			now := int64(math.Round(here.DeltaE(points[chosen[own]]) * unit))
			next := int64(none)
			for s, j := range chosen {
				if s != own {
					next = min(next, int64(math.Round(here.DeltaE(points[j])*unit)))
				}
			}
			next = max(next, now)
			for j := range m {
				if math.Abs(here.L-points[j].L)*(unit/mostLight) > float64(next) {
					continue
				}
				d := int64(math.Round(here.DeltaE(points[j]) * unit))
				if d < now {
					sum[j*(n+1)+n] += (now - d) * w / weightOne
				}
				if d < next {
					sum[j*(n+1)+own] += (next - max(d, now)) * w / weightOne // it need not go to the next
				}
			}
			for j := range m {
				sum[j*(n+1)+own] -= (next - now) * w / weightOne
			}
		}
		rows[y] = sum
	})
	total := make([]int64, m*(n+1))
	for _, r := range rows {
		for k, v := range r {
			total[k] += v
		}
	}
	return ranked(chosen, total, ex)
}

// ranked names the best place for each color that may come in, and returns
// those that promise most, ties by index.
func ranked(chosen []int, total []int64, ex Exchanges) []swap {
	n := len(chosen)
	var all []swap
	for j := range ex.From {
		if slices.Contains(chosen, j) || slices.Contains(ex.Out, j) {
			continue
		}
		best := swap{out: -1}
		for s := range n {
			if slices.Contains(ex.Stay, chosen[s]) {
				continue
			}
			if v := total[j*(n+1)+n] + total[j*(n+1)+s]; best.out < 0 || v > best.value {
				best = swap{s, j, v}
			}
		}
		if best.out >= 0 {
			all = append(all, best)
		}
	}
	slices.SortStableFunc(all, func(a, b swap) int {
		switch {
		case a.value > b.value:
			return -1
		case a.value < b.value:
			return 1
		}
		return a.in - b.in
	})
	return all[:min(asked, len(all))]
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
