package quantize

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// asked is a problem of supply as an outside solver takes it.
type asked struct {
	g         *goods // the last column stands for no color and is left out
	room      []int64
	k         int
	buy, bags int
	bag       int64
}

// program writes it as a mixed integer program in CPLEX's LP format: x cells of
// a client from a column, y whether a column is in, z bags of it.
func (a asked) program() string {
	var lp strings.Builder
	m := len(a.room)
	lp.WriteString("Minimize\n cost:")
	for i := range a.g.row {
		for c := range m {
			fmt.Fprintf(&lp, " + %d x%d_%d\n", a.g.at(int32(i), int32(c)), i, c)
		}
	}
	lp.WriteString("Subject To\n")
	for i, n := range a.g.count {
		for c := range m {
			fmt.Fprintf(&lp, " + x%d_%d", i, c)
		}
		fmt.Fprintf(&lp, " = %d\n", n)
		for c := range m {
			fmt.Fprintf(&lp, " x%d_%d - %d y%d <= 0\n", i, c, n, c)
		}
	}
	for c, room := range a.room {
		if room == 0 && a.buy > 0 {
			continue // bought without end
		}
		for i := range a.g.row {
			fmt.Fprintf(&lp, " + x%d_%d", i, c)
		}
		if a.bags > 0 {
			fmt.Fprintf(&lp, " - %d z%d", a.bag, c)
		}
		fmt.Fprintf(&lp, " <= %d\n", room)
	}
	sum := func(name string, in func(c int) bool, most int) {
		any := false
		for c := range m {
			if in(c) {
				fmt.Fprintf(&lp, " + %s%d", name, c)
				any = true
			}
		}
		if any {
			fmt.Fprintf(&lp, " <= %d\n", most)
		}
	}
	sum("y", func(int) bool { return true }, a.k)
	sum("y", func(c int) bool { return a.room[c] == 0 && a.bags == 0 }, a.buy)
	if a.bags > 0 {
		sum("z", func(int) bool { return true }, a.bags)
		lp.WriteString("General\n")
		for c := range m {
			fmt.Fprintf(&lp, " z%d\n", c)
		}
	}
	lp.WriteString("Binary\n")
	for c := range m {
		fmt.Fprintf(&lp, " y%d\n", c)
	}
	lp.WriteString("End\n")
	return lp.String()
}

// glpsol solves it with GLPK (Debian glpk-utils); false where it cannot be done.
func (a asked) glpsol(t *testing.T) (int64, bool) {
	dir := t.TempDir()
	in, out := filepath.Join(dir, "supply.lp"), filepath.Join(dir, "supply.txt")
	require.NoError(t, os.WriteFile(in, []byte(a.program()), 0o666))
	said, err := exec.Command("glpsol", "--lp", in, "-o", out).CombinedOutput()
	require.NoError(t, err, string(said))
	text, err := os.ReadFile(out)
	require.NoError(t, err)
	if strings.Contains(string(text), "INTEGER EMPTY") || strings.Contains(string(text), "INTEGER UNDEFINED") {
		return 0, false
	}
	require.Contains(t, string(text), "INTEGER OPTIMAL")
	m := regexp.MustCompile(`Objective:\s+cost = ([0-9.e+]+)`).FindSubmatch(text)
	require.NotNil(t, m, string(text[:min(len(text), 500)]))
	v, err := strconv.ParseFloat(string(m[1]), 64)
	require.NoError(t, err)
	return int64(v + 0.5), true
}

// ours looks for the best set, and its bound.
func (a asked) ours() (cost, bound int64, err error) {
	s := &supplier{g: a.g, k: a.k, buy: a.buy, bags: a.bags, limits: limitsOf(Normal), owned: a.room,
		bagged: func(c int32, bags int) int64 { return a.room[c] + a.bag*int64(bags) }}
	for c := range a.room {
		s.color = append(s.color, int32(c))
	}
	s.keep, s.fixed, s.price = make([]bool, len(a.room)), make([]int64, len(a.room)), make([]int64, len(a.room)+1)
	set, err := s.choose(context.Background())
	if err != nil {
		return 0, 0, err
	}
	set, bound = s.bound(context.Background(), set)
	return set.cost, bound, nil
}

// randomAsked makes a problem whose last column stands for no color.
func randomAsked(rng *rand.Rand, clients, colors int, share float64) asked {
	g := randomGoods(rng, clients, colors+1, 1000)
	for i := range g.count {
		g.count[i] = 1 + rng.Int64N(9)
	}
	g.cells = 0
	for i, n := range g.count {
		g.cells += n
		g.cost[i*g.cols+colors] = 5000
	}
	a := asked{g: g, room: make([]int64, colors), k: colors, bag: 12}
	owned := colors/2 + rng.IntN(colors/3)
	for c := range owned {
		a.room[c] = 1 + int64(2*share*rng.Float64()*float64(g.cells)/float64(owned))
	}
	return a
}

// Purchases on small problems: the search finds what GLPK proves to be the best,
// or next to it, and the bound holds.
func TestSupplyAgreesWithGLPK(t *testing.T) {
	checker.Need(t, "glpsol")
	rng := rand.New(rand.NewPCG(12, 6))
	best, short := 0, 0
	const runs = 32
	for run := range runs {
		a := randomAsked(rng, 12, 10, []float64{0.6, 1.1, 2}[rng.IntN(3)])
		switch run % 4 {
		case 0:
			a.buy = 1 + rng.IntN(3)
		case 1:
			a.bags = 1 + rng.IntN(6)
		case 2:
			a.k = 3 + rng.IntN(3)
		case 3:
			a.k, a.buy = 4+rng.IntN(3), 1+rng.IntN(2)
		}
		want, ok := a.glpsol(t)
		cost, bound, err := a.ours()
		if !ok {
			require.Error(t, err)
			short++
			continue
		}
		require.NoError(t, err, "run %d: GLPK finds %d", run, want)
		require.GreaterOrEqual(t, cost, want, "run %d", run)
		require.LessOrEqual(t, bound, want, "run %d", run)
		assert.LessOrEqual(t, float64(cost), 1.02*float64(want), "run %d", run)
		if cost == want {
			best++
		}
	}
	t.Logf("%d of %d the best by GLPK, %d impossible by both", best, runs-short, short)
	assert.GreaterOrEqual(t, best, (runs-short)*9/10)
}

// highs solves it with the HiGHS solver (Debian python3-scipy).
func (a asked) highs(t *testing.T, python string) int64 {
	var in bytes.Buffer
	m := len(a.room)
	fmt.Fprintln(&in, len(a.g.row), m, a.k, a.buy, a.bags, a.bag)
	for _, n := range a.g.count {
		fmt.Fprintln(&in, n)
	}
	for _, r := range a.room {
		fmt.Fprintln(&in, r)
	}
	for i := range a.g.row {
		for c := range m {
			fmt.Fprintln(&in, a.g.at(int32(i), int32(c)))
		}
	}
	return checker.Number(t, python, filepath.Join("testdata", "supply.py"), in.Bytes())
}

// A real photo in its coarse bins and 40 colors of the card, 24 of them owned:
// transport, new colors and bags against HiGHS.
func TestSupplyAgreesWithHiGHSOnAPhoto(t *testing.T) {
	python := pythonWith(t, "scipy.optimize")
	if testing.Short() {
		t.Skip("skipped: takes seconds")
	}
	card := munsell(t)
	colors := make([]lab.Color, 40)
	for j := range colors {
		colors[j] = card[j*len(card)/len(colors)]
	}
	p, err := Prepare(demoGrid(t, 60, 80), colors)
	require.NoError(t, err)
	bins := p.levels[0]
	g := &goods{cols: len(colors) + 1}
	for i, w := range p.objective(Options{}).weights[0] {
		g.row, g.factor, g.count = append(g.row, int32(i)), append(g.factor, 1), append(g.count, w)
		g.cells += w
		for _, c := range bins.from {
			g.cost = append(g.cost, units(bins.points[i], c))
		}
		g.cost = append(g.cost, bareMiss)
	}
	rng := rand.New(rand.NewPCG(12, 9))
	for _, share := range []float64{1.05, 2} {
		room := owning(rng, len(colors), 24, int(g.cells), share)
		if share == 2 && os.Getenv("KITWRIGHT_CHECKERS") != "all" {
			continue
		}
		for _, a := range []asked{{buy: 0}, {buy: 1}, {buy: 3}, {bags: 2}, {bags: 6}} {
			a.g, a.room, a.k, a.bag = g, room, len(colors), 200
			want := a.highs(t, python)
			cost, bound, err := a.ours()
			require.NoError(t, err)
			require.LessOrEqual(t, bound, want)
			require.GreaterOrEqual(t, cost, want)
			switch {
			case a.bags == 0:
				require.Equal(t, want, cost, "buy %d", a.buy)
				require.Equal(t, want, bound, "and proven")
			default:
				require.LessOrEqual(t, float64(cost), 1.002*float64(want))
				require.LessOrEqual(t, float64(want), 1.01*float64(bound))
			}
			t.Logf("%d bins, %.2f, %d new, %d bags: %d, bound %d, by HiGHS %d", len(g.row), share, a.buy, a.bags, cost, bound, want)
		}
	}
}
