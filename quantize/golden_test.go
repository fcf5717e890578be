package quantize

import (
	"bytes"
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"kitwright/internal/golden"
)

// What is chosen for the cat, on any machine and with any number of cores: CI
// runs this without fused multiply-add and on arm64, too.
func TestSelectGolden(t *testing.T) {
	p, err := Prepare(demoGrid(t, 64, 80), munsell(t))
	require.NoError(t, err)
	var out bytes.Buffer
	for _, opt := range []Options{
		{K: 8}, {K: 24}, {K: 18, Rare: 0.5}, {K: 30, Rare: 1},
		{K: 12, Keep: []int{0, 449}, Avoid: []int{200}}, {K: 24, Effort: Quick},
	} {
		s, err := p.Select(context.Background(), opt)
		require.NoError(t, err)
		fmt.Fprintf(&out, "k %d rare %v keep %v avoid %v effort %d: cost %d bound %d\n%v\n", opt.K, opt.Rare, opt.Keep, opt.Avoid, opt.Effort, s.Cost, s.Bound, s.Chosen)
		sum := 0
		for i, c := range s.Cells {
			sum = (sum*31 + i ^ int(c)) % 1_000_003
		}
		fmt.Fprintf(&out, "cells %d\n", sum)
	}
	golden.Equal(t, "cat.txt", out.Bytes())
}
