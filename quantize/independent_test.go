package quantize

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
	"kitwright/photo"
)

// demoGrid samples the middle of the built-in photo of a cat.
func demoGrid(t testing.TB, cols, rows int) *lab.Grid {
	t.Helper()
	p, err := photo.Read(context.Background(), bytes.NewReader(photo.Demo()), photo.Limits{})
	require.NoError(t, err)
	return p.Sample(middle(p, cols, rows), cols, rows)
}

func (c Costs) weight(i int) int64 {
	if c.Weight == nil {
		return 1
	}
	return c.Weight[i]
}

// glpsol solves a problem with GLPK's branch and bound (Debian glpk-utils).
func glpsol(t *testing.T, c Costs, k int) int64 {
	var lp strings.Builder
	lp.WriteString("Minimize\n cost:")
	for i := range c.Clients {
		for j := range c.Facilities {
			fmt.Fprintf(&lp, " + %d x%d_%d\n", c.weight(i)*int64(c.At[i*c.Facilities+j]), i, j)
		}
	}
	lp.WriteString("Subject To\n")
	for i := range c.Clients {
		for j := range c.Facilities {
			fmt.Fprintf(&lp, " + x%d_%d", i, j)
		}
		lp.WriteString(" = 1\n")
		for j := range c.Facilities {
			fmt.Fprintf(&lp, " x%d_%d - y%d <= 0\n", i, j, j)
		}
	}
	for j := range c.Facilities {
		fmt.Fprintf(&lp, " + y%d", j)
	}
	fmt.Fprintf(&lp, " = %d\nBinary\n", k)
	for j := range c.Facilities {
		fmt.Fprintf(&lp, " y%d\n", j)
	}
	lp.WriteString("End\n")
	text := checker.GLPK(t, lp.String())
	m := regexp.MustCompile(`Objective:\s+cost = ([0-9.e+]+)`).FindStringSubmatch(text)
	require.NotNil(t, m, text[:min(len(text), 500)])
	v, err := strconv.ParseFloat(m[1], 64)
	require.NoError(t, err)
	return int64(v + 0.5)
}

func TestMedianAgreesWithGLPK(t *testing.T) {
	checker.Need(t, "glpsol")
	rng := rand.New(rand.NewPCG(11, 11))
	for range 6 {
		c := randomCosts(rng, 30, 14)
		k := 2 + rng.IntN(6)
		s, err := Median(context.Background(), c, MedianOptions{K: k})
		require.NoError(t, err)
		require.Equal(t, s.Cost, s.Bound)
		require.Equal(t, glpsol(t, c, k), s.Cost)
	}
}

// pythonWith returns a Python that has the module, Debian's own first.
func pythonWith(t *testing.T, module string) string {
	t.Helper()
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import "+module).Run() == nil {
			return python
		}
	}
	checker.Missing(t, "Python's "+module)
	return ""
}

// highs solves a problem with the HiGHS solver (Debian python3-scipy).
func highs(t *testing.T, python string, c Costs, k int) int64 {
	var in bytes.Buffer
	fmt.Fprintln(&in, c.Clients, c.Facilities, k)
	for i, d := range c.At {
		fmt.Fprintln(&in, c.weight(i/c.Facilities)*int64(d))
	}
	return checker.Number(t, python, filepath.Join("testdata", "median.py"), in.Bytes())
}

// A real photo in at most 300 bins and 100 colors of the card.
func TestMedianAgreesWithHiGHSOnAPhoto(t *testing.T) {
	python := pythonWith(t, "scipy.optimize")
	if testing.Short() {
		t.Skip("skipped: takes seconds")
	}
	card := munsell(t)
	colors := make([]lab.Color, 100)
	for j := range colors {
		colors[j] = card[j*len(card)/len(colors)]
	}
	p, err := Prepare(demoGrid(t, 80, 100), colors)
	require.NoError(t, err)
	bins := p.levels[0]
	c := Costs{Clients: len(bins.points), Facilities: len(colors), Weight: p.objective(Options{}).weights[0]}
	require.LessOrEqual(t, c.Clients, 300)
	for _, point := range bins.points {
		for _, color := range bins.from {
			c.At = append(c.At, units(point, color))
		}
	}
	for _, k := range []int{6, 14} {
		s, err := Median(context.Background(), c, MedianOptions{K: k})
		require.NoError(t, err)
		require.Equal(t, s.Cost, s.Bound, "not proven")
		require.Equal(t, highs(t, python, c, k), s.Cost)
		t.Logf("%d bins, %d colors, k %d: %d, proven, and found by HiGHS", c.Clients, c.Facilities, k, s.Cost)
	}
}
