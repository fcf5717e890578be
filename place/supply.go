package place

import (
	"context"
	"math"

	"kitwright/internal/par"
	"kitwright/internal/say"
	"kitwright/lab"
)

// Supply limits how many cells each color may take. It comes with a way to serve
// them all within the limits, drill by drill, and the prices that go with it:
// with them added to the misses hardly a color is asked for more than there is.
type Supply struct {
	Room  []int64   // a color: cells it may take, settled ones among them
	Price []float64 // a color: what one more of it would save, in CIEDE2000 of a cell of mean weight
	Start []uint16  // a cell: its color; none is above its room
}

const (
	supplyRounds = 9    // passes in which prices follow what is asked for
	supplyStep   = 0.35 // most that a price changes at first, in CIEDE2000
	supplyCool   = 0.9  // and how much of that remains each round
	scarceMany   = 8 << 20
)

// supplied is a picture laid within a supply. Costs of its candidates contain
// the prices.
type supplied struct {
	*layer
	room, load []int64
	price      []int64
}

// placeSupplied lays colors within a supply: priced passes first, in which the
// prices follow what is asked for; then what is still above its room moves on,
// in the chains that cost least; then what has room left is used, and pairs are
// exchanged, where that lowers the energy.
func placeSupplied(ctx context.Context, g *lab.Grid, colors []lab.Color, opt Options) ([]uint16, error) {
	s := newSupplied(g, colors, opt)
	rounds := early + supplyRounds
	step := float64(supplyStep * unit)
	for round := range rounds {
		if ctx.Err() != nil {
			break
		}
		say.Step(ctx, "placing colors", round, rounds)
		s.layer.price(round < early)
		s.wakeAll() // the prices are others
		s.pass(round)
		if round >= early && round < rounds-1 {
			s.follow(step)
			step = float64(step * supplyCool)
		}
	}
	say.Step(ctx, "placing colors", rounds, rounds)
	s.layer.price(false)
	s.count()
	s.repair()
	s.polish()
	return s.cells(), ctx.Err()
}

func newSupplied(g *lab.Grid, colors []lab.Color, opt Options) *supplied {
	s := &supplied{layer: newLayer(g, colors, opt), room: opt.Supply.Room, load: make([]int64, len(colors)), price: make([]int64, len(colors))}
	for c, p := range opt.Supply.Price {
		s.price[c] = whole(p)
	}
	s.offerPriced(opt)
	v := visitor{layer: s.layer}
	for y := range s.rows {
		for x := range s.cols {
			if q, c := s.place(x, y), opt.Supply.Start[y*s.cols+x]; s.free[q] && s.at[q] != c {
				v.block = s.block(q)
				v.set(q, c)
			}
		}
	}
	return s
}

// offerPriced gives each free cell its candidates anew, by miss and price together,
// and the color it starts with among them.
func (s *supplied) offerPriced(opt Options) {
	par.Rows(s.rows, func(y int) {
		all, miss := make([]int64, s.colors), make([]int64, s.colors)
		for x := range s.cols {
			i, q := y*s.cols+x, s.place(x, y)
			if !s.free[q] {
				continue
			}
			here := lab.PointOf(s.grid.Cells[i])
			nearest, first := 0, int64(none)
			for c, p := range s.points {
				d := int64(math.Round(here.DeltaE(p) * unit))
				if d < first {
					nearest, first = c, d
				}
				miss[c], all[c] = d, min(weighed(d, s.weight, i)+s.price[c], none/2)
			}
			choice, cost := s.choicesOf(q)
			lowest(all, choice, cost, opt.Supply.Start[i])
			last := int64(s.reachOf(min(cost[0], none/2)))
			for j := range cost {
				if int64(cost[j]) > last && choice[j] != opt.Supply.Start[i] {
					// What follows costs more still; but the start stays.
					cost[j] = none
				}
			}
			closeUp(choice, cost)
			for j, d := range cost {
				if c := choice[j]; d != none && int(c) != nearest {
					stray := s.stray(s.keeps[i], int32(miss[c]-first), uint16(nearest), c)
					cost[j] = int32(min(int64(d)+weighed(int64(stray), s.weight, i), none/2))
				}
			}
		}
	})
}

// weighed is a miss by the weight of its cell, if cells have any.
func weighed(d int64, weight []int64, i int) int64 {
	if weight == nil {
		return d
	}
	return min(d*weight[i]/weightOne, none/64)
}

// lowest fills choice with the colors that cost least, ties by index, and cost
// with what they cost; must is among them.
func lowest(all []int64, choice []uint16, cost []int32, must uint16) {
	n := 0
	for c, d := range all {
		j := n
		for ; j > 0 && d < int64(cost[j-1]); j-- {
			if j < len(cost) {
				choice[j], cost[j] = choice[j-1], cost[j-1]
			}
		}
		if j < len(cost) {
			choice[j], cost[j] = uint16(c), int32(d)
			n = min(n+1, len(cost))
		}
	}
	for _, c := range choice[:n] {
		if c == must {
			return
		}
	}
	choice[n-1], cost[n-1] = must, int32(all[must])
}

// closeUp moves candidates that are none behind the others.
func closeUp(choice []uint16, cost []int32) {
	n := 0
	for j, d := range cost {
		if d != none {
			choice[n], cost[n] = choice[j], d
			n++
		}
	}
	for ; n < len(cost); n++ {
		cost[n] = none
	}
}

// count counts the cells of each color.
func (s *supplied) count() {
	clear(s.load)
	for y := range s.rows {
		for x := range s.cols {
			s.load[s.at[s.place(x, y)]]++
		}
	}
}

// follow raises the prices of colors that are asked for too much, and lowers
// those of others, by at most so much.
func (s *supplied) follow(step float64) {
	s.count()
	change := make([]int64, len(s.load))
	for c, n := range s.load {
		a := s.room[c]
		if a >= int64(len(s.at)) {
			continue // never runs out
		}
		// In thousandths, so that no last bit decides.
		share := max(-1000, min(1000, 1000*(n-a)/(a+n*3/10+1)))
		change[c] = max(int64(math.Round(float64(step*float64(share))/1000)), -s.price[c])
		s.price[c] += change[c]
	}
	par.Rows(s.rows, func(y int) {
		for x := range s.cols {
			q := s.place(x, y)
			if !s.free[q] {
				continue
			}
			choice, cost := s.choicesOf(q)
			for j, d := range cost {
				if d == none {
					break
				}
				cost[j] = int32(min(int64(d)+change[choice[j]], none/2))
			}
		}
	})
}

// look is what all changes of one cell have in common.
type look struct {
	block int
	pull  [3]int64 // gradient of the miss from afar
	now   int64    // what the cell costs
}

func (s *supplied) lookAt(q int) look {
	block, c := s.block(q), s.at[q]
	return look{block, s.gradient(q, s.mesh.pull(block)), s.missOf(q, c) + s.borders(q, c) + s.terms(q)}
}

// change is what the priced energy changes if a cell takes another color, none
// if that is no candidate.
func (s *supplied) change(q int, c uint16) int64 { return s.changeFrom(s.lookAt(q), q, c) }

func (s *supplied) changeFrom(at look, q int, c uint16) int64 {
	cost := s.missOf(q, c)
	if cost == none {
		return none
	}
	old := s.at[q]
	dx, dy, dz := s.step(old, c)
	far := 2*(at.pull[0]*dx+at.pull[1]*dy+at.pull[2]*dz) + s.wide[q].of(dx, dy, dz) + s.mesh.wide[at.block].of(dx, dy, dz)
	s.at[q] = c
	then := cost + s.borders(q, c) + s.terms(q)
	s.at[q] = old
	return s.farCost(far) + then - at.now
}

// give gives a cell another color.
func (s *supplied) give(q int, c uint16) {
	v := visitor{layer: s.layer, block: s.block(q)}
	s.load[s.at[q]]--
	s.load[c]++
	v.set(q, c)
}
