package plane

import (
	"fmt"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
)

// dice is a fixed sequence of numbers in 0..n-1.
type dice uint32

func (s *dice) next(n int) int {
	*s = *s*1664525 + 1013904223
	return int(*s>>8) % n
}

// The filters against SciPy's ndimage (Debian python3-scipy): its Gaussian,
// and a guided filter put together from its box means in the plainest way.
func TestFiltersAgainstSciPy(t *testing.T) {
	checker.Need(t, "/usr/bin/python3")
	if exec.Command("/usr/bin/python3", "-c", "import scipy.ndimage").Run() != nil {
		checker.Missing(t, "SciPy")
	}
	const cols, rows = 31, 17
	random := dice(9)
	p := make([]float64, cols*rows)
	var in strings.Builder
	for i := range p {
		p[i] = float64(random.next(10000)) / 100
		fmt.Fprintln(&in, p[i])
	}
	cmd := exec.Command("/usr/bin/python3", "-c", `
import sys, numpy as np, scipy.ndimage as nd
p = np.loadtxt(sys.stdin).reshape(17, 31)
def box(a, r):
    k = dict(size=2*r+1, mode="constant", cval=0)
    return nd.uniform_filter(a, **k) / nd.uniform_filter(np.ones_like(a), **k)
m = box(p, 3); v = box(p*p, 3) - m*m; a = v/(v+60); b = m - a*m
for x in (nd.gaussian_filter(p, .7, mode="nearest"), box(a, 3)*p + box(b, 3)): np.savetxt(sys.stdout, x.ravel(), "%.12f")
`)
	cmd.Stdin = strings.NewReader(in.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	var want []float64
	for _, f := range strings.Fields(string(out)) {
		var v float64
		_, err := fmt.Sscan(f, &v)
		require.NoError(t, err)
		want = append(want, v)
	}
	require.Len(t, want, 2*len(p))
	assert.InDeltaSlice(t, want[:len(p)], Blurred(p, cols, rows, 0.7), 1e-9)
	assert.InDeltaSlice(t, want[len(p):], Guided(p, cols, rows, 3, 60), 1e-9)
}
