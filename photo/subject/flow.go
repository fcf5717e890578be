package subject

// flow is a network on a grid: every cell has arcs to its eight neighbors and
// one to a terminal, the source or the sink. cut finds the cheapest set of
// arcs that parts the terminals, by the algorithm of Y. Boykov and
// V. Kolmogorov, "An experimental comparison of min-cut/max-flow algorithms
// for energy minimization in vision", IEEE PAMI 26 (2004) 1124-1137: a tree
// grows from each terminal, where they meet flow is pushed, and branches that
// break off look for a new parent.
//
// Capacities are whole numbers and every list is worked in a fixed order, so
// the cut is the same everywhere. A frame of unused cells spares the tests for
// the edge.
type flow struct {
	stride int
	offset [8]int // to a neighbor; direction d^1 is the opposite of d
	arc    []int32
	toEnd  []int32 // residual of the terminal arc: > 0 from the source, < 0 to the sink

	tree   []int8 // which tree a cell is in
	parent []int8 // direction to the parent, or one of the below
	stamp  []int32
	dist   []int32 // to the terminal, true if stamp is now
	now    int32

	active  []int32 // a queue; read from head
	head    int
	queued  []bool
	orphans []int32
}

const (
	noTree, sourceTree, sinkTree = 0, 1, 2
	atTerminal, noParent         = 8, 9
)

func newFlow(cols, rows int) *flow {
	stride := cols + 2
	n := stride * (rows + 2)
	return &flow{
		stride: stride,
		offset: [8]int{1, -1, stride, -stride, stride + 1, -stride - 1, stride - 1, -stride + 1},
		arc:    make([]int32, 8*n), toEnd: make([]int32, n),
		tree: make([]int8, n), parent: make([]int8, n), stamp: make([]int32, n), dist: make([]int32, n),
		queued: make([]bool, n),
	}
}

// at returns the place of a cell.
func (f *flow) at(x, y int) int { return (y+1)*f.stride + x + 1 }

func (f *flow) activate(i int) {
	if !f.queued[i] {
		f.queued[i] = true
		f.active = append(f.active, int32(i))
	}
}

// cut pushes all the flow there can be. After it a cell belongs to the source
// where its tree is sourceTree, or else to the sink.
func (f *flow) cut() {
	for i, c := range f.toEnd {
		if c == 0 {
			continue
		}
		f.tree[i], f.parent[i], f.dist[i] = sourceTree, atTerminal, 1
		if c < 0 {
			f.tree[i] = sinkTree
		}
		f.activate(i)
	}
	for f.head < len(f.active) {
		i := int(f.active[f.head])
		f.head++
		f.queued[i] = false
		for f.tree[i] != noTree {
			from, d, met := f.grow(i)
			f.now++
			if !met {
				break
			}
			f.augment(from, d)
			f.adopt()
		}
		if f.head > 1<<16 && 2*f.head > len(f.active) {
			f.active = f.active[:copy(f.active, f.active[f.head:])]
			f.head = 0
		}
	}
}

// grow takes the free neighbors of a cell into its tree. Where it meets the
// other tree it returns the arc, from the source's side.
func (f *flow) grow(i int) (from, d int, met bool) {
	mine := f.tree[i]
	for d := 0; d < 8; d++ {
		j := i + f.offset[d]
		open := f.arc[8*i+d]
		if mine == sinkTree {
			open = f.arc[8*j+d^1]
		}
		if open == 0 {
			continue
		}
		switch {
		case f.tree[j] == noTree:
			f.tree[j], f.parent[j], f.stamp[j], f.dist[j] = mine, int8(d^1), f.stamp[i], f.dist[i]+1
			f.activate(j)
		case f.tree[j] != mine:
			if mine == sourceTree {
				return i, d, true
			}
			return j, d ^ 1, true
		case f.stamp[j] <= f.stamp[i] && f.dist[j] > f.dist[i]:
			f.parent[j], f.stamp[j], f.dist[j] = int8(d^1), f.stamp[i], f.dist[i]+1
		}
	}
	return 0, 0, false
}

// augment pushes what the path through an arc between the trees can take.
func (f *flow) augment(from, d int) {
	to := from + f.offset[d]
	push := f.arc[8*from+d]
	i := from
	for f.parent[i] != atTerminal { // flow comes from the parent
		p := int(f.parent[i])
		i += f.offset[p]
		push = min(push, f.arc[8*i+p^1])
	}
	push = min(push, f.toEnd[i])
	for i = to; f.parent[i] != atTerminal; { // and goes on to it
		p := int(f.parent[i])
		push = min(push, f.arc[8*i+p])
		i += f.offset[p]
	}
	push = min(push, -f.toEnd[i])

	f.arc[8*from+d] -= push
	f.arc[8*to+d^1] += push
	for i = from; f.parent[i] != atTerminal; {
		p := int(f.parent[i])
		j := i + f.offset[p]
		f.arc[8*i+p] += push
		f.arc[8*j+p^1] -= push
		if f.arc[8*j+p^1] == 0 {
			f.orphan(i)
		}
		i = j
	}
	f.toEnd[i] -= push
	if f.toEnd[i] == 0 {
		f.orphan(i)
	}
	for i = to; f.parent[i] != atTerminal; {
		p := int(f.parent[i])
		j := i + f.offset[p]
		f.arc[8*j+p^1] += push
		f.arc[8*i+p] -= push
		if f.arc[8*i+p] == 0 {
			f.orphan(i)
		}
		i = j
	}
	f.toEnd[i] += push
	if f.toEnd[i] == 0 {
		f.orphan(i)
	}
}

func (f *flow) orphan(i int) {
	f.parent[i] = noParent
	f.orphans = append(f.orphans, int32(i))
}

// adopt finds each orphan the neighbor of its tree that is nearest to the
// terminal, or sets it free with its branches.
func (f *flow) adopt() {
	for k := 0; k < len(f.orphans); k++ {
		i := int(f.orphans[k])
		mine := f.tree[i]
		best, least := -1, int32(1<<30)
		for d := 0; d < 8; d++ {
			j := i + f.offset[d]
			if f.tree[j] != mine || f.open(i, j, d) == 0 {
				continue
			}
			if n := f.origin(j); n < least {
				best, least = d, n
			}
		}
		if best >= 0 {
			f.parent[i], f.stamp[i], f.dist[i] = int8(best), f.now, least+1
			continue
		}
		f.tree[i] = noTree
		for d := 0; d < 8; d++ {
			j := i + f.offset[d]
			if f.tree[j] != mine {
				continue
			}
			if f.open(i, j, d) > 0 {
				f.activate(j)
			}
			if f.parent[j] == int8(d^1) {
				f.orphan(j)
			}
		}
	}
	f.orphans = f.orphans[:0]
}

// open is what the arc that a parent j in direction d of i would use can take.
func (f *flow) open(i, j, d int) int32 {
	if f.tree[j] == sourceTree {
		return f.arc[8*j+d^1]
	}
	return f.arc[8*i+d]
}

// origin returns how far a cell is from its terminal, or a huge number if its
// branch has broken off; it leaves stamps on the way.
func (f *flow) origin(j int) int32 {
	const lost = 1 << 30
	n := int32(0)
	i := j
	for f.stamp[i] != f.now {
		switch p := f.parent[i]; p {
		case noParent:
			return lost
		case atTerminal:
			n++
			f.stamp[i], f.dist[i] = f.now, 1
			return f.stampPath(j, i, n)
		default:
			n++
			i += f.offset[p]
		}
	}
	return f.stampPath(j, i, n+f.dist[i])
}

func (f *flow) stampPath(j, end int, n int32) int32 {
	for i, k := j, n; i != end; k-- {
		f.stamp[i], f.dist[i] = f.now, k
		i += f.offset[f.parent[i]]
	}
	return n
}
