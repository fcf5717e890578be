package place

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// Against a solver's exact optimum on tiny grids: near misses, borders and the
// far view, a quadratic form of the cells' colors, are written down from what the
// plain reckoning gives for one and two cells changed, made linear (a product of
// two choices is a variable of its own), and solved by GLPK (Debian glpk-utils).
// The descent never ends below that optimum and hardly above, and what Judge
// proves never lies above it.
func TestFarViewAgreesWithGLPK(t *testing.T) {
	checker.Need(t, "glpsol")
	r := rand.New(rand.NewPCG(17, 3))
	var ours, best, proven float64
	for round := range 4 {
		g := lab.NewGrid(4-round%2, 3)
		for i := range g.Cells {
			g.Set(i%g.Cols, i/g.Cols, lab.Color{L: 40 + 9*r.Float64(), A: 8 * r.Float64(), B: 8 * r.Float64()})
		}
		colors := make([]lab.Color, 3)
		for i := range colors {
			colors[i] = lab.Color{L: 40 + 9*r.Float64(), A: 8 * r.Float64(), B: 8 * r.Float64()}
		}
		opt := Options{force: &strengths{blend: 4, smooth: .1 * float64(round)}}
		p := newPlain(g, colors, opt)
		least := glpkLeast(t, p)
		at := lay(t, g, colors, opt)
		_, bound := Judge(g, colors, at, opt)
		made := p.energy(at)
		require.GreaterOrEqual(t, made, least-1e-4, "nothing lies below the optimum")
		require.LessOrEqual(t, bound, 1.015*least) // kernels and light are rounded to whole numbers there
		ours, best, proven = ours+made, best+least, proven+bound
	}
	t.Logf("descent %.3f, solver %.3f, proven %.3f", ours, best, proven)
	assert.Less(t, ours, 1.03*best)
	assert.Greater(t, proven, .5*best)
}

// glpkLeast is the least energy that any colors of the cells have, lone drills
// and lines left out.
func glpkLeast(t *testing.T, p *plain) float64 {
	q := p.pairs()
	var sum, rows, names strings.Builder
	for i := range q.single {
		for c := 1; c < 3; c++ {
			fmt.Fprintf(&sum, " %+.9f x%d_%d\n", q.single[i][c], i, c)
			fmt.Fprintf(&names, " x%d_%d\n", i, c)
		}
		fmt.Fprintf(&rows, " x%d_1 + x%d_2 <= 1\n", i, i)
		for j := range i {
			for c := 1; c < 3; c++ {
				for d := 1; d < 3; d++ {
					v, name := q.both[i][j][c][d], fmt.Sprintf("y%d_%d_%d_%d", i, c, j, d)
					switch {
					case math.Abs(v) < 1e-9:
						continue
					case v > 0:
						fmt.Fprintf(&rows, " %s - x%d_%d - x%d_%d >= -1\n", name, i, c, j, d)
					default:
						fmt.Fprintf(&rows, " %s - x%d_%d <= 0\n %s - x%d_%d <= 0\n", name, i, c, name, j, d)
					}
					fmt.Fprintf(&sum, " %+.9f %s\n", v, name)
				}
			}
		}
	}
	text := checker.GLPK(t, "Minimize\n cost:"+sum.String()+"Subject To\n"+rows.String()+"Binary\n"+names.String()+"End\n")
	m := regexp.MustCompile(`Objective:\s+cost = (-?[0-9.e+]+)`).FindStringSubmatch(text)
	require.NotNil(t, m, text[:min(len(text), 500)])
	v, err := strconv.ParseFloat(m[1], 64)
	require.NoError(t, err)
	return q.none + v
}
