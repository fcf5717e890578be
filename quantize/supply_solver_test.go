package quantize

import (
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
