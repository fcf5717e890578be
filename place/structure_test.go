package place_test

import (
	"encoding/json"
	"fmt"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/checker"
	"kitwright/lab"
)

// BenchmarkStructure asks scikit-image how alike the structure of photo and
// drills is: the mean structural similarity of L* (Z. Wang, A. C. Bovik,
// H. R. Sheikh, E. P. Simoncelli, "Image quality assessment: from error
// visibility to structural similarity", IEEE Trans. Image Process. 13 (2004)
// 600-612, with its Gaussian of 1.5 cells), near and blurred as from two meters,
// by the way of laying. It looks at lightness alone, which two meters hardly blur,
// and takes every mixture for noise: the nearest colors come first.
func BenchmarkStructure(b *testing.B) {
	const python = "/usr/bin/python3"
	checker.Need(b, python)
	const script = `import json,sys
import numpy as n
from skimage.metrics import structural_similarity as s
for line in sys.stdin:
    d=json.loads(line)
    p=[n.array(v,dtype=float).reshape(d["Rows"],d["Cols"]) for v in d["Planes"]]
    print(json.dumps([s(p[0],q,data_range=100,gaussian_weights=True,sigma=1.5,use_sample_covariance=False) for q in p[1:]]))`
	ways := []string{"nearest", "error diffusion .8", "calm 0", "calm 0.5", "calm 1"}
	for b.Loop() {
		var in strings.Builder
		var set []int // of each line that goes in: soft or not, near or far
		for _, path := range photos(b) {
			s := sampleOf(b, path)
			list := []*lab.Grid{s.grid}
			for _, cells := range [][]uint16{s.nearest(), s.diffused(), s.lay(b, 0), s.lay(b, .5), s.lay(b, 1)} {
				list = append(list, s.made(cells))
			}
			for far := range 2 {
				planes := make([][]float64, len(list))
				for i, g := range list {
					if far == 1 {
						g = lab.FarPicture(g, lab.CellsPerDegree(2.5, 2000))
					}
					for _, c := range g.Cells {
						planes[i] = append(planes[i], c.L)
					}
				}
				require.NoError(b, json.NewEncoder(&in).Encode(map[string]any{"Cols": s.grid.Cols, "Rows": s.grid.Rows, "Planes": planes}))
				which := far
				if !slices.Contains(soft, s.name) {
					which += 2
				}
				set = append(set, which)
			}
		}
		cmd := exec.Command(python, "-c", script)
		cmd.Stdin = strings.NewReader(in.String())
		out, err := cmd.Output()
		if err != nil {
			checker.Missing(b, "scikit-image for "+python)
		}
		var sum [4][5]float64
		var n [4]float64
		answers := json.NewDecoder(strings.NewReader(string(out)))
		for _, which := range set {
			var all []float64
			require.NoError(b, answers.Decode(&all))
			require.Len(b, all, len(ways))
			for i, v := range all {
				sum[which][i] += v
			}
			n[which]++
		}
		for which, name := range []string{"soft, near", "soft, from 2 m", "others, near", "others, from 2 m"} {
			var line strings.Builder
			for i, way := range ways {
				fmt.Fprintf(&line, "  %s %.4f", way, sum[which][i]/n[which])
			}
			b.Logf("%-16s%s", name, line.String())
		}
		if sum[1][3] <= sum[1][1] || sum[0][3] <= sum[0][1] {
			b.Error("no closer in structure than error diffusion")
		}
	}
}
