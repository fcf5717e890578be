package quantize

import (
	"context"
	"fmt"
	"math"
	"slices"

	"kitwright/internal/say"
)

// Supply says what is wanted of a selection from colors of which there are only
// so many drills.
type Supply struct {
	Options         // K: how many colors at most, what is bought included; a cell of weight 0 takes no drill
	Room    []int64 // a color of from: the cells that what is owned of it suffices for

	// Either so many colors more, without end, or so many bags, of colors that
	// are owned or not.
	Buy    int
	Bags   int
	Bagged func(color, bags int) int64 // the room of a color with so many bags more; set where Bags is
}

// Supplied is the answer. Every color serves at most as many cells as it has
// room for, and for these colors and rooms no other way to serve the cells costs
// less: that is proven by prices that come to the same sum.
//
// Cost is of all cells, and so is Bound: what no choice costs less than, 0 where
// nothing is proven for all cells. BinCost and BinBound are of the bins that the
// colors were chosen by: whatever is chosen or bought, nothing costs less on the
// bins than BinBound, which is proven for the bins alone.
type Supplied struct {
	Selection
	Room  []int64 // a color of Chosen: cells it has room for, fixed ones among them
	Price []int64 // a color of Chosen: what room for one more cell would save, as a cost
	Bags  []int   // a color of Chosen: bags that are bought of it
	New   []bool  // a color of Chosen: none of it is owned

	Dual              int64 // what the prices prove for these colors and rooms: equal to Cost
	BinCost, BinBound int64
}

// BinGap returns which part of the cost on the bins another choice could save
// at most.
func (s *Supplied) BinGap() float64 {
	if s.BinCost <= s.BinBound {
		return 0
	}
	return float64(s.BinCost-s.BinBound) / float64(s.BinCost)
}

// Short is the error of a picture that has more cells than there is room for.
type Short struct {
	Cells int64 // of the picture
	Room  int64 // for as many of them, at most
	Color int   // where one color is short that cells have to have; -1: all together
}

func (s *Short) Error() string {
	return fmt.Sprintf("%d cells, and room for %d", s.Cells, s.Room)
}

// Supplied chooses colors for the picture from a supply. When ctx ends it
// returns the best so far, nil where that has not room for all cells, and
// ctx.Err().
func (p *Problem) Supplied(ctx context.Context, want Supply) (*Supplied, error) {
	s, err := p.supplier(want)
	if err != nil {
		return nil, err
	}
	set, err := s.choose(ctx)
	if err != nil {
		return nil, err
	}
	set, bound := s.bound(ctx, set)
	return p.supplied(ctx, s, set, bound), ctx.Err()
}

// Assign serves the cells by the given colors (indices into from), each at most
// as many as it has room for, at the least cost by the plain mean, weighed by
// opt.Weight and opt.Focus.
func (p *Problem) Assign(ctx context.Context, chosen []int, room []int64, opt Options) (*Supplied, error) {
	want := Supply{Options: opt, Room: make([]int64, len(p.from))}
	want.Rare, want.K = 0, len(chosen)
	for k, j := range chosen {
		want.Room[j] = room[k]
	}
	s, err := p.supplier(want)
	if err != nil {
		return nil, err
	}
	set, err := s.whole()
	if err != nil {
		return nil, err
	}
	return p.supplied(ctx, s, set, set.cost), ctx.Err()
}

// supplier makes ready what the search needs.
func (p *Problem) supplier(want Supply) (*supplier, error) {
	opt := want.Options
	n := len(p.cell)
	if opt.Weight != nil && len(opt.Weight) != n || opt.Focus != nil && len(opt.Focus) != n || opt.Fixed != nil && len(opt.Fixed) != n || len(want.Room) != len(p.from) {
		return nil, say.Usage("give one for each cell and color", "weights, fixed colors or rooms do not fit a picture of %d cells and %d colors", n, len(p.from))
	}
	if want.Buy > 0 && want.Bags > 0 || want.Bags > 0 && want.Bagged == nil {
		return nil, say.Usage("choose one of the two", "new colors and bags cannot be bought at once")
	}
	if want.K < 1 {
		return nil, say.Usage("ask for 1 color or more", "%d colors cannot make a picture", want.K)
	}
	s := &supplier{fix: opt.Fixed, k: want.K, buy: want.Buy, bags: want.Bags, limits: limitsOf(opt.Effort), quick: opt.Effort == Quick || opt.Effort == Sketch}
	fixed := make([]int64, len(p.from))
	for _, j := range opt.Fixed {
		if j >= 0 {
			fixed[j]++
		}
	}
	out := make([]bool, len(p.from))
	for _, j := range opt.Avoid {
		out[j] = true
	}
	must := make([]bool, len(p.from))
	for _, j := range opt.Keep {
		must[j] = true
	}
	for j := range p.from {
		room := want.Room[j]
		must[j] = must[j] || fixed[j] > 0
		if !must[j] && (out[j] || room <= 0 && want.Buy+want.Bags == 0) {
			continue
		}
		s.color = append(s.color, int32(j))
		s.keep = append(s.keep, must[j])
		s.fixed = append(s.fixed, fixed[j])
		s.owned = append(s.owned, max(0, room))
		if fixed[j] > room && want.Buy+want.Bags == 0 {
			return nil, &Short{Cells: fixed[j], Room: room, Color: j}
		}
	}
	if want.Bags > 0 {
		s.bagged = func(column int32, bags int) int64 { return want.Bagged(int(s.color[column]), bags) }
	}
	s.objective = p.objective(opt)
	s.cells = p.clientsOf(opt)
	s.g = p.goods(1, s)
	s.price = make([]int64, len(s.color)+1)
	return s, nil
}

// clients are the cells of a picture, gathered where they show the same color
// and count alike: each client is a point of the last level.
type clients struct {
	of     []int32 // cell -> client, -1 where its color is fixed or it takes none
	point  []int32
	factor []int64
	count  []int64
}

// MeanCell is what a cell counts in a cost of [Problem.Supplied] that counts as
// much as the mean of all: Cost / (Unit * MeanCell * cells) is the mean cost.
const MeanCell = 256

// clientsOf gathers the cells that are free.
func (p *Problem) clientsOf(opt Options) *clients {
	k := make([]int64, len(p.count)) // of a color, by how rare it is
	for i := range k {
		k[i] = 1
	}
	cells := make([]int64, len(p.count))
	for c, i := range p.cell {
		if opt.Fixed == nil || opt.Fixed[c] < 0 {
			counts := int64(1)
			if opt.Weight != nil {
				counts = int64(opt.Weight[c])
			}
			cells[i] += counts
		}
	}
	p.compress(k, cells, 0.4*opt.Rare)
	raw := make([]float64, len(p.cell))
	sum, free := 0.0, 0
	for c, i := range p.cell {
		raw[c] = -1
		if opt.Fixed != nil && opt.Fixed[c] >= 0 || opt.Weight != nil && opt.Weight[c] == 0 {
			continue
		}
		w := float64(k[i])
		if opt.Weight != nil {
			w = float64(w * float64(opt.Weight[c]))
		}
		if opt.Focus != nil {
			w = float64(w * float64(opt.Focus[c]))
		}
		raw[c] = w
		sum += w
		free++
	}
	type place struct {
		key  uint64
		cell int32
	}
	var places []place
	for c, w := range raw {
		if w < 0 {
			continue
		}
		f := 1.0
		if sum > 0 {
			f = math.Round(float64(w*MeanCell) / (sum / float64(free)))
		}
		f = max(1, min(f, 1<<16))
		places = append(places, place{uint64(p.cell[c])<<32 | uint64(f), int32(c)})
	}
	slices.SortFunc(places, func(a, b place) int {
		switch {
		case a.key < b.key || a.key == b.key && a.cell < b.cell:
			return -1
		case a.key == b.key && a.cell == b.cell:
			return 0
		}
		return 1
	})
	s := &clients{of: make([]int32, len(p.cell))}
	for c := range s.of {
		s.of[c] = -1
	}
	for at, pl := range places {
		if at == 0 || pl.key != places[at-1].key {
			s.point = append(s.point, int32(pl.key>>32))
			s.factor = append(s.factor, int64(pl.key&math.MaxUint32))
			s.count = append(s.count, 0)
		}
		last := len(s.point) - 1
		s.of[pl.cell] = int32(last)
		s.count[last]++
	}
	return s
}

// goods lists what the columns of a search cost, and no color at all: for the
// bins (level 1) or for all colors of the cells (level 2).
func (p *Problem) goods(level int, s *supplier) *goods {
	column := s.color
	l := p.levels[level]
	g := &goods{cols: len(column) + 1}
	rows := map[int32]int32{} // point of the level -> row
	var points []int32
	bin := make([]int32, len(p.count)) // point of the last level -> point of this one
	for i := range bin {
		bin[i] = int32(i)
	}
	if fine := p.levels[2]; level == 1 {
		for b := range fine.boxes {
			for i := fine.groups[b]; i < fine.groups[b+1]; i++ {
				bin[i] = int32(b)
			}
		}
	}
	type key struct {
		row    int32
		factor int64
	}
	at := map[key]int32{}
	for c, i := range s.cells.point {
		row, ok := rows[bin[i]]
		if !ok {
			row = int32(len(points))
			rows[bin[i]], points = row, append(points, bin[i])
		}
		k := key{row, s.cells.factor[c]}
		client, ok := at[k]
		if !ok {
			client = int32(len(g.row))
			at[k] = client
			g.row, g.factor, g.count = append(g.row, row), append(g.factor, k.factor), append(g.count, 0)
		}
		g.count[client] += s.cells.count[c]
		g.cells += s.cells.count[c]
	}
	g.cost = make([]int32, len(points)*g.cols)
	bare := int32(s.objective.cost(bareMiss))
	parallel(len(points), 64, func(_, lo, hi int) {
		for r := lo; r < hi; r++ {
			line := g.cost[r*g.cols : (r+1)*g.cols]
			for at, j := range column {
				line[at] = int32(s.objective.cost(units(l.points[points[r]], l.from[j])))
			}
			line[len(column)] = bare
		}
	})
	return g
}

// bareMiss stands for a cell that no color has room for: farther off than any
// color that would be taken.
const bareMiss = 60 * Unit
