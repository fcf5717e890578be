package quantize

import (
	"context"
	"sync"

	"kitwright/internal/par"
)

// large is the number of cells from which rungs are made one after another:
// each then keeps all cores busy, and takes a hundred megabytes.
const large = 200_000

// Ladder makes a selection for each count of colors, several at a time where
// there are cores. A rung is exactly what Select gives for that count alone;
// all share what was prepared. Report is called for one rung at a time.
//
// When ctx ends Ladder returns what was begun, each the best so far, up to the
// first that was not, and ctx.Err(). The first rung always is.
func (p *Problem) Ladder(ctx context.Context, counts []int, opt Options) ([]*Selection, error) {
	if report := opt.Report; report != nil {
		var one sync.Mutex
		opt.Report = func(cost, bound int64) {
			one.Lock()
			defer one.Unlock()
			report(cost, bound)
		}
	}
	rung := par.Rows
	if len(p.cell) >= large { // one after the other: each takes much memory
		rung = func(n int, do func(i int)) {
			for i := range n {
				do(i)
			}
		}
	}
	rungs, errs := make([]*Selection, len(counts)), make([]error, len(counts))
	rung(len(counts), func(i int) {
		if i > 0 && ctx.Err() != nil {
			return
		}
		opt := opt
		opt.K = counts[i]
		rungs[i], errs[i] = p.Select(ctx, opt)
	})
	for i, s := range rungs {
		if errs[i] != nil && ctx.Err() == nil {
			return rungs[:i], errs[i]
		}
		if s == nil {
			return rungs[:i], ctx.Err()
		}
	}
	return rungs, ctx.Err()
}
