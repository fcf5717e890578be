package quantize

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// TestORLibrary solves the p-median problems of OR-Library (J. E. Beasley, "A
// note on solving large p-median problems", European Journal of Operational
// Research 21 (1985) 270-273), the files pmedN.txt in the folder named by
// KITWRIGHT_ORLIB, and wants each published optimum of optima.txt reached and
// proven.
func TestORLibrary(t *testing.T) {
	dir := checker.Folder(t, "KITWRIGHT_ORLIB")
	optima := readOptima(t, filepath.Join(dir, "optima.txt"))
	total, found := time.Duration(0), 0
	for n := 1; n <= 40; n++ {
		name := fmt.Sprintf("pmed%d", n)
		text, err := os.ReadFile(filepath.Join(dir, name+".txt"))
		if os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err)
		want, ok := optima[name]
		require.True(t, ok, "no published optimum for %s", name)
		c, k := readPmed(t, text)
		start := time.Now()
		s, err := Median(context.Background(), c, MedianOptions{K: k})
		require.NoError(t, err)
		took := time.Since(start)
		total += took
		found++
		proven := s.Bound == s.Cost
		t.Logf("%-7s n %3d k %3d: cost %5d bound %5d proven %-5v %.3f s", name, c.Clients, k, s.Cost, s.Bound, proven, took.Seconds())
		if s.Cost != want || !proven {
			t.Errorf("%s: the published optimum is %d", name, want)
		}
		require.Len(t, s.Open, k)
		require.Equal(t, s.Cost, plainCost(c, s.Open), "%s: the cost is not that of the open set", name)
	}
	require.NotZero(t, found, "no pmedN.txt in %s", dir)
	t.Logf("%d problems, %.2f s", found, total.Seconds())
}

func readOptima(t *testing.T, path string) map[string]int64 {
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	optima := map[string]int64{}
	for line := range strings.Lines(string(text)) {
		var name string
		var value int64
		if n, _ := fmt.Sscan(line, &name, &value); n == 2 {
			optima[name] = value
		}
	}
	return optima
}

// readPmed reads a graph and returns all its shortest paths, and k. A repeated
// edge takes its last cost.
func readPmed(t *testing.T, text []byte) (Costs, int) {
	in := bufio.NewReader(bytes.NewReader(text))
	var n, edges, k int
	_, err := fmt.Fscan(in, &n, &edges, &k)
	require.NoError(t, err)
	const far = math.MaxInt32 / 2
	at := make([]int32, n*n)
	for i := range at {
		if i/n != i%n {
			at[i] = far
		}
	}
	for range edges {
		var a, b int
		var cost int32
		_, err := fmt.Fscan(in, &a, &b, &cost)
		require.NoError(t, err)
		at[(a-1)*n+b-1], at[(b-1)*n+a-1] = cost, cost
	}
	for v := range n {
		for i := range n {
			for j := range n {
				at[i*n+j] = min(at[i*n+j], at[i*n+v]+at[v*n+j])
			}
		}
	}
	return Costs{Clients: n, Facilities: n, At: at}, k
}

// plainCost is what an open set costs, the slow way.
func plainCost(c Costs, open []int) (sum int64) {
	for i := range c.Clients {
		best := int32(math.MaxInt32)
		for _, j := range open {
			best = min(best, c.At[i*c.Facilities+j])
		}
		w := int64(1)
		if c.Weight != nil {
			w = c.Weight[i]
		}
		sum += w * int64(best)
	}
	return sum
}
