package place

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
	"kitwright/internal/say"
	"kitwright/lab"
)

// A small scene with soft shades, an edge, noise and a bright rim: a test
// picture that needs no file.
func scene(cols, rows int) *lab.Grid {
	g := lab.NewGrid(cols, rows)
	r := rand.New(rand.NewPCG(7, 11))
	for y := range rows {
		for x := range cols {
			u, v := float64(x)/float64(cols), float64(y)/float64(rows)
			c := lab.Color{L: 25 + 45*u + 16*r.Float64(), A: 18*math.Sin(5*v) + 5*r.Float64(), B: 25*v - 8 + 8*r.Float64()}
			if d := math.Hypot(u-.5, v-.5); d < .2 {
				c = lab.Color{L: 12 + 90*d, A: -20, B: 35}
			} else if d < .24 {
				c = lab.Color{L: 8, A: 4, B: 6}
			}
			g.Set(x, y, c)
		}
	}
	return g
}

// shaded is a soft ground from one color to another, left to right.
func shaded(cols, rows int, from, to lab.Color) *lab.Grid {
	g := lab.NewGrid(cols, rows)
	for i := range g.Cells {
		t := (float64(i%cols) + .5) / float64(cols)
		g.Set(i%cols, i/cols, lab.Color{L: from.L + t*(to.L-from.L), A: from.A + t*(to.A-from.A), B: from.B + t*(to.B-from.B)})
	}
	return g
}

// spread picks k colors far apart from those of a grid.
func spread(g *lab.Grid, k int) []lab.Color {
	colors := []lab.Color{g.Cells[0]}
	for len(colors) < k {
		far, at := -1.0, 0
		for i, c := range g.Cells {
			near := math.Inf(1)
			for _, q := range colors {
				near = math.Min(near, lab.DeltaE(c, q))
			}
			if near > far {
				far, at = near, i
			}
		}
		colors = append(colors, g.Cells[at])
	}
	return colors
}

func nearestColors(g *lab.Grid, colors []lab.Color) []uint16 {
	at := make([]uint16, len(g.Cells))
	for i, c := range g.Cells {
		best := int64(math.MaxInt64)
		for j, q := range colors {
			if d := int64(math.Round(lab.DeltaE(c, q) * unit)); d < best {
				best, at[i] = d, uint16(j)
			}
		}
	}
	return at
}

// loneShare is the share of cells with no like neighbor beside, above or below.
func loneShare(cells []uint16, cols, rows int) float64 {
	lone := 0
	for i, c := range cells {
		x, y := i%cols, i/cols
		if !(x > 0 && cells[i-1] == c || x+1 < cols && cells[i+1] == c || y > 0 && cells[i-cols] == c || y+1 < rows && cells[i+cols] == c) {
			lone++
		}
	}
	return float64(lone) / float64(len(cells))
}

func painted(g *lab.Grid, colors []lab.Color, cells []uint16) *lab.Grid {
	made := lab.NewGrid(g.Cols, g.Rows)
	for i, c := range cells {
		made.Cells[i] = colors[c]
	}
	return made
}

func lay(t testing.TB, g *lab.Grid, colors []lab.Color, opt Options) []uint16 {
	t.Helper()
	at, err := Place(context.Background(), g, colors, opt)
	require.NoError(t, err)
	require.Len(t, at, len(g.Cells))
	return at
}

func energyOf(g *lab.Grid, colors []lab.Color, cells []uint16, opt Options) float64 {
	l := newLayer(g, colors, opt)
	l.price(false)
	return l.energyOf(g, cells)
}

// energyOf is the energy of given cells, reckoned anew.
func (l *layer) energyOf(g *lab.Grid, cells []uint16) float64 {
	for i, c := range cells {
		l.at[l.place(i%g.Cols, i/g.Cols)] = c
	}
	return float64(l.energy()) / unit
}

// The sum that the descent lowers never rises, and at its end no single cell
// can do better, reckoned anew from the cells.
func TestPlaceNeverRises(t *testing.T) {
	g := scene(37, 35) // more than one block, and a rest
	colors := spread(g, 18)
	for _, calm := range []float64{0, .5, 1} {
		opt := Options{force: unbent(calm)}
		l := newLayer(g, colors, opt)
		l.price(false)
		last := energyOf(g, colors, l.cells(), opt)
		for pass := 0; ; pass++ {
			changed := l.pass(pass)
			now := energyOf(g, colors, l.cells(), opt)
			if !changed && pass > early+2 {
				assert.InDelta(t, last, now, 1e-6)
				break
			}
			require.LessOrEqual(t, now, last+1e-6, "pass %d", pass)
			last = now
			require.Less(t, pass, 100)
		}
		cells := l.cells()
		judge := newLayer(g, colors, opt)
		judge.price(false)
		for i := 0; i < len(cells); i += 97 {
			old := cells[i]
			choice, cost := l.choicesOf(l.place(i%g.Cols, i/g.Cols))
			for j, c := range choice {
				if cost[j] != none {
					cells[i] = c
					require.GreaterOrEqual(t, judge.energyOf(g, cells), last-.01, "cell %d", i)
				}
			}
			cells[i] = old
		}
	}
}

// unbent are the strengths of a calm with far misses squared all the way, and
// less of them, since they weigh more so; and no price on colors that look unlike.
func unbent(calm float64) *strengths {
	with := Options{Calm: calm}.strengths()
	with.bend, with.blend, with.alike = 0, with.blend/4, 0
	return &with
}

// Where far misses count by their square only up to a bend, what is laid after
// they were weighed never costs more than it did then, and hardly less could be
// had by weighing them once more.
func TestPlaceNeverRisesBeyondTheBend(t *testing.T) {
	g := scene(37, 35)
	colors := spread(g, 18)
	for _, calm := range []float64{0, .5, 1} {
		opt := Options{Calm: calm}
		l := newLayer(g, colors, opt)
		l.price(false)
		weighed, now := math.Inf(1), 0.
		for pass := range passes {
			if weighs(pass) {
				weighed = energyOf(g, colors, l.cells(), opt)
			}
			l.pass(pass)
			now = energyOf(g, colors, l.cells(), opt)
			require.LessOrEqual(t, now, weighed*(1+1e-6), "calm %v, pass %d", calm, pass)
		}
		l.reweigh(1)
		for range passes {
			l.pass(passes)
		}
		again := energyOf(g, colors, l.cells(), opt)
		require.LessOrEqual(t, again, now*(1+1e-6))
		assert.Greater(t, again, .99*now)
	}
}

// Against every way to lay tiny pictures whose far misses lie mostly beyond the
// bend: the reckoning, the descent and what Judge proves.
func TestBendAgainstAllWays(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 7))
	var made, best, proven float64
	for range 8 {
		g := lab.NewGrid(3, 2)
		for i := range g.Cells {
			g.Set(i%3, i/3, lab.Color{L: 40 + 9*r.Float64(), A: 8 * r.Float64(), B: 8 * r.Float64()})
		}
		colors := make([]lab.Color, 3)
		for i := range colors {
			colors[i] = lab.Color{L: 40 + 9*r.Float64(), A: 8 * r.Float64(), B: 8 * r.Float64()}
		}
		opt := Options{force: &strengths{blend: 5, bend: .7, smooth: .5, lone: 1.5, worm: .5}}
		p := newPlain(g, colors, opt)
		least := math.Inf(1)
		cells := make([]uint16, 6)
		for n := range 729 {
			for i, m := 0, n; i < 6; i, m = i+1, m/3 {
				cells[i] = uint16(m % 3)
			}
			least = math.Min(least, p.energy(cells))
		}
		at := lay(t, g, colors, opt)
		energy, bound := Judge(g, colors, at, opt)
		ours := p.energy(at)
		require.InEpsilon(t, ours, energy, .015)
		require.GreaterOrEqual(t, ours, least-1e-6)
		require.LessOrEqual(t, bound, 1.015*least)
		made, best, proven = made+ours, best+least, proven+bound
	}
	t.Logf("descent %.3f, best %.3f, proven %.3f", made, best, proven)
	assert.Less(t, made, 1.06*best)
	assert.Greater(t, proven, .3*best)
}

// Against every way there is to lay tiny pictures: the descent from the
// nearest colors ends within a few percent of the best, and what Judge proves
// never lies above it.
func TestPlaceAgainstAllWays(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	chance := rand.New(rand.NewPCG(7, 11))
	var made, best, proven, spoiled float64
	for round := range 24 {
		g := lab.NewGrid(3, 3)
		if round%3 == 1 {
			g = lab.NewGrid(5, 2)
		}
		for i := range g.Cells {
			g.Set(i%g.Cols, i/g.Cols, lab.Color{L: 40 + 9*r.Float64(), A: 8 * r.Float64(), B: 8 * r.Float64()})
		}
		colors := make([]lab.Color, 3)
		for i := range colors {
			colors[i] = lab.Color{L: 40 + 9*r.Float64(), A: 8 * r.Float64(), B: 8 * r.Float64()}
		}
		opt := Options{force: &strengths{blend: 2, smooth: .5, lone: 1.5, worm: .5}}
		least := math.Inf(1)
		cells := make([]uint16, len(g.Cells))
		ways := int(math.Pow(3, float64(len(cells))))
		p := newPlain(g, colors, opt)
		fast := p.pairs()
		for n := range ways {
			for i, m := 0, n; i < len(cells); i, m = i+1, m/3 {
				cells[i] = uint16(m % 3)
			}
			energy := fast.energy(cells) + p.alone(cells)
			if n%997 == 0 {
				require.InDelta(t, p.energy(cells), energy, 1e-6)
			}
			least = math.Min(least, energy)
		}
		at := lay(t, g, colors, opt)
		energy, bound := Judge(g, colors, at, opt)
		ours := p.energy(at)
		require.InEpsilon(t, ours, energy, .015) // kernels and light are rounded to whole numbers
		l := newLayer(g, colors, opt)
		poor := l.cells() // any way to lay them has to be told a limit of all ways
		for i := range poor {
			choice, cost := l.choicesOf(l.place(i%g.Cols, i/g.Cols))
			if j := chance.IntN(len(choice)); cost[j] != none {
				poor[i] = choice[j]
			}
		}
		_, limit := Judge(g, colors, poor, opt)
		require.LessOrEqual(t, limit, 1.015*least)
		spoiled += p.energy(poor)
		require.GreaterOrEqual(t, ours, least-1e-6)
		require.LessOrEqual(t, bound, 1.015*least)
		made, best, proven = made+ours, best+least, proven+bound
	}
	t.Logf("descent %.3f, best %.3f, proven %.3f; laid by chance %.3f", made, best, proven, spoiled)
	assert.Less(t, made, 1.06*best)
	assert.Greater(t, proven, .3*best)
	assert.Greater(t, spoiled, 1.5*best)
}

// plain reckons the energy in floating point, from the published kernels and
// the terms as the package comment has them, sharing no loop with the descent.
type plain struct {
	g      *lab.Grid
	colors []lab.Color
	with   strengths
	l      *layer
	light  [][3]float64
}

func newPlain(g *lab.Grid, colors []lab.Color, opt Options) *plain {
	p := &plain{g: g, colors: colors, with: opt.strengths(), l: newLayer(g, colors, opt)}
	for _, c := range colors {
		p.light = append(p.light, lab.Opponent(c))
	}
	return p
}

func (p *plain) energy(cells []uint16) (e float64) {
	g := p.g
	at := func(x, y int) (uint16, bool) {
		if x < 0 || y < 0 || x >= g.Cols || y >= g.Rows {
			return 0, false
		}
		return cells[y*g.Cols+x], true
	}
	n := lab.CellsPerDegree(2.5, 2000)
	kernels := lab.EyeKernels(n, 2)
	blocks := map[[2]int]*[3]float64{}
	size := map[[2]int]float64{}
	metrics := make([][6]float64, len(cells))
	squares := make([]float64, len(cells)) // of the miss from afar
	square := func(m [6]float64, f [3]float64) float64 {
		return m[0]*f[0]*f[0] + m[3]*f[1]*f[1] + m[5]*f[2]*f[2] + 2*(m[1]*f[0]*f[1]+m[2]*f[0]*f[2]+m[4]*f[1]*f[2])
	}
	for i, c := range cells {
		x, y := i%g.Cols, i/g.Cols
		e += lab.DeltaE(g.Cells[i], p.colors[c])
		near := p.l.near[p.l.place(x, y)]
		// From afar: narrow.
		var f [3]float64
		for yy := y - 2; yy <= y+2; yy++ {
			for xx := x - 2; xx <= x+2; xx++ {
				if d, ok := at(xx, yy); ok {
					target := lab.Opponent(g.At(xx, yy))
					for k := range f {
						w := kernels[k].Weight * kernels[k].At[max(xx-x, x-xx)] * kernels[k].At[max(yy-y, y-yy)]
						f[k] += w * (p.light[d][k] - target[k])
					}
				}
			}
		}
		var m [6]float64
		for k := range m {
			m[k] = float64(near[k]) * metricPart
		}
		metrics[i], squares[i] = m, square(m, f)
		// And wide: what its block misses, color alone.
		b := [2]int{x / 4, y / 4}
		if blocks[b] == nil {
			blocks[b] = new([3]float64)
		}
		target := lab.Opponent(g.Cells[i])
		for k := 1; k < 3; k++ {
			blocks[b][k] += p.light[c][k] - target[k]
		}
		size[b]++
		// Borders, each half.
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				d, ok := at(x+dx, y+dy)
				if !ok || d == c {
					continue
				}
				length := math.Pi / 8
				if dx != 0 && dy != 0 {
					length /= math.Sqrt2
				}
				height := math.Max(.6*lab.DeltaE(p.colors[c], p.colors[d]), math.Abs(p.colors[c].L-p.colors[d].L))
				e += p.with.smooth * math.Min(4, math.Max(.5, height/6)) * length / 2
			}
		}
	}
	e += p.alone(cells)
	bin := []float64{1, 4, 6, 4, 1}
	for i, m := range metrics {
		b := [2]int{i % g.Cols / 4, i / g.Cols / 4}
		var f [3]float64
		for dy := -2; dy <= 2; dy++ {
			for dx := -2; dx <= 2; dx++ {
				if s := blocks[[2]int{b[0] + dx, b[1] + dy}]; s != nil {
					for k := range f {
						f[k] += bin[dy+2] * bin[dx+2] / 256 * s[k] / 4
					}
				}
			}
		}
		// What the squares of the narrow ones leave of an area that is off.
		redGreen, blueYellow := 1-.616725*.616725, 1-.567885*.567885
		squares[i] += square([6]float64{3: m[3] * redGreen, 4: m[4] * math.Sqrt(redGreen*blueYellow), 5: m[5] * blueYellow}, f) / size[b]
		// Beyond the bend it grows no faster.
		far := squares[i]
		if s := p.with.bend; s > 0 && far > s*s {
			far = 2*s*math.Sqrt(far) - s*s
		}
		e += p.with.blend * far
	}
	return e
}

// alone is what lone drills and lines cost.
func (p *plain) alone(cells []uint16) (e float64) {
	cols, rows := p.g.Cols, p.g.Rows
	for i, c := range cells {
		like := func(dx, dy int) bool {
			x, y := i%cols+dx, i/cols+dy
			return x >= 0 && y >= 0 && x < cols && y < rows && cells[y*cols+x] == c
		}
		left, right, up, down := like(-1, 0), like(1, 0), like(0, -1), like(0, 1)
		if !left && !right && !up && !down {
			e += p.with.lone
		}
		if left && right && !up && !down || up && down && !left && !right {
			e += p.with.worm
		}
	}
	return e
}

// pairs is all of the energy but lone drills and lines, of three colors: what
// no more than two cells have a part in at once.
type pairs struct {
	none   float64           // all cells in color 0
	single [][3]float64      // a cell: what another color changes
	both   [][][3][3]float64 // two cells, the later one first: and what both together change beyond
}

// pairs takes the energy apart by changing one and two cells.
func (p *plain) pairs() pairs {
	q := *p
	q.with.lone, q.with.worm = 0, 0
	n := len(q.g.Cells)
	cells := make([]uint16, n)
	out := pairs{none: q.energy(cells), single: make([][3]float64, n), both: make([][][3][3]float64, n)}
	for i := range n {
		for c := uint16(1); c < 3; c++ {
			cells[i] = c
			out.single[i][c] = q.energy(cells) - out.none
		}
		cells[i] = 0
	}
	for i := range n {
		out.both[i] = make([][3][3]float64, i)
		for j := range i {
			for c := uint16(1); c < 3; c++ {
				for d := uint16(1); d < 3; d++ {
					cells[i], cells[j] = c, d
					out.both[i][j][c][d] = q.energy(cells) - out.none - out.single[i][c] - out.single[j][d]
				}
			}
			cells[i], cells[j] = 0, 0
		}
	}
	return out
}

func (p pairs) energy(cells []uint16) float64 {
	e := p.none
	for i, c := range cells {
		e += p.single[i][c]
		for j, d := range cells[:i] {
			e += p.both[i][j][c][d]
		}
	}
	return e
}

// The farthest off that anything can be: a black picture laid all in white, or
// in the strongest blue. What one black drill then changes fits, too.
func TestPlaceNothingOverflows(t *testing.T) {
	g := lab.NewGrid(24, 24) // black, and no mixing there: so the metric is put in
	for _, light := range []lab.Color{{L: 100}, lab.FromSRGB([3]uint8{0, 0, 255})} {
		colors := []lab.Color{{}, light}
		l := newLayer(g, colors, Options{force: &strengths{blend: 4}})
		m := metricAt([3]float64{})
		share := mostMetric / max(m[0], m[3], m[5])
		for q := range l.near {
			for k := range m {
				l.near[q][k] = int32(math.Round(m[k] * share))
			}
		}
		miss := make([][3]int64, len(l.at))
		l.Scene.mesh = newMesh(l.Scene)
		l.mesh = l.meshOf(miss)
		for q := range l.at {
			l.wide[q] = metric{}
		}
		v := visitor{layer: l}
		for y := range 24 {
			for x := range 24 {
				q := l.place(x, y)
				if x >= 2 && y >= 2 && x < 22 && y < 22 {
					l.wide[q] = l.curve(q, &l.changes[0])
				}
				v.block = l.block(q)
				v.set(q, 1)
			}
		}
		full := l.farEnergy()
		q := l.place(12, 12)
		dx, dy, dz := l.step(1, 0)
		pull := l.gradient(q, l.mesh.pull(l.block(q)))
		change := l.farCost(2*(pull[0]*dx+pull[1]*dy+pull[2]*dz) + l.wide[q].of(dx, dy, dz) + l.mesh.wide[l.block(q)].of(dx, dy, dz))
		v.block = l.block(q)
		v.set(q, 0)
		assert.InEpsilon(t, l.farEnergy()-full, float64(change), .001)
		assert.Negative(t, change)
	}
}

// A soft ground between two colors is mixed of both, closer from afar than the
// nearest of them, with hardly a lone drill and no long thin line.
func TestPlaceMixesSoftGrounds(t *testing.T) {
	from, to := lab.Color{L: 52, A: 10, B: 18}, lab.Color{L: 56, A: 2, B: 14}
	g := shaded(64, 48, from, to)
	colors := []lab.Color{from, to}
	near := nearestColors(g, colors)
	at := lay(t, g, colors, Options{Calm: .5})
	assert.Less(t, farMiss(g, painted(g, colors, at)), .75*farMiss(g, painted(g, colors, near)))
	assert.Less(t, loneShare(at, g.Cols, g.Rows), .02)
	longest := 0
	for y := range g.Rows {
		for x := 0; x < g.Cols; {
			n, thin := x, true
			for ; n < g.Cols && at[y*g.Cols+n] == at[y*g.Cols+x]; n++ {
				i := y*g.Cols + n
				thin = thin && (y == 0 || at[i-g.Cols] != at[i]) && (y+1 == g.Rows || at[i+g.Cols] != at[i])
			}
			if thin {
				longest = max(longest, n-x)
			}
			x = n
		}
	}
	assert.LessOrEqual(t, longest, 8, "a worm")
	// Calm takes the mixture back.
	assert.Less(t, changes(lay(t, g, colors, Options{Calm: 1}), g.Cols), changes(at, g.Cols)*2/3)
}

func changes(at []uint16, cols int) (n int) {
	for i := range at {
		if (i+1)%cols != 0 && at[i] != at[i+1] {
			n++
		}
	}
	return n
}

func farMiss(g, made *lab.Grid) float64 {
	return lab.MeanMiss(lab.FarMiss(g, made, lab.CellsPerDegree(2.5, 2000)))
}

// Flat ground between two colors, near-black, and drawn lines stay as they are.
func TestPlaceDoesNotMixEverything(t *testing.T) {
	a, b := lab.Color{L: 50}, lab.Color{L: 60}
	flat := shaded(40, 30, lab.Color{L: 54.4}, lab.Color{L: 54.4})
	for _, c := range lay(t, flat, []lab.Color{a, b}, Options{}) {
		require.EqualValues(t, 0, c)
	}
	black := shaded(40, 30, lab.Color{L: 0}, lab.Color{L: 4})
	for i, c := range lay(t, black, []lab.Color{{L: 0}, {L: 4}}, Options{}) {
		if x := i % 40; x < 17 || x > 22 {
			require.EqualValues(t, x/20, c, "column %d", x)
		}
	}
	art := shaded(40, 30, lab.Color{L: 95}, lab.Color{L: 95})
	want := make([]uint16, len(art.Cells))
	for i := range art.Cells {
		switch x, y := i%40, i/40; {
		case x == y || x == 30:
			art.Cells[i], want[i] = lab.Color{L: 20}, 1
		case x == y+1: // an edge between
			art.Cells[i] = lab.Color{L: 70}
		}
	}
	for _, calm := range []float64{0, .5} {
		at := lay(t, art, []lab.Color{{L: 95}, {L: 20}, {L: 60, A: 20}}, Options{Calm: calm})
		for i, c := range want {
			if i%40 == 30 {
				require.Equal(t, c, at[i], "the line at calm %v", calm)
			}
		}
		for i := range at {
			if x, y := i%40, i/40; x != 30 && (x < y-2 || x > y+3) {
				require.EqualValues(t, 0, at[i], "the paper at calm %v", calm)
			}
		}
	}
}

// A smooth light sky that goes over from one blue to another that looks unlike
// it is laid plain in each and mixed only where they are about as near: grain
// shows to whoever sits close, and so does a hard edge. Blues that look alike
// are mixed farther out, as unlike ones on darker and rougher ground are, and at
// calm 0.
func TestPlaceLeavesLightGroundPlain(t *testing.T) {
	mixed := func(l, rough float64, b lab.Color, calm float64) (all, sides int) {
		r := rand.New(rand.NewPCG(5, 9))
		a := lab.Color{L: l, A: -6, B: -4}
		g := shaded(64, 36, a, b)
		for i := range g.Cells {
			g.Cells[i].L += rough * (r.Float64() - .5)
		}
		bare := bareness(g)[18*64+8]
		assert.Equal(t, l > 80 && rough == 0, bare > .9, "L* %v, rough %v", l, rough)
		assert.Equal(t, l < 60 || rough > 0, bare < .1, "L* %v, rough %v", l, rough)
		at := lay(t, g, []lab.Color{a, b}, Options{Calm: calm})
		for i := range at {
			if x := i % 64; x < 63 && at[i] != at[i+1] {
				all++
				if x < 20 || x >= 43 {
					sides++
				}
			}
		}
		return all, sides
	}
	unlike := func(l float64) lab.Color { return lab.Color{L: l - 9, A: -6, B: -15} }
	all, sides := mixed(90, 0, unlike(90), .5)
	assert.Zero(t, sides)
	assert.Greater(t, all, 80, "a soft edge")
	all, sides = mixed(90, 0, unlike(90), 1)
	assert.Zero(t, sides)
	assert.Less(t, all, 50)
	for _, c := range []struct {
		light, rough float64
		to           lab.Color
		calm         float64
	}{
		{90, 0, unlike(90), 0},
		{90, 0, lab.Color{L: 88, A: -6, B: -10.5}, .5},
		{55, 0, unlike(55), .5},
		{90, 12, unlike(90), .5},
	} {
		_, sides := mixed(c.light, c.rough, c.to, c.calm)
		assert.Greater(t, sides, 150, "%+v", c)
	}
}

// A green eye in tan fur keeps its green where the tan would do for its lightness;
// where the picture is green for a good part, both are mixed.
func TestPlaceKeepsAccents(t *testing.T) {
	const side = 72
	hued := func(l, degrees float64) lab.Color {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		return lab.Color{L: l, A: 26 * cos, B: 26 * sin}
	}
	colors := []lab.Color{hued(30, 66), hued(40, 66), hued(50, 66), hued(31, 88), hued(49, 88)}
	tan := func(radius float64) (share float64) {
		g := lab.NewGrid(side, side)
		r := rand.New(rand.NewPCG(3, 9))
		at := func(i int) (x, y float64) { return float64(i%side) - side/2, float64(i/side) - side/2 }
		for i := range g.Cells {
			x, y := at(i)
			c := hued(40+10*math.Sin(x/7)+2*r.Float64(), 66+2*r.Float64())
			if d := math.Hypot(x, y); d < radius {
				c = hued(31+18*d/radius, 86)
			}
			g.Set(i%side, i/side, c)
		}
		cells, near := lay(t, g, colors, Options{Calm: .5}), nearestColors(g, colors)
		green, lost := 0, 0
		for i := range cells {
			if x, y := at(i); math.Hypot(x, y) < radius && near[i] > 2 {
				green++
				if cells[i] < 3 {
					lost++
				}
			}
		}
		require.Greater(t, float64(green), .9*math.Pi*radius*radius)
		return float64(lost) / float64(green)
	}
	eye, much := tan(4.5), tan(25)
	t.Logf("tan in the green: %.3f of an eye, %.3f of a wide ground", eye, much)
	assert.Zero(t, eye)
	assert.Greater(t, much, .02)
}

// The glint in an eye, one to four drills, is there however calm the rest is.
func TestPlaceKeepsGlints(t *testing.T) {
	for drills := 1; drills <= 4; drills++ {
		for _, light := range []float64{42, 60, 92} {
			g := scene(40, 40)
			for i := range g.Cells {
				if math.Hypot(float64(i%40)-19.5, float64(i/40)-19.5) < 5 {
					g.Cells[i] = lab.Color{L: 11, A: 1, B: 2}
				}
			}
			glint := []int{19*40 + 19, 19*40 + 20, 20*40 + 19, 20*40 + 20}[:drills]
			for _, i := range glint {
				g.Cells[i] = lab.Color{L: light}
			}
			colors := append(spread(g, 14), lab.Color{L: 11, A: 1, B: 2}, lab.Color{L: light})
			for _, calm := range []float64{0, .5, 1} {
				at := lay(t, g, colors, Options{Calm: calm})
				for _, i := range glint {
					require.Greater(t, colors[at[i]].L, light-12, "%d drills of L* %v at calm %v", drills, light, calm)
				}
			}
		}
	}
}

func TestPlaceCalms(t *testing.T) {
	g := scene(60, 50)
	colors := spread(g, 18)
	last := 1.0
	for _, calm := range []float64{0, .25, .5, .75, 1} {
		lone := loneShare(lay(t, g, colors, Options{Calm: calm}), g.Cols, g.Rows)
		t.Logf("calm %v: %.2f %% lone", calm, 100*lone)
		assert.Less(t, lone, last, "calm %v", calm)
		last = lone
	}
	assert.Less(t, last, .01)
}

// No border is cheaper for lying along the grid: the lengths of Boykov and
// Kolmogorov on eight neighbors measure a disc's border as a square's of the
// same true length, within 12 percent.
func TestBordersInAllDirections(t *testing.T) {
	g := lab.NewGrid(80, 80)
	colors := []lab.Color{{L: 40}, {L: 46}}
	l := newLayer(g, colors, Options{force: &strengths{smooth: 1}})
	length := func(in func(x, y float64) bool) float64 {
		for y := range 80 {
			for x := range 80 {
				l.at[l.place(x, y)] = 0
				if in(float64(x)+.5, float64(y)+.5) {
					l.at[l.place(x, y)] = 1
				}
			}
		}
		var sum int64
		for y := range 80 {
			for x := range 80 {
				q := l.place(x, y)
				sum += l.borders(q, l.at[q])
			}
		}
		return float64(sum) / 2 / unit
	}
	square := length(func(x, y float64) bool { return x > 20 && x < 60 && y > 20 && y < 60 }) / 160
	turned := length(func(x, y float64) bool { return math.Abs(x-40)+math.Abs(y-40) < 28 }) / (4 * 28 * math.Sqrt2)
	disc := length(func(x, y float64) bool { return math.Hypot(x-40, y-40) < 25 }) / (2 * math.Pi * 25)
	assert.InDelta(t, 1, square, .07)
	assert.InDelta(t, 1, turned, .12)
	assert.InDelta(t, 1, disc, .07)
}

func TestPlaceKeepsFixedCells(t *testing.T) {
	g := scene(40, 40)
	colors := spread(g, 12)
	fixed := make([]int32, len(g.Cells))
	for i := range fixed {
		fixed[i] = -1
		if i%40 < 3 {
			fixed[i] = int32(i % 12)
		}
	}
	for _, calm := range []float64{0, .5, 1} {
		at := lay(t, g, colors, Options{Calm: calm, Fixed: fixed})
		for i, f := range fixed {
			if f >= 0 {
				require.EqualValues(t, f, at[i])
			}
		}
	}
}

func TestPlaceWeighs(t *testing.T) {
	g := scene(60, 60)
	colors := spread(g, 12)
	weight := make([]uint16, len(g.Cells))
	for i := range weight {
		weight[i] = 4
		if i >= 30*60 {
			weight[i] = 16
		}
	}
	miss := func(at []uint16) (m float64) {
		for i := 30 * 60; i < len(at); i++ {
			m += lab.DeltaE(g.Cells[i], colors[at[i]])
		}
		return m
	}
	other := make([]uint16, len(weight))
	for i := range other {
		other[i] = 20 - weight[i]
	}
	assert.Less(t, miss(lay(t, g, colors, Options{Calm: 1, Weight: weight})), .99*miss(lay(t, g, colors, Options{Calm: 1, Weight: other})))
}

func TestPlaceIsTheSameWithAnyNumberOfProcessors(t *testing.T) {
	g := scene(83, 57)
	colors := spread(g, 21)
	var want []uint16
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, procs := range []int{1, 2, 4, 7} {
		runtime.GOMAXPROCS(procs)
		at := lay(t, g, colors, Options{Calm: .3})
		if want == nil {
			want = at
		}
		require.Equal(t, want, at)
	}
}

// The same cells on every machine: a picture made of integers, so that only
// Place's own arithmetic could differ.
func TestPlaceIsTheSameEverywhere(t *testing.T) {
	g := lab.NewGrid(61, 47)
	for i := range g.Cells {
		x, y := i%61, i/61
		g.Set(x, y, lab.Color{L: float64(20 + x + (i*i*7+y*13)%17), A: float64((x-30)*(y-20)%40) / 2, B: float64(y - 15 + i*11%9)})
	}
	var colors []lab.Color
	for i := range 24 {
		colors = append(colors, lab.Color{L: float64(20 + i*37%71), A: float64(i*17%31 - 15), B: float64(i*29%43 - 18)})
	}
	var got bytes.Buffer
	for _, opt := range []Options{{}, {Calm: .25}, {Calm: .5}, {Calm: 1}, {Calm: .5, PerDegree: 20}} {
		fmt.Fprintf(&got, "calm %v, %v a degree\n", opt.Calm, opt.PerDegree)
		for i, c := range lay(t, g, colors, opt) {
			got.WriteByte("abcdefghijklmnopqrstuvwx"[c])
			if i%61 == 60 {
				got.WriteByte('\n')
			}
		}
	}
	golden.Equal(t, "place.txt", got.Bytes())
}

func TestPlaceSmallAndOdd(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {2, 1}, {1, 3}, {17, 16}, {16, 33}} {
		g := scene(size[0], size[1])
		for _, k := range []int{1, 2, 40} {
			colors := make([]lab.Color, k) // some alike
			for i := range colors {
				colors[i] = lab.Color{L: float64(i % 7 * 15), A: float64(i % 3)}
			}
			for _, opt := range []Options{{}, {Calm: .5}, {Calm: 1}, {Calm: 7}, {Calm: -1}, {Calm: math.NaN()}} {
				at := lay(t, g, colors, opt)
				for _, c := range at {
					require.Less(t, int(c), k)
				}
				energy, bound := Judge(g, colors, at, opt)
				require.LessOrEqual(t, bound, energy)
			}
		}
	}
}

func TestPlaceStops(t *testing.T) {
	g := scene(50, 50)
	ctx, cancel := context.WithCancel(context.Background())
	steps := 0
	ctx = say.WithProgress(ctx, func(_ string, done, total int) {
		steps++
		if done == 2 {
			cancel()
		}
	})
	at, err := Place(ctx, g, spread(g, 12), Options{Calm: .5})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Len(t, at, len(g.Cells))
	assert.Positive(t, steps)
}
