package quantize

import "context"

// Ladder makes a selection for each count of colors, in the order given. A
// rung is exactly what Select gives for that count alone; all share what was
// prepared. When ctx ends it returns the rungs finished so far and the best of
// the one it was at, and ctx.Err().
func (p *Problem) Ladder(ctx context.Context, counts []int, opt Options) ([]*Selection, error) {
	var rungs []*Selection
	for _, k := range counts {
		opt.K = k
		s, err := p.Select(ctx, opt)
		if s != nil {
			rungs = append(rungs, s)
		}
		if err != nil {
			return rungs, err
		}
	}
	return rungs, nil
}
