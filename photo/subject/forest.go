package subject

import (
	"math"

	"kitwright/internal/par"
)

// lessons are what a forest learns from, cell by cell.
type lessons struct {
	says   []bool  // subject
	weight []uint8 // 0 = learn nothing from it
	part   []uint8 // of the picture, 0 to 7
}

// balance scales the weights so that subject and ground weigh alike.
func (l lessons) balance() {
	var sum [2]int64
	for i, w := range l.weight {
		sum[side(l.says[i])] += int64(w)
	}
	heavy := 0
	if sum[1] > sum[0] {
		heavy = 1
	}
	if sum[1-heavy] == 0 {
		return
	}
	for i, w := range l.weight {
		if w > 0 && side(l.says[i]) == 1-heavy {
			l.weight[i] = uint8(min(255, int64(w)*sum[heavy]/sum[1-heavy]))
		}
	}
}

func side(subject bool) int {
	if subject {
		return 1
	}
	return 0
}

// forest tells by its features how likely a cell shows the subject: the mean
// of many trees that were grown by chance (P. Geurts, D. Ernst, L. Wehenkel,
// "Extremely randomized trees", Machine Learning 63 (2006) 3-42). Features and
// weights are whole numbers and each tree throws dice of its own, so that a
// forest is the same everywhere.
type forest struct {
	trees   [forestTrees][]branch
	crossed bool // trees do not judge what they learned from, see sees
}

// branch is a fork of a tree, or its leaf.
type branch struct {
	feature int8 // -1: a leaf
	at      int16
	above   int32 // where it goes on with more than at; with less or as much it is the next one
	share   int32 // of the subject in a leaf, in 1/4096
}

const (
	forestTrees = 32
	forestDepth = 12
	forestTries = 6    // forks tried at each branch
	forestLeaf  = 24   // cells in the smallest leaf
	forestBag   = 6000 // cells that a tree learns from, about
	shadeTrees  = 4    // one tree in so many goes by hue, saturation and texture alone, which shade does not change, and one without the finest texture
)

// grow makes a forest. The features of cell i are at i*features.
func grow(data []int16, l lessons, crossed bool) *forest {
	var cells []int32
	for i, w := range l.weight {
		if w > 0 {
			cells = append(cells, int32(i))
		}
	}
	f := &forest{crossed: crossed}
	bag := forestBag
	if crossed {
		bag *= 2
	}
	step := max(1, (len(cells)+bag-1)/bag)
	par.Rows(forestTrees, func(t int) {
		g := grower{data: data, lessons: l, to: features, dice: uint32(2*t + 1)}
		switch t % shadeTrees {
		case shadeTrees - 1:
			g.from = firstShadeless
		case 1:
			g.to = firstFine
		}
		var mine []int32
		for k := 0; k < len(cells); k += step {
			i := cells[min(len(cells)-1, k+g.next(step))]
			if !crossed || !judges(t, l.part[i]) {
				mine = append(mine, i)
			}
		}
		g.branch(mine, 0)
		f.trees[t] = g.tree
	})
	return f
}

// judges tells whether a tree judges the cells of a part of the picture; then
// it does not learn from them. Each part is judged by half of the trees.
func judges(t int, part uint8) bool { return t>>(part%4)&1 == int(part>>2) }

// share returns how likely a cell with these features is subject, in 1/4096.
func (f *forest) share(of []int16, part uint8) int32 {
	var sum, n int32
	for t, tree := range f.trees {
		if f.crossed && !judges(t, part) {
			continue
		}
		at := int32(0)
		for tree[at].feature >= 0 {
			if b := &tree[at]; of[b.feature] > b.at {
				at = b.above
			} else {
				at++
			}
		}
		sum += tree[at].share
		n++
	}
	return sum / n
}

type grower struct {
	lessons
	data []int16
	from int // the first feature it may go by
	to   int // and the first that it may not
	dice uint32
	tree []branch
}

// next returns a number of 0..n-1 by chance.
func (g *grower) next(n int) int {
	g.dice = g.dice*1664525 + 1013904223
	return int(uint64(g.dice>>4) * uint64(n) >> 28)
}

// weigh returns what cells weigh, and how much of it is subject.
func (g *grower) weigh(cells []int32) (all, subject int64) {
	for _, i := range cells {
		all += int64(g.weight[i])
		if g.says[i] {
			subject += int64(g.weight[i])
		}
	}
	return all, subject
}

// branch grows the tree by the best of some forks taken by chance.
func (g *grower) branch(cells []int32, depth int) {
	here := len(g.tree)
	all, subject := g.weigh(cells)
	g.tree = append(g.tree, branch{feature: -1, share: 2048})
	if all > 0 {
		g.tree[here].share = int32(4096 * subject / all)
	}
	if depth == forestDepth || len(cells) < 2*forestLeaf || subject == 0 || subject == all {
		return
	}
	best, fork := math.Inf(-1), branch{feature: -1}
	for range forestTries {
		feature := g.from + g.next(g.to-g.from)
		least, most := int16(math.MaxInt16), int16(math.MinInt16)
		for _, i := range cells {
			v := g.data[int(i)*features+feature]
			least, most = min(least, v), max(most, v)
		}
		if least == most {
			continue
		}
		at := int16(int(least) + g.next(int(most)-int(least)))
		var n int
		var a, s int64
		for _, i := range cells {
			if g.data[int(i)*features+feature] > at {
				n++
				a += int64(g.weight[i])
				if g.says[i] {
					s += int64(g.weight[i])
				}
			}
		}
		if n < forestLeaf || len(cells)-n < forestLeaf {
			continue
		}
		// Gini's impurity falls as this grows.
		if pure := float64(s*s)/float64(a) + float64((subject-s)*(subject-s))/float64(all-a); pure > best {
			best, fork = pure, branch{feature: int8(feature), at: at}
		}
	}
	if fork.feature < 0 {
		return
	}
	k := 0
	for j, i := range cells {
		if g.data[int(i)*features+int(fork.feature)] <= fork.at {
			cells[j], cells[k] = cells[k], i
			k++
		}
	}
	g.tree[here] = fork
	g.branch(cells[:k], depth+1)
	g.tree[here].above = int32(len(g.tree))
	g.branch(cells[k:], depth+1)
}
