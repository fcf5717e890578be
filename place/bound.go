package place

import (
	"math"

	"kitwright/lab"
)

// boundRounds is how often Judge goes over all pairs of neighbors.
const boundRounds = 12

// Judge returns the energy of a laid picture and a proven lower limit of it:
// no other way to lay these colors, each cell taking one of its candidates,
// costs less. Both are in CIEDE2000, summed over the cells.
//
// The limit is a dual one. The part of near misses and borders is bounded by
// messages between neighbors (A. Globerson, T. Jaakkola, "Fixing max-product:
// convergent message passing algorithms for MAP LP-relaxations", NIPS 2007,
// MPLP on edges). The miss from afar, a convex square, lies above its tangents:
// one of five between none and the one at the given picture joins the near
// misses, whichever proves most. Lone drills and lines count as nothing, so the
// limit falls behind where they cost.
func Judge(g *lab.Grid, colors []lab.Color, cells []uint16, opt Options) (energy, bound float64) {
	l := newLayer(g, colors, opt)
	l.price(false)
	v := visitor{layer: l}
	for y := range l.rows {
		for x := range l.cols {
			if q := l.place(x, y); l.at[q] != cells[y*l.cols+x] {
				v.block = l.block(q)
				v.set(q, cells[y*l.cols+x])
			}
		}
	}
	sum := l.energy()
	for share := range 5 {
		s := float64(float64(share) / 4)
		b := l.reweigh(s) + float64(l.dual(s))
		bound = math.Max(bound, b/unit)
	}
	return float64(sum) / unit, math.Min(bound, float64(sum)/unit)
}

// energy is the sum that is lowered, anew from the cells, in costs.
func (l *layer) energy() int64 {
	sum := int64(math.Round(l.farEnergy()))
	for y := range l.rows {
		for x := range l.cols {
			q := l.place(x, y)
			sum += l.missOf(q, l.at[q]) + l.term(q)
			for d, off := range l.edges() {
				if l.at[q+off] != outside {
					sum += l.border(d, l.at[q], l.at[q+off])
				}
			}
		}
	}
	return sum
}

// edges are the offsets to half of a cell's neighbors: the other half is seen
// from there. The first two lie beside, the others across a corner.
func (l *layer) edges() [4]int { return [4]int{1, l.stride, l.stride + 1, l.stride - 1} }

func (l *layer) border(direction int, a, b uint16) int64 {
	if direction < 2 {
		return l.beside[int(a)*l.colors+int(b)]
	}
	return l.corner[int(a)*l.colors+int(b)]
}

// farEnergy is the miss from afar, anew from the cells, in costs.
func (l *layer) farEnergy() float64 {
	blurs, mesh := l.blurs()
	var sum float64
	for y := range l.rows {
		for x := range l.cols {
			q := l.place(x, y)
			sum += l.bent(l.squareAt(q, &blurs[q], &mesh))
		}
	}
	return sum * l.with.blend * unit
}

// dual bounds near misses and borders, with a share of the gradient of the
// miss from afar, from below.
func (l *layer) dual(share float64) int64 {
	n, k := len(l.at), l.kept
	own := make([]int64, n*k) // of each candidate, with all messages
	count := make([]int, n)
	for y := range l.rows {
		for x := range l.cols {
			q := l.place(x, y)
			pull := l.gradient(q, l.mesh.pull(l.block(q)))
			choice, cost := l.choicesOf(q)
			for j, c := range choice {
				if cost[j] == none {
					break
				}
				dx, dy, dz := l.step(l.at[q], c)
				change := l.farCost(2 * (pull[0]*dx + pull[1]*dy + pull[2]*dz))
				own[q*k+j] = int64(cost[j]) + int64(math.Floor(share*float64(change)))
				count[q]++
			}
		}
	}
	var message [4][]int64 // what the far end of each edge adds to its cell; what it takes off stands in back
	var back [4][]int64
	for d := range message {
		message[d], back[d] = make([]int64, n*k), make([]int64, n*k)
	}
	left := make([]int64, n) // of each cell's edges, what messages leave over
	for range boundRounds {
		clear(left)
		for y := range l.rows {
			for x := range l.cols {
				q := l.place(x, y)
				for d, off := range l.edges() {
					if l.at[q+off] != outside {
						left[q] += l.exchange(q, q+off, d, own, count, message[d][q*k:][:k], back[d][q*k:][:k])
					}
				}
			}
		}
	}
	var sum int64
	for q, c := range count {
		least := int64(math.MaxInt64)
		for j := range c {
			least = min(least, own[q*k+j])
		}
		if c > 0 {
			sum += least
		}
	}
	// Later messages change own, not what an edge left over.
	for _, v := range left {
		sum += v
	}
	return sum
}

// exchange moves cost between two neighbors and their border so that the sum of
// the least of each rises, and returns the least that the border keeps.
func (l *layer) exchange(p, q, direction int, own []int64, count []int, toP, toQ []int64) int64 {
	k := l.kept
	at, bt := own[p*k:][:count[p]], own[q*k:][:count[q]]
	for j := range at {
		at[j] -= toP[j]
	}
	for j := range bt {
		bt[j] -= toQ[j]
	}
	choiceP, _ := l.choicesOf(p)
	choiceQ, _ := l.choicesOf(q)
	var fromQ, fromP [most]int64
	for i := range at {
		fromQ[i] = math.MaxInt64
		for j := range bt {
			fromQ[i] = min(fromQ[i], l.border(direction, choiceP[i], choiceQ[j])+bt[j])
		}
	}
	for j := range bt {
		fromP[j] = math.MaxInt64
		for i := range at {
			fromP[j] = min(fromP[j], l.border(direction, choiceP[i], choiceQ[j])+at[i])
		}
	}
	for i := range at {
		toP[i] = (fromQ[i] - at[i]) >> 1
	}
	for j := range bt {
		toQ[j] = (fromP[j] - bt[j]) >> 1
	}
	least := int64(math.MaxInt64)
	for i := range at {
		for j := range bt {
			least = min(least, l.border(direction, choiceP[i], choiceQ[j])-toP[i]-toQ[j])
		}
	}
	for i := range at {
		at[i] += toP[i]
	}
	for j := range bt {
		bt[j] += toQ[j]
	}
	return least
}
